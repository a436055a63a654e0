"""Finds what an audit reads in folder trees; everything else is listed, and nothing stops it.

Only plain files are opened, each only up to a size that one of ours can have.  Links are
not followed: a tree may hold one that points to itself or out of it.
"""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from walkaround.devices.disk import JOURNAL_NAME
from walkaround.errors import UsageError
from walkaround.records.signature import LARGEST_BYTES

MOST_JOURNAL_BYTES = 64_000_000
SOURCES_NAME = "sources"
_MOST_SOURCE_BYTES = 1_000_000
_OURS = frozenset(
    {"record.html", "stopped.html", ".lock", "simulated-world.json", "openings.json", "trust.json"}
)
_MOST_SHOWN = 300
_OPEN = (
    os.O_RDONLY
    | getattr(os, "O_NOFOLLOW", 0)
    | getattr(os, "O_NONBLOCK", 0)  # a pipe put in a file's place would keep us waiting
    | getattr(os, "O_BINARY", 0)
)


class Sort(StrEnum):
    SIGNED = "signed line"
    JOURNAL = "journal"
    OTHER = "not ours"


@dataclass(frozen=True, slots=True)
class Sighted:
    """A file in a tree; `why` says what is wrong with it, before it is even opened."""

    path: str
    sort: Sort
    size: int
    why: str = ""
    folder: str = ""


def look_through(roots: Iterable[Path]) -> Iterator[Sighted]:
    """Every file, folder by folder, in the order of their names.

    Raises UsageError when a root does not exist; whatever is found below never raises.
    """
    for root in roots:
        try:
            found = root.lstat()
        except OSError as bad:
            raise UsageError(f"cannot look into {root} ({bad.strerror}); check the path") from bad
        if stat.S_ISDIR(found.st_mode):
            yield from _folder(os.fspath(root))
        else:
            yield _file(os.fspath(root), root.name, found, os.fspath(root.parent))


def _folder(top: str) -> Iterator[Sighted]:
    waiting = [top]
    while waiting:
        folder = waiting.pop()
        try:
            with os.scandir(folder) as listing:
                entries = sorted(listing, key=lambda entry: entry.name)
        except OSError as bad:
            yield Sighted(folder, Sort.OTHER, 0, f"the folder cannot be read ({bad.strerror})")
            continue
        below = []
        for entry in entries:
            try:
                if entry.is_dir(follow_symlinks=False):
                    if entry.name != SOURCES_NAME:
                        below.append(entry.path)
                    continue
                found = entry.stat(follow_symlinks=False)
            except OSError as bad:
                yield Sighted(entry.path, Sort.OTHER, 0, f"cannot be looked at ({bad.strerror})")
                continue
            if entry.name not in _OURS:
                yield _file(entry.path, entry.name, found, folder)
        waiting += reversed(below)


def _file(path: str, name: str, found: os.stat_result, folder: str) -> Sighted:
    sort, why = Sort.OTHER, ""
    if not stat.S_ISREG(found.st_mode):
        link = stat.S_ISLNK(found.st_mode)
        return Sighted(path, sort, 0, "a link, not followed" if link else "no plain file", folder)
    if name == JOURNAL_NAME:
        sort, why = Sort.JOURNAL, _too_large(found, MOST_JOURNAL_BYTES)
    elif name.endswith(".jws") and not name.startswith("."):
        sort, why = Sort.SIGNED, _too_large(found, LARGEST_BYTES)
    else:
        why = "no file of ours, by its name"
    return Sighted(path, sort, found.st_size, why, folder)


def _too_large(found: os.stat_result, most: int) -> str:
    size = found.st_size
    return f"{size} bytes are too many for one of ours; not opened" if size > most else ""


def read_bounded(path: str, most: int) -> bytes:
    """At most so many bytes of a plain file. Raises OSError; also when it has grown since."""
    handle = os.open(path, _OPEN)
    try:
        found = os.fstat(handle)
        if not stat.S_ISREG(found.st_mode):
            raise OSError(None, "no plain file")
        wanted = min(found.st_size, most) + 1  # asking for more would set so much aside each time
        content = os.read(handle, wanted)
        while len(content) < wanted and (more := os.read(handle, wanted - len(content))):
            content += more
    finally:
        os.close(handle)
    if len(content) > most:
        raise OSError(None, "larger than one of ours can be")
    return content


def read_source(folder: str, sha256: str) -> bytes | None:
    """The data file of that hash beside a record; None when it is not there or is another."""
    if len(sha256) != 64 or not sha256.isalnum():
        return None
    try:
        content = read_bounded(
            f"{folder}{os.sep}{SOURCES_NAME}{os.sep}{sha256}", _MOST_SOURCE_BYTES
        )
    except OSError:
        return None
    return content if hashlib.sha256(content).hexdigest() == sha256 else None


_HEX = "//hex/"


def as_text(path: str) -> str:
    """A path as text that the tables can keep; bytes that are no text are written in hex."""
    try:
        path.encode("utf-8")
    except UnicodeEncodeError:
        return _HEX + os.fsencode(path).hex()
    return _HEX + os.fsencode(path).hex() if path.startswith(_HEX) else path


def from_text(text: str) -> str:
    """The path that `as_text` was given."""
    return os.fsdecode(bytes.fromhex(text.removeprefix(_HEX))) if text.startswith(_HEX) else text


def shown(path: str) -> str:
    """A path for people: bytes that are no text made visible, and not endlessly long."""
    text = path.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")
    return text if len(text) <= _MOST_SHOWN else f"...{text[-_MOST_SHOWN:]}"
