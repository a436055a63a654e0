"""Which walk `--resume` means: the one named, else the last of its kind that can go on."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from walkaround.cli.recording import RECORD_NAME
from walkaround.devices.disk import JOURNAL_NAME, unfinished_walks
from walkaround.errors import DiskError, JournalError, NothingToResumeError
from walkaround.records.journal import JournalReading, read_journal
from walkaround.records.signature import WalkKind

_MOST_NAMED = 5


def walk_to_resume(named: str, records: Path, kind: WalkKind) -> Path:
    """The folder. A damaged journal is not passed over in silence: on the road the next walk may
    be another vehicle's. Raises NothingToResumeError, JournalError and DiskError naming the
    folders that could be resumed instead.
    """
    if named:
        return Path(named)
    unsigned: list[Path] = []
    folders = unfinished_walks(records, RECORD_NAME)
    for number, folder in enumerate(folders):
        try:
            reading = _reading(folder)
        except (JournalError, DiskError) as bad:
            raise type(bad)(f"{bad}{_others(folders[number + 1 :])}") from None
        if reading.opening.kind is not kind:
            continue
        if not reading.head.complete:
            return folder
        unsigned.append(folder)
    told = f"there is no unfinished walk in {records}; start a new one"
    if unsigned:
        told += f". A finished one has no record yet; make it with: keys --sign {unsigned[0]}"
    raise NothingToResumeError(told)


def _reading(folder: Path) -> JournalReading:
    path = folder / JOURNAL_NAME
    try:
        return read_journal(path.read_bytes(), after_crash=True)
    except JournalError as bad:
        raise JournalError(f"{path}: {bad}") from None
    except OSError as bad:
        raise DiskError(f"cannot read {path} ({bad.strerror}); allow reading it") from bad


def _others(folders: Sequence[Path]) -> str:
    if not folders:
        return ""
    names = ", ".join(str(folder) for folder in folders[:_MOST_NAMED])
    return f". Another walk is resumed by its folder, --resume FOLDER, such as {names}"
