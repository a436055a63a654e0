"""Reading a file that somebody else named or laid there: a plain one, up to a size, or not at all.

A pipe waits for ever for a writer, and a device such as /dev/zero has no end.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

KEY_BYTES = 1_000_000
"""A key file is below a kilobyte."""
LIST_BYTES = 64_000_000
"""Trust lists, particulars, a kept state: lists that grow by hand."""
LOG_BYTES = 256_000_000
"""Journals and device's logs grow by a line at a time."""

_FLAGS = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


class NotPlainError(OSError):
    """A folder, a pipe, a device: no plain file."""


class TooLargeError(OSError):
    """A file is larger than any of its kind."""


def read_regular(path: Path, most: int) -> bytes:
    """All of a plain file (a link to one counts), which has no more than `most` bytes.

    Raises OSError, its `strerror` fit for a sentence, for whatever else is there.
    """
    _must_be_regular(path.stat())  # before it is opened: some devices act on that alone
    with os.fdopen(os.open(path, _FLAGS), "rb") as file:
        found = os.fstat(file.fileno())
        _must_be_regular(found)
        content = b"" if found.st_size > most else file.read(most + 1)
    if max(found.st_size, len(content)) > most:
        raise TooLargeError(errno.EINVAL, f"it is larger than {most} bytes, and no file of ours is")
    return content


def _must_be_regular(found: os.stat_result) -> None:
    if stat.S_ISDIR(found.st_mode):
        raise NotPlainError(errno.EISDIR, os.strerror(errno.EISDIR))
    if not stat.S_ISREG(found.st_mode):
        raise NotPlainError(errno.EINVAL, "it is no plain file")


def must_be_plain(path: Path) -> None:
    """Raises OSError where something else than a plain file, or a link to one, stands."""
    try:
        _must_be_regular(path.stat())
    except FileNotFoundError:
        return


def must_be_replaceable(path: Path) -> None:
    """Raises OSError where something stands that a file must not be put in place of: a link, a
    pipe, a device, a folder."""
    try:
        found = path.lstat()
    except FileNotFoundError:
        return
    if stat.S_ISLNK(found.st_mode):
        raise NotPlainError(errno.EINVAL, "a link stands there, and a file would take its place")
    _must_be_regular(found)
