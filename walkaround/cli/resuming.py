"""Which walk `--resume` means: the one named, else the last of its kind that can go on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice
from pathlib import Path

from walkaround.cli.folder import RECORD_NAME
from walkaround.cli.screen import show
from walkaround.devices.disk import JOURNAL_NAME, unfinished_walks
from walkaround.devices.regular import LOG_BYTES, read_regular
from walkaround.errors import DiskError, JournalError, NothingToResumeError
from walkaround.exchange import SittingOpened
from walkaround.records.journal import EntryKind, JournalReading, nothing_heard, read_journal
from walkaround.records.signature import WalkKind

_MOST_NAMED = 5
_MOST_COUNTED = 20


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
            raise type(bad)(f"{bad}{_others(folders[number + 1 :], kind)}") from None
        if reading is not None and reading.opening.kind is not kind:
            continue
        if reading is None or nothing_heard(reading):
            # Not passed over in silence either: an earlier walk may be another vehicle's.
            raise NothingToResumeError(
                f"nothing was heard yet in the last walk, {folder}; start a new one"
                f"{_others(folders[number + 1 :], kind)}"
            )
        if not reading.head.complete:
            _tell_of_others(folders[number + 1 :], records, kind)
            return folder
        unsigned.append(folder)
    told = f"there is no unfinished walk in {records}; start a new one"
    if unsigned:
        told += f". A finished one has no record yet; make it with: keys --sign {unsigned[0]}"
    raise NothingToResumeError(told)


def goes_on_with(folder: Path, reading: JournalReading) -> str:
    """Which walk is taken up, so that nobody goes on with another vehicle's."""
    opening = reading.opening
    first = next((entry for entry in reading.entries if entry.kind is EntryKind.SITTING), None)
    event = first.event() if first is not None else None
    begun = f", begun {event.wall}" if isinstance(event, SittingOpened) else ""
    return (
        f"Going on with the walk of {opening.vehicle.get('name', 'a vehicle without a name')} "
        f"for {', '.join(opening.places)}{begun}: {folder}"
    )


def _tell_of_others(folders: Sequence[Path], records: Path, kind: WalkKind) -> None:
    found = list(islice(_that_can_go_on(folders, kind), _MOST_COUNTED))
    if not found:
        return
    count = f"{len(found)} or more" if len(found) == _MOST_COUNTED else str(len(found))
    show(
        f"This is the last of the unfinished walks in {records}. Others there: {count}; take one "
        f"up by its folder, such as --resume {found[0]}"
    )


def _reading(folder: Path) -> JournalReading | None:
    """None for a journal whose first line was never written to its end."""
    path = folder / JOURNAL_NAME
    try:
        content = read_regular(path, LOG_BYTES)
        return read_journal(content, after_crash=True) if b"\n" in content else None
    except JournalError as bad:
        raise JournalError(f"{path}: {bad}") from None
    except OSError as bad:
        raise DiskError(f"cannot read {path} ({bad.strerror}); allow reading it") from bad


def _others(folders: Sequence[Path], kind: WalkKind) -> str:
    names = ", ".join(map(str, islice(_that_can_go_on(folders, kind), _MOST_NAMED)))
    if not names:
        return ""
    return f". Another walk is resumed by its folder, --resume FOLDER, such as {names}"


def _that_can_go_on(folders: Sequence[Path], kind: WalkKind) -> Iterator[Path]:
    for folder in folders:
        try:
            reading = _reading(folder)
        except (JournalError, DiskError):
            continue
        if reading is None or reading.opening.kind is not kind:
            continue
        if not reading.head.complete and not nothing_heard(reading):
            yield folder
