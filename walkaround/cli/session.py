"""A walk's folder: begun or taken up again, kept by one walk at a time, closed with a record.

journal.jsonl   every event, chained, synced before the walk goes on
sources/        the very data files it was made with, named by their hash
record.jws      the signed record, one line; stopped.jws while the walk is unfinished
record.html     the same to read and print
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import AbstractContextManager, ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Self

from walkaround import __version__
from walkaround.cli.material import Material, files_from_copies, load
from walkaround.devices.disk import (
    JOURNAL_NAME,
    FolderLock,
    JournalFile,
    keep_copy,
    make_folder,
    unfinished_walks,
    write_finished,
)
from walkaround.engine.state import State
from walkaround.errors import NothingToResumeError
from walkaround.records.journal import Ended, Head, events, open_journal, read_journal
from walkaround.records.keys import SigningKey
from walkaround.records.opening import Opening, outline_of
from walkaround.records.page import page_of
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.summary import Summary, summarise
from walkaround.walk import Keeper, may_go_on, replay

RECORD_NAME = "record.jws"
_STEMS: Mapping[Ended, str] = {Ended.COMPLETE: "record", Ended.STOPPED: "stopped"}
COPIES_NAME = "sources"


@dataclass(slots=True)
class Session(AbstractContextManager["Session"]):
    """One sitting in a walk's folder. Leaving it frees the folder; nothing else is undone."""

    folder: Path
    kind: WalkKind
    key: SigningKey | None
    material: Material
    journal: JournalFile
    lock: FolderLock
    head: Head
    state: State = field(default_factory=State)
    torn: int = 0  # bytes of a last line that a crash had cut short

    @property
    def sitting(self) -> int:
        """The number of the sitting that is to be opened."""
        return self.state.sitting + 1

    def keeper(self) -> Keeper:
        """Writes this walk's journal."""
        return Keeper(self.journal, self.head, self.kind, self.key)

    def close_record(self, how: Ended) -> tuple[Summary, Path]:
        """Make the summary from the journal, sign it when a key is at hand, write both files.

        Returns the summary and the signed file's path, or the page's where there is no key.
        """
        stem = _STEMS[how]
        reading = read_journal(self.journal.read())
        jwk = self.key.public.jwk() if self.key else None
        summary = summarise(reading, jwk)
        if self.key is not None:
            line = sign(summary, self.key, self.kind, Paper.RECORD)
            write_finished(self.folder / f"{stem}.jws", line)
        page = self.folder / f"{stem}.html"
        write_finished(page, page_of(summary, signed=self.key is not None))
        return summary, page if self.key is None else self.folder / f"{stem}.jws"

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        _kind: type[BaseException] | None,
        _error: BaseException | None,
        _trace: TracebackType | None,
    ) -> None:
        self.journal.close()
        self.lock.release()


def begin(
    folder: Path,
    material: Material,
    kind: WalkKind,
    key: SigningKey | None,
    vehicle: Mapping[str, str],
) -> Session:
    """A new walk in a folder of its own. Raises InUseError, DiskError."""
    make_folder(folder)
    lock = FolderLock(folder)
    for _, found in material.found():
        keep_copy(folder / COPIES_NAME, found.content)
    opening = Opening(
        kind=kind,
        walk_id=folder.name,
        program=f"walkaround {__version__}",
        script=material.plan.script,
        places=material.places,
        sources=material.sources(),
        outline=outline_of(material.plan),
        vehicle=vehicle,
        device=key.thumbprint if key else "",
    )
    journal = JournalFile(folder / JOURNAL_NAME)
    line, head = open_journal(opening)
    journal.append(line)
    return Session(folder, kind, key, material, journal, lock, head)


def take_up(folder: Path, key: SigningKey | None) -> Session:
    """An unfinished walk, replayed to where it was. Raises NothingToResumeError, JournalError."""
    with ExitStack() as held:
        lock = FolderLock(folder)
        held.callback(lock.release)
        journal = JournalFile(folder / JOURNAL_NAME)
        held.callback(journal.close)
        reading = read_journal(journal.read())
        opening = reading.opening
        files = files_from_copies(opening, folder / COPIES_NAME)
        material = load(files, opening.script, opening.places)
        state = replay(material.plan, events(reading.entries))
        if state.sitting and not may_go_on(state):
            raise NothingToResumeError(f"the walk in {folder} is finished; start a new one")
        if reading.torn_tail:
            journal.cut_to(reading.whole_bytes)
        held.pop_all()
    torn = len(reading.torn_tail)
    return Session(folder, opening.kind, key, material, journal, lock, reading.head, state, torn)


def latest_unfinished(records: Path) -> Path:
    """The unfinished walk that was written last. Raises NothingToResumeError."""
    found = unfinished_walks(records, RECORD_NAME)
    if not found:
        raise NothingToResumeError(f"there is no unfinished walk in {records}; start a new one")
    return found[0]
