"""Puts the model in place: whole and checked, or not at all.

there and right?  -> use it
given by hand?    -> check and copy it
else each source in turn: fetch -> check the archive -> unpack beside -> sync
                          -> check the files -> rename
"""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from filelock import FileLock, Timeout

from walkaround.devices.disk import disk_error, make_folder, sync_folder
from walkaround.devices.library import Library, checkout_folder, user_folder
from walkaround.devices.model.archive import unpack_model
from walkaround.devices.model.manifest import Manifest, folder_hash, read_manifest
from walkaround.devices.model.sources import FETCHERS, Fetch, fetch
from walkaround.errors import DiskError, DownloadError, ModelError

Progress = Callable[[str], None]
NAMED_BY = "WALKAROUND_MODEL"
"""Environment variable that may name a model's folder; it is checked like any other."""
_PART = ".part-"
_TYPE_INSTEAD = "answers can be typed meanwhile (--typed)"


def pinned_model() -> Manifest:
    """The manifest this program goes by. Raises ModelError."""
    return read_manifest(Library().read("models", "manifest"))


def model_home() -> Path:
    """Where models are installed: the checkout's models/, else the user's data folder."""
    checkout = checkout_folder()
    if checkout is not None and os.access(checkout / "models", os.W_OK):
        return checkout / "models"
    return user_folder() / "models"


def present_model(
    manifest: Manifest, home: Path | None = None, environ: Mapping[str, str] | None = None
) -> Path | None:
    """The model's folder when it is there and right, else None; nothing is fetched.

    Raises ModelError when the folder named by WALKAROUND_MODEL is not the pinned model.
    """
    named = (os.environ if environ is None else environ).get(NAMED_BY, "")
    if named:
        if not _is_right(Path(named), manifest):
            raise ModelError(
                f"{NAMED_BY} names {named}, which is not {manifest.name}; correct or unset it"
            )
        return Path(named)
    folder = (model_home() if home is None else home) / manifest.name
    return folder if _is_right(folder, manifest) else None


def ensure_model(
    home: Path | None = None,
    progress: Progress | None = None,
    given: Path | None = None,
    *,
    manifest: Manifest | None = None,
    environ: Mapping[str, str] | None = None,
    fetchers: Mapping[str, Fetch] = FETCHERS,
) -> Path:
    """The folder of the pinned model, installed under `home` if need be.

    `given` is a folder or an archive to take it from instead of the network.  `progress`
    is told each long step.  Two at a time wait for each other.  Raises DownloadError when
    no source answers, ModelError when what came is not the model, DiskError; nothing is
    left half-installed.
    """
    wanted = pinned_model() if manifest is None else manifest
    tell = progress if progress is not None else _say_nothing
    where = model_home() if home is None else home
    found = present_model(wanted, where, environ)
    if found is not None:
        return found
    make_folder(where)
    try:
        with _alone(where, tell):
            found = present_model(wanted, where, environ)
            return found if found is not None else _install(wanted, where, given, fetchers, tell)
    except OSError as bad:
        raise disk_error(where, bad) from bad


def _install(
    manifest: Manifest,
    home: Path,
    given: Path | None,
    fetchers: Mapping[str, Fetch],
    tell: Progress,
) -> Path:
    for left_over in home.glob(_PART + "*"):
        shutil.rmtree(left_over, ignore_errors=True)
    with tempfile.TemporaryDirectory(prefix=_PART, dir=home, ignore_cleanup_errors=True) as staging:
        if given is not None:
            tell(f"taking the speech model from {given}")
            return _take(manifest, home, Path(staging), given)
        return _take_from_sources(manifest, home, Path(staging), fetchers, tell)


def _take_from_sources(
    manifest: Manifest,
    home: Path,
    staging: Path,
    fetchers: Mapping[str, Fetch],
    tell: Progress,
) -> Path:
    reasons: list[ModelError] = []
    size = f"{manifest.files_bytes / 1_000_000:.0f} MB unpacked"
    for place, source in enumerate(manifest.sources):
        tell(f"fetching the speech model ({size}) from {source}")
        own = staging / str(place)
        own.mkdir()
        try:
            return _take(manifest, home, own, fetch(manifest, source, own, fetchers))
        except ModelError as bad:
            reasons.append(bad)
            shutil.rmtree(own, ignore_errors=True)
    said = "; ".join(str(reason) for reason in reasons) or "the manifest names no source"
    absent = all(isinstance(reason, DownloadError) for reason in reasons)
    kind = DownloadError if absent else ModelError
    raise kind(f"no speech model: {said}; connect, or give a folder or archive; {_TYPE_INSTEAD}")


def _take(manifest: Manifest, home: Path, staging: Path, given: Path) -> Path:
    """Copy or unpack what was given, check it, and move it into its place."""
    fresh = staging / "model"
    fresh.mkdir()
    if given.is_dir():
        _copy_folder(given, fresh, manifest.ignored)
    elif given.is_file():
        unpack_model(given, fresh, manifest.ignored, manifest.files_bytes)
    else:
        raise ModelError(f"there is no folder or archive at {given}; check the name")
    seen = folder_hash(fresh, manifest.ignored)
    if seen != manifest.files_sha256:
        raise ModelError(
            f"{given.name} holds other files than {manifest.name}"
            f" ({seen[:12]}... instead of {manifest.files_sha256[:12]}...); {_TYPE_INSTEAD}"
        )
    for folder in [at for at in fresh.rglob("*") if at.is_dir()] + [fresh]:
        sync_folder(folder)
    target = home / manifest.name
    if target.exists():
        target.replace(staging / "wrong")
    fresh.replace(target)
    sync_folder(home)
    return target


def _copy_folder(given: Path, fresh: Path, ignored: tuple[str, ...]) -> None:
    try:
        shutil.copytree(given, fresh, dirs_exist_ok=True, ignore=shutil.ignore_patterns(*ignored))
    except shutil.Error as bad:
        raise DiskError(f"cannot copy {given}: {bad.args[0][0][2]}; check the folder") from bad
    for path in fresh.rglob("*"):
        if path.is_file():
            with path.open("rb+") as file:
                os.fsync(file.fileno())


def _is_right(folder: Path, manifest: Manifest) -> bool:
    try:
        return folder.is_dir() and folder_hash(folder, manifest.ignored) == manifest.files_sha256
    except OSError:
        return False


@contextlib.contextmanager
def _alone(home: Path, tell: Progress) -> Iterator[None]:
    lock = FileLock(home / ".installing.lock")
    try:
        lock.acquire(timeout=0)
    except Timeout:
        tell("another walkaround is installing the speech model; waiting for it")
        lock.acquire()
    try:
        yield
    finally:
        lock.release()


def _say_nothing(text: str) -> None:
    del text
