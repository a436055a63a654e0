"""Finds the program's data files: the user's folder first, then the checkout, then the wheel.

A file of the user's replaces the one of the same kind and name; what was found says
where it came from and carries its hash, so that the record can name exactly what was used.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

import platformdirs

from walkaround.devices.disk import read_error
from walkaround.devices.regular import TooLargeError, read_regular
from walkaround.errors import DiskError, UsageError

MOST_BYTES = 1_000_000
"""Reading YAML takes a second for each megabyte; the largest file of ours has 40 kB."""


class Origin(StrEnum):
    """Where a data file was found; the text goes into the record."""

    USER = "user folder"
    CHECKOUT = "checkout"
    WHEEL = "wheel"


@dataclass(frozen=True, slots=True)
class Found:
    """A data file: its bytes, where they came from, and their SHA-256 in hex."""

    name: str  # "straight-truck": the file's name without its suffix
    content: bytes
    origin: Origin
    sha256: str
    file: str  # for error messages: the whole path


@dataclass(frozen=True, slots=True)
class Layer:
    """One place to look: `data` holds scripts/ and models/, `package` the walkaround package."""

    origin: Origin
    data: Path
    package: Path | None = None  # None: this place cannot replace the package's own tables


@dataclass(frozen=True, slots=True)
class _Kind:
    folder: str
    suffix: str
    in_package: bool = False


_KINDS: Mapping[str, _Kind] = {
    "scripts": _Kind("scripts", ".yaml"),
    "steps": _Kind("scripts/steps", ".yaml"),
    "acts": _Kind("scripts/acts", ".yaml"),
    "rules": _Kind("scripts/rules", ".yaml"),
    "phrases": _Kind("scripts/phrases", ".yaml"),
    "recall": _Kind("scripts/recall", ".yaml"),
    "vehicles": _Kind("scripts/vehicles", ".yaml"),
    "models": _Kind("models", ".toml"),
    "thresholds": _Kind("speech", ".yaml", in_package=True),
}


def package_folder() -> Path:
    """The folder of the walkaround package that is running."""
    return Path(__file__).resolve().parent.parent


def checkout_folder() -> Path | None:
    """The checkout the package runs from, or None when it runs from a wheel."""
    root = package_folder().parent
    return root if (root / "pyproject.toml").is_file() and (root / "scripts").is_dir() else None


def user_folder() -> Path:
    """Where a person's own scripts, rules and models lie; it need not exist."""
    return platformdirs.user_data_path("walkaround", appauthor=False)


def standard_layers(user: Path | None = None) -> tuple[Layer, ...]:
    """The three places, first match wins. `user` stands in for the platform's folder."""
    layers = [Layer(Origin.USER, user if user is not None else user_folder())]
    package, checkout = package_folder(), checkout_folder()
    if checkout is not None:
        layers.append(Layer(Origin.CHECKOUT, checkout, package))
    layers.append(Layer(Origin.WHEEL, package / "shipped", package))
    return tuple(layers)


class Library:
    """Reads data files by kind and name. Every method raises UsageError for an unknown kind."""

    def __init__(self, layers: Sequence[Layer] | None = None) -> None:
        self._layers = tuple(layers) if layers is not None else standard_layers()

    @staticmethod
    def kinds() -> tuple[str, ...]:
        return tuple(_KINDS)

    def names(self, kind: str) -> tuple[str, ...]:
        """All names of that kind, from every place, sorted."""
        return tuple(sorted(self._paths(kind)))

    def read(self, kind: str, name: str) -> Found:
        """The first file of that kind and name. UsageError names those that exist."""
        paths = self._paths(kind)
        if name not in paths:
            known = ", ".join(sorted(paths)) or "none at all"
            raise UsageError(f"there is nothing named {name!r} among the {kind}; there is: {known}")
        return data_file(paths[name][0], name, paths[name][1])

    def read_all(self, kind: str) -> Mapping[str, Found]:
        """Every file of that kind by name, sorted by name."""
        return {
            name: data_file(at[0], name, at[1]) for name, at in sorted(self._paths(kind).items())
        }

    def _paths(self, kind: str) -> dict[str, tuple[Path, Origin]]:
        if kind not in _KINDS:
            raise UsageError(f"{kind!r} is no kind of data file; there are: {', '.join(_KINDS)}")
        wanted = _KINDS[kind]
        paths: dict[str, tuple[Path, Origin]] = {}
        for layer in reversed(self._layers):
            base = layer.package if wanted.in_package else layer.data
            if base is None:
                continue
            for path in _files(base / wanted.folder, wanted.suffix):
                paths[path.stem] = (path, layer.origin)
        return paths


def _files(folder: Path, suffix: str) -> list[Path]:
    try:
        return sorted(path for path in folder.iterdir() if path.suffix == suffix and path.is_file())
    except (FileNotFoundError, NotADirectoryError):
        return []
    except OSError as bad:
        raise DiskError(f"cannot look into {folder} ({bad.strerror}); allow reading it") from bad


def data_file(path: Path, name: str, origin: Origin) -> Found:
    """A data file, whole. Raises UsageError for one that is too large, DiskError."""
    try:
        content = read_regular(path, MOST_BYTES)
    except TooLargeError:
        raise UsageError(
            f"{path} is larger than {MOST_BYTES // 1000} kB; no data file is: give the right one"
        ) from None
    except OSError as bad:
        raise read_error(path, bad) from bad
    return Found(name, content, origin, hashlib.sha256(content).hexdigest(), str(path))
