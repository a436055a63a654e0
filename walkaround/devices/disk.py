"""What must survive a power cut: the journal, finished files, copies of the data used.

A journal entry is written and synced before its append returns; a torn write is cut
off again.  Finished files appear whole or not at all.  One walk holds its folder.
"""

from __future__ import annotations

import errno
import hashlib
import os
import stat
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Self

from filelock import FileLock, Timeout

from walkaround.devices.regular import (
    LOG_BYTES,
    must_be_replaceable,
    read_regular,
)
from walkaround.errors import DiskError, InUseError

JOURNAL_NAME = "journal.jsonl"
_LOCK_NAME = ".lock"

_ELSEWHERE = "or keep walks in another folder with --records"
_REASONS: Mapping[int, str] = {
    errno.ENOSPC: "the disk is full; make room, then resume the walk or run it again",
    errno.EDQUOT: "your share of the disk is used up; make room, then resume or run it again",
    errno.EROFS: "the disk can only be read; make it writable, {elsewhere}",
    errno.EACCES: "writing there is not allowed; allow it, {elsewhere}",
    errno.EPERM: "writing there is not allowed; allow it, {elsewhere}",
    errno.EIO: "the disk reports a fault; have it checked, {elsewhere}",
    errno.ENOTDIR: "a file stands where a folder is needed; move it away, {elsewhere}",
    errno.EEXIST: "a file stands where a folder is needed; move it away, {elsewhere}",
    errno.EISDIR: "a folder stands where a file is needed; move it away, {elsewhere}",
    errno.ENOENT: "the folder is gone; make it again, {elsewhere}",
    errno.EFBIG: "the file grew past what the disk allows; make room, {elsewhere}",
    errno.ENAMETOOLONG: "the name is too long; choose a shorter one, {elsewhere}",
}
_READ_REASONS: Mapping[int, str] = {
    errno.EISDIR: "a folder stands where a file is needed; move it away",
    errno.ENOENT: "it is not there; check the path",
    errno.EACCES: "reading it is not allowed; allow it",
    errno.EIO: "the disk reports a fault; use your copy",
}


def is_of_the_disk(bad: OSError) -> bool:
    """Whether the disk, and not a network or a device, is to blame."""
    return bad.errno in _REASONS


def disk_error(path: Path, bad: OSError, elsewhere: str = _ELSEWHERE) -> DiskError:
    """One sentence for a failed write, with what to do about it or `elsewhere` to write."""
    known = _REASONS.get(bad.errno or 0, "").format(elsewhere=elsewhere)
    said = known or f"{bad.strerror or bad}; mend that, {elsewhere}"
    return DiskError(f"cannot write {path}: {said}")


def read_error(path: Path, bad: OSError) -> DiskError:
    """One sentence for a file that cannot be read, with what to do about it."""
    said = _READ_REASONS.get(bad.errno or 0) or f"{bad.strerror or bad}; mend that"
    return DiskError(f"cannot read {path}: {said}")


def sync_folder(folder: Path) -> None:
    """Make new and renamed names in the folder last (a no-op where folders cannot be synced)."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def make_folder(folder: Path) -> None:
    """Create the folder and those above it, and make them last. Raises DiskError."""
    try:
        missing = [folder, *folder.parents]
        missing = [at for at in missing if not at.exists()]
        folder.mkdir(parents=True, exist_ok=True)
        for made in missing:
            sync_folder(made.parent)
    except OSError as bad:
        raise disk_error(folder, bad) from bad


def write_finished(
    path: Path, content: bytes, mode: int = 0o644, elsewhere: str = _ELSEWHERE
) -> None:
    """The whole file, or the one that was there before: never half.

    Raises DiskError, also where a link, a pipe or a device stands.
    """
    temporary: Path | None = None
    try:
        must_be_replaceable(path)
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        temporary = Path(name)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(mode)
        temporary.replace(path)
        sync_folder(path.parent)
    except OSError as bad:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
        raise disk_error(path, bad, elsewhere) from bad


def keep_copy(folder: Path, content: bytes) -> str:
    """Put a copy named by its SHA-256 into the folder; returns the hash. Done once only."""
    sha256 = hashlib.sha256(content).hexdigest()
    path = folder / sha256
    if _holds(path, content):
        return sha256
    make_folder(folder)
    write_finished(path, content, mode=0o444)
    return sha256


def read_copy(folder: Path, sha256: str) -> bytes:
    """The copy with that hash. DiskError when it is absent or was changed."""
    path = folder / sha256
    try:
        content = read_regular(path, LOG_BYTES)
    except OSError as bad:
        raise DiskError(f"cannot read {path} ({bad.strerror}); restore it from a backup") from bad
    if hashlib.sha256(content).hexdigest() != sha256:
        raise DiskError(f"{path} was changed after it was kept; restore it from a backup")
    return content


def _holds(path: Path, content: bytes) -> bool:
    try:
        return read_regular(path, len(content)) == content
    except OSError:
        return False


class FolderLock:
    """One walk at a time in a folder; the system frees it when the process dies."""

    def __init__(self, folder: Path) -> None:
        """InUseError when another walk holds the folder, DiskError when it cannot be made."""
        make_folder(folder)
        self._lock = FileLock(folder / _LOCK_NAME, timeout=0)
        try:
            self._lock.acquire()
        except Timeout:
            raise InUseError(
                f"another walk is using {folder}; finish it first, or choose another with --records"
            ) from None
        except OSError as bad:
            raise disk_error(folder / _LOCK_NAME, bad) from bad

    def release(self) -> None:
        self._lock.release()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.release()


class JournalFile:
    """Entries appended one at a time, each on disk when `append` returns."""

    def __init__(self, path: Path) -> None:
        """Opens or creates it; the caller holds the folder's lock. Raises DiskError."""
        self._path = path
        self._broken = False
        try:
            new = not path.exists()
            flags = os.O_WRONLY | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0)
            self._handle = os.open(path, flags, 0o600)
            self._length = os.fstat(self._handle).st_size
            if new:
                sync_folder(path.parent)
        except OSError as bad:
            raise disk_error(path, bad) from bad

    @property
    def path(self) -> Path:
        return self._path

    def read(self) -> bytes:
        """Everything written so far, a torn last line included."""
        try:
            return read_regular(self._path, LOG_BYTES)
        except OSError as bad:
            raise read_error(self._path, bad) from bad

    def append(self, entry: bytes) -> None:
        """Write whole lines (each ends in a newline) and sync them, once.

        Raises DiskError, after cutting off what was written of them.  Once a sync
        has failed nobody knows what is on the disk, and every later append fails too.
        """
        if not entry.endswith(b"\n") or b"\n\n" in entry:
            raise ValueError("journal entries are whole lines, each with its newline")
        if self._broken:
            raise DiskError(f"cannot write {self._path} any more; resume the walk after a check")
        self._must_be_as_written()
        try:
            self._write_whole(entry)
        except OSError as bad:
            self._cut_back()
            raise disk_error(self._path, bad) from bad
        try:
            os.fsync(self._handle)
        except OSError as bad:
            self._broken = True
            raise disk_error(self._path, bad) from bad
        self._length += len(entry)

    def is_there(self) -> bool:
        """Whether the path still leads to this very file, with all that was written to it."""
        try:
            at, own = self._path.stat(), os.fstat(self._handle)
        except OSError:
            return False
        return os.path.samestat(at, own) and own.st_size == self._length

    def _must_be_as_written(self) -> None:
        """Somebody may delete or cut the file while it is written to; the system does not say."""
        try:
            found = os.fstat(self._handle)
        except OSError as bad:
            raise disk_error(self._path, bad) from bad
        if found.st_nlink == 0:
            self._broken = True
            raise DiskError(
                f"{self._path} was deleted while it was written: what was heard is NOT kept; "
                "find out why, and begin again"
            )
        if stat.S_ISREG(found.st_mode) and found.st_size != self._length:
            self._broken = True
            raise DiskError(
                f"{self._path} was changed by something else while it was written: it has "
                f"{found.st_size} bytes, and {self._length} were written; what was heard may NOT "
                "be kept whole. Find out why, and begin again"
            )

    def cut_to(self, length: int) -> None:
        """Drop a torn tail: keep the first `length` bytes, synced. Raises DiskError."""
        try:
            os.ftruncate(self._handle, length)
            os.fsync(self._handle)
        except OSError as bad:
            raise disk_error(self._path, bad) from bad
        self._length = length

    def close(self) -> None:
        if self._handle >= 0:
            os.close(self._handle)
            self._handle = -1
            self._broken = True

    def _write_whole(self, entry: bytes) -> None:
        rest = memoryview(entry)
        while rest:
            rest = rest[os.write(self._handle, rest) :]

    def _cut_back(self) -> None:
        try:
            os.ftruncate(self._handle, self._length)
        except OSError:
            self._broken = True


def walks_in(records: Path) -> tuple[Path, ...]:
    """Folders under `records` that hold a journal, the latest written first."""
    try:
        found = [
            (at.joinpath(JOURNAL_NAME).stat().st_mtime_ns, at)
            for at in records.iterdir()
            if at.joinpath(JOURNAL_NAME).is_file()
        ]
    except FileNotFoundError:
        return ()
    except OSError as bad:
        raise DiskError(f"cannot look into {records} ({bad.strerror}); allow reading it") from bad
    return tuple(at for _, at in sorted(found, reverse=True))


def unfinished_walks(records: Path, finished_name: str) -> tuple[Path, ...]:
    """Walk folders without a file of that name (the finished record), the latest first."""
    return tuple(at for at in walks_in(records) if not (at / finished_name).exists())
