"""A practice in a folder of its own: its journal, the data it was made with, its record.

The same files as a walk's, so that `verify` reads them, and the same lines in the device's log;
the record says PRACTICE.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager, ExitStack
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

from walkaround import __version__
from walkaround.cli.folder import COPIES_NAME, begin_folder
from walkaround.cli.material import Material, files_from_copies, load
from walkaround.cli.reached import must_reach_signed
from walkaround.cli.recording import Written, write_record
from walkaround.cli.session import must_be_its_key, must_go_on, open_journal_in
from walkaround.devices.disk import FolderLock, JournalFile
from walkaround.errors import UsageError
from walkaround.records.journal import Head, read_journal
from walkaround.records.keys import SigningKey
from walkaround.records.opening import Opening, OutlineStep
from walkaround.records.signature import WalkKind
from walkaround.walk import Keeper


@dataclass(slots=True)
class PracticeFolder(AbstractContextManager["PracticeFolder"]):
    """Held while the practice lasts; leaving it frees the folder."""

    path: Path
    key: SigningKey | None
    material: Material
    journal: JournalFile
    lock: FolderLock
    head: Head

    def keeper(self) -> Keeper:
        """Writes this practice's journal."""
        return Keeper(self.journal, self.head, WalkKind.PRACTICE, self.key)

    def close_record(self) -> Written:
        """Raises JournalError, RecordError, DiskError."""
        return write_record(self.path, read_journal(self.journal.read()), self.key)

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


def begin_practice(
    path: Path,
    material: Material,
    key: SigningKey | None,
    outline: Sequence[OutlineStep],
    facts: Mapping[str, str],
) -> PracticeFolder:
    """A new folder with its first line written. Raises InUseError, DiskError."""
    opening = Opening(
        kind=WalkKind.PRACTICE,
        walk_id=path.name,
        program=f"walkaround {__version__}",
        script=material.plan.script,
        places=material.places,
        sources=material.sources(),
        outline=tuple(outline),
        vehicle=facts,
        device=key.thumbprint if key else "",
    )
    begun = begin_folder(path, opening, material, key)
    return PracticeFolder(path, key, material, begun.journal, begun.lock, begun.head)


def take_up_practice(
    folder: Path, key_for: Callable[[WalkKind], SigningKey | None]
) -> PracticeFolder:
    """An unfinished practice, with the data that it was begun with.

    Raises NothingToResumeError, UsageError, JournalError, InUseError, SigningKeyError.
    """
    with ExitStack() as held:
        opened = open_journal_in(folder, held)
        reading, opening = opened.reading, opened.reading.opening
        if opening.kind is not WalkKind.PRACTICE:
            raise UsageError(f"what is in {folder} is no practice; resume it with 'walk'")
        must_reach_signed(folder, reading)
        must_go_on(folder, reading)
        key = key_for(opening.kind)
        must_be_its_key(folder, reading, key)
        files = files_from_copies(opening, folder / COPIES_NAME)
        material = load(files, opening.script, opening.places)
        if reading.torn_tail:
            opened.journal.cut_to(reading.whole_bytes)
        held.pop_all()
    return PracticeFolder(folder, key, material, opened.journal, opened.lock, reading.head)
