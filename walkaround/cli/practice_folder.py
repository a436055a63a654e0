"""A practice in a folder of its own: its journal, the data it was made with, its record.

The same files as a walk's, so that `verify` reads them; the record says PRACTICE.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

from walkaround import __version__
from walkaround.cli.material import Material
from walkaround.devices.disk import (
    JOURNAL_NAME,
    FolderLock,
    JournalFile,
    keep_copy,
    make_folder,
    write_finished,
)
from walkaround.records.journal import Ended, Head, open_journal, read_journal
from walkaround.records.keys import SigningKey
from walkaround.records.opening import Opening, OutlineStep
from walkaround.records.page import page_of
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.summary import summarise
from walkaround.walk import Keeper

COPIES_NAME = "sources"
STEMS: Mapping[Ended, str] = {Ended.COMPLETE: "record", Ended.STOPPED: "stopped"}


@dataclass(slots=True)
class PracticeFolder(AbstractContextManager["PracticeFolder"]):
    """Held while the practice lasts; leaving it frees the folder."""

    path: Path
    key: SigningKey | None
    journal: JournalFile
    lock: FolderLock
    head: Head

    def keeper(self) -> Keeper:
        """Writes this practice's journal."""
        return Keeper(self.journal, self.head, WalkKind.PRACTICE, self.key)

    def close_record(self, how: Ended) -> Path:
        """Make the summary from the journal, sign it where there is a key, write the page.

        Returns the signed file's path, or the page's without a key. Raises DiskError.
        """
        summary = summarise(
            read_journal(self.journal.read()), self.key.public.jwk() if self.key else None
        )
        page = self.path / f"{STEMS[how]}.html"
        write_finished(page, page_of(summary, signed=self.key is not None))
        if self.key is None:
            return page
        record = self.path / f"{STEMS[how]}.jws"
        write_finished(record, sign(summary, self.key, WalkKind.PRACTICE, Paper.RECORD))
        return record

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
    make_folder(path)
    lock = FolderLock(path)
    for _, found in material.found():
        keep_copy(path / COPIES_NAME, found.content)
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
    journal = JournalFile(path / JOURNAL_NAME)
    line, head = open_journal(opening)
    journal.append(line)
    return PracticeFolder(path, key, journal, lock, head)
