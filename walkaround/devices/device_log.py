"""The device's logs on the disk: one line more, synced, for each walk begun and record signed.

A log is a file named by the key that opened it, `device-log.<key>.jsonl`, and goes on under the
keys that it names in turn.  A key that no log goes on under opens one of its own, so that a
key that was lost, and one that was put back, each have theirs.
"""

from __future__ import annotations

from pathlib import Path

from filelock import FileLock, Timeout

from walkaround.devices.disk import JournalFile, disk_error, make_folder, read_error
from walkaround.devices.regular import LOG_BYTES, must_be_plain, read_regular
from walkaround.errors import InUseError, LogError
from walkaround.records.keys import SigningKey
from walkaround.records.log import LogEnd, Note, What, end_of, last_line, write_line
from walkaround.records.position import Position
from walkaround.records.signature import WalkKind

_MOST_WAIT_S = 10
_LETTERS = 12  # of the key's thumbprint, in the file's name


class LogFiles:
    """The logs of one name in a folder; every walk of the device shares them, a line at a time."""

    def __init__(self, folder: Path, name: str) -> None:
        self._folder, self._name = folder, name

    def paths(self) -> tuple[Path, ...]:
        """Every log, the one written last first. Raises DiskError."""
        try:
            found = [
                (at.stat().st_mtime_ns, at) for at in self._folder.glob(f"{self._name}.*.jsonl")
            ]
        except OSError as bad:
            raise disk_error(self._folder, bad) from bad
        return tuple(at for _, at in sorted(found, reverse=True))

    def read_all(self) -> tuple[bytes, ...]:
        """Every log's bytes, the one written last first. Raises DiskError."""
        return tuple(_read(path) for path in self.paths())

    def read(self) -> bytes:
        """The log that was written last; empty before the first line. Raises DiskError."""
        paths = self.paths()
        return _read(paths[0]) if paths else b""

    def head(self) -> bytes:
        """Its last line: what to copy to somebody else. Raises LogError, DiskError."""
        line, _ = last_line(self.read())
        if not line:
            raise LogError("nothing stands in the device's log yet; walk first")
        return line

    def note(self, note: Note, key: SigningKey, kind: WalkKind) -> Position:
        """Add a line; on disk when this returns. The first line of all names the key.

        Raises LogError when the key's own log cannot be continued, InUseError, DiskError.
        """
        make_folder(self._folder)
        lock = FileLock(self._folder / f"{self._name}.lock", timeout=_MOST_WAIT_S)
        try:
            with lock:
                return _append(self._path_for(key), note, key, kind)
        except Timeout:
            raise InUseError(
                f"another walk has held {lock.lock_file} for long; finish it first, then try again"
            ) from None

    def _path_for(self, key: SigningKey) -> Path:
        own = self._folder / f"{self._name}.{key.thumbprint[:_LETTERS]}.jsonl"
        for path in self.paths():
            try:
                if end_of(_read(path)).due == key.thumbprint:
                    return path
            except LogError as bad:
                if path == own:
                    raise LogError(f"{path}: {bad}; put it aside or restore your copy") from None
        return own


def _read(path: Path) -> bytes:
    try:
        return read_regular(path, LOG_BYTES)
    except OSError as bad:
        raise read_error(path, bad) from bad


def _append(path: Path, note: Note, key: SigningKey, kind: WalkKind) -> Position:
    try:
        must_be_plain(path)  # opening a pipe would wait for a reader
    except OSError as bad:
        raise read_error(path, bad) from bad
    file = JournalFile(path)
    try:
        content = file.read()
        end = end_of(content)
        if end.due not in ("", key.thumbprint):
            raise LogError(
                f"the log {path} goes on under the key {end.due}, which took over from this one; "
                "put that key in its place"
            )
        if end.whole_bytes < len(content):  # a crash cut the last write short
            file.cut_to(end.whole_bytes)
        lines, at = _opened(end, note.at, key, kind)
        more, at = write_line(at, note, key, kind)
        file.append(lines + more)
        return at
    finally:
        file.close()


def _opened(end: LogEnd, at: str, key: SigningKey, kind: WalkKind) -> tuple[bytes, Position]:
    if end.due:
        return b"", end.position
    return write_line(end.position, Note(What.OPENED, at, key=key.public), key, kind)
