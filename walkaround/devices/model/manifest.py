"""The pinned model as `models/manifest.toml` names it, and the hash over a model's files."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from walkaround.devices.library import Found
from walkaround.errors import ModelError


@dataclass(frozen=True, slots=True)
class Source:
    """One place to fetch an archive from; `sha256` is "" where the archive's own is not known."""

    kind: str  # "maven" | "vosk catalogue"
    sha256: str
    group: str = ""
    artifact: str = ""
    version: str = ""
    packaging: str = ""

    def __str__(self) -> str:
        if self.kind == "maven":
            return f"Maven {self.group}:{self.artifact}:{self.version}"
        return f"the {self.kind}"


@dataclass(frozen=True, slots=True)
class Manifest:
    """Which model, and how to know it."""

    name: str
    licence: str
    files_sha256: str
    files_bytes: int
    ignored: tuple[str, ...]
    sources: tuple[Source, ...]


def read_manifest(found: Found) -> Manifest:
    """The manifest's content. Raises ModelError with the file's name."""
    try:
        top = tomllib.loads(found.content.decode("utf-8"))
        return Manifest(
            name=_plain_name(_text(top, "name")),
            licence=_text(top, "licence"),
            files_sha256=_text(top, "files_sha256"),
            files_bytes=int(top["files_bytes"]),
            ignored=tuple(str(name) for name in top.get("ignored", ())),
            sources=tuple(_source(entry) for entry in top["source"]),
        )
    except KeyError as bad:
        raise ModelError(f"{found.file}: {bad} is missing; restore the file") from None
    except (ValueError, TypeError) as bad:
        raise ModelError(f"{found.file} is no model manifest ({bad}); restore the file") from None


def folder_hash(folder: Path, ignored: tuple[str, ...] = ()) -> str:
    """SHA-256 in hex over the sorted lines "<sha256>  <path>" of every file below `folder`.

    Paths are relative, with forward slashes. Raises OSError.
    """
    lines = []
    for path in folder.rglob("*"):
        if not path.is_file() or path.name in ignored:
            continue
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        lines.append(f"{digest}  {path.relative_to(folder).as_posix()}\n")
    return hashlib.sha256("".join(sorted(lines)).encode()).hexdigest()


def _source(entry: Mapping[str, Any]) -> Source:
    words = {key: str(entry.get(key, "")) for key in ("group", "artifact", "version", "packaging")}
    return Source(kind=_text(entry, "kind"), sha256=str(entry["sha256"]), **words)


def _text(table: Mapping[str, Any], key: str) -> str:
    value = table[key]
    if not isinstance(value, str) or not value:
        raise ValueError(f"{key!r} must be a text")
    return value


def _plain_name(name: str) -> str:
    if Path(name).name != name or name.startswith("."):
        raise ValueError("'name' must be a plain folder name")
    return name
