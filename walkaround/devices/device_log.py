"""The device's log on the disk: one line more, synced, for each walk begun and record signed."""

from __future__ import annotations

from pathlib import Path

from filelock import FileLock, Timeout

from walkaround.devices.disk import JournalFile, disk_error, make_folder
from walkaround.errors import InUseError, LogError
from walkaround.records.keys import SigningKey
from walkaround.records.log import Note, What, end_of, last_line, write_line
from walkaround.records.position import Position
from walkaround.records.signature import WalkKind

_MOST_WAIT_S = 10


class LogFile:
    """A log at a path; every walk of the device shares it, one line at a time."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def read(self) -> bytes:
        """The whole log; empty before the first line. Raises DiskError."""
        try:
            return self.path.read_bytes()
        except FileNotFoundError:
            return b""
        except OSError as bad:
            raise disk_error(self.path, bad) from bad

    def head(self) -> bytes:
        """The last line: what to copy to somebody else. Raises LogError, DiskError."""
        line, _ = last_line(self.read())
        if not line:
            raise LogError("nothing stands in the device's log yet; walk first")
        return line

    def note(self, note: Note, key: SigningKey, kind: WalkKind) -> Position:
        """Add a line; on disk when this returns. The first line of all names the key.

        Raises LogError when the log cannot be continued, InUseError, DiskError.
        """
        make_folder(self.path.parent)
        lock = FileLock(self.path.with_suffix(".lock"), timeout=_MOST_WAIT_S)
        try:
            with lock:
                return self._append(note, key, kind)
        except Timeout:
            raise InUseError(
                f"another walk has held {self.path} for long; finish it first, then try again"
            ) from None

    def set_aside(self, at: str) -> None:
        """Rename a log that no key here can continue; it still vouches for its records."""
        if not self.path.exists():
            return
        aside = self.path.with_name(f"{self.path.stem}-until-{at.replace(':', '')}.jsonl")
        try:
            self.path.rename(aside)
        except OSError as bad:
            raise disk_error(self.path, bad) from bad

    def _append(self, note: Note, key: SigningKey, kind: WalkKind) -> Position:
        file = JournalFile(self.path)
        try:
            content = file.read()
            end = end_of(content)
            if end.due not in ("", key.thumbprint):
                raise LogError(
                    f"the log {self.path} is continued by the key {end.due}, not by this one; "
                    "restore that key, or change keys with 'keys --rotate' only"
                )
            if end.whole_bytes < len(content):
                file.cut_to(end.whole_bytes)
            lines, at = b"", end.position
            if not end.due:
                lines, at = write_line(at, Note(What.OPENED, note.at, key=key.public), key, kind)
            more, at = write_line(at, note, key, kind)
            file.append(lines + more)
            return at
        finally:
            file.close()
