"""Unpacks a model from a zip (an .aar is one) without trusting a single name inside."""

from __future__ import annotations

import os
import stat
import zipfile
import zlib
from collections.abc import Iterable
from pathlib import Path, PurePosixPath

from walkaround.errors import ModelError

_MARK = "conf/model.conf"
"""Every Vosk model has this file; what stands before it is the model's folder in the archive."""
_CHUNK = 1 << 20


def unpack_model(archive: Path, into: Path, ignored: tuple[str, ...], most_bytes: int) -> None:
    """Put the model's files under `into`, each synced. Nothing outside `into` is touched.

    Raises ModelError for a cut-off, hostile or foreign archive, OSError for the disk.
    """
    try:
        with zipfile.ZipFile(archive) as packed:
            root = _model_root(packed.namelist(), archive)
            left = most_bytes
            for entry in packed.infolist():
                path = _inside(entry, root, archive)
                if path is None or path.name in ignored:
                    continue
                left = _copy(packed, entry, into / path, left)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError) as bad:
        raise ModelError(f"{archive.name} is cut off or damaged ({bad}); fetch it again") from None
    except RuntimeError:  # how zipfile reports an encrypted entry
        raise ModelError(f"{archive.name} is locked by a password; unpack it first") from None


def _model_root(names: Iterable[str], archive: Path) -> str:
    roots = [name.removesuffix(_MARK) for name in names if name.endswith(_MARK)]
    roots = [root for root in roots if root == "" or root.endswith("/")]
    if len(roots) != 1:
        raise ModelError(f"{archive.name} holds {len(roots)} models, one is wanted; give another")
    return roots[0]


def _inside(entry: zipfile.ZipInfo, root: str, archive: Path) -> PurePosixPath | None:
    """The entry's path within the model; None for what is not part of it."""
    if entry.is_dir() or not entry.filename.startswith(root):
        return None
    inner = PurePosixPath(entry.filename.removeprefix(root))
    hostile = inner.is_absolute() or ".." in inner.parts or "\\" in entry.filename
    if hostile or ":" in entry.filename or stat.S_ISLNK(entry.external_attr >> 16):
        raise ModelError(f"{archive.name} wants to write outside its folder; do not use it")
    return inner


def _copy(packed: zipfile.ZipFile, entry: zipfile.ZipInfo, path: Path, left: int) -> int:
    path.parent.mkdir(parents=True, exist_ok=True)
    with packed.open(entry) as source, path.open("xb") as target:
        while chunk := source.read(_CHUNK):
            left -= len(chunk)
            if left < 0:
                raise ModelError("the archive holds more than the model; do not use it")
            target.write(chunk)
        target.flush()
        os.fsync(target.fileno())
    return left
