"""A walk's or a practice's folder being begun: held, its data kept, its first line written."""

from __future__ import annotations

import shutil
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path

from walkaround.cli.material import Material
from walkaround.cli.noting import note_begun
from walkaround.devices.disk import (
    JOURNAL_NAME,
    FolderLock,
    JournalFile,
    keep_copy,
    make_folder,
)
from walkaround.devices.personal import keep_openings
from walkaround.records.journal import Head, open_journal
from walkaround.records.keys import SigningKey
from walkaround.records.opening import Opening

COPIES_NAME = "sources"
RECORD_NAME = "record.jws"
STOPPED_NAME = "stopped.jws"


@dataclass(frozen=True, slots=True)
class Begun:
    """Whoever has it closes the journal and lets go of the lock."""

    journal: JournalFile
    lock: FolderLock
    head: Head


def begin_folder(
    folder: Path,
    opening: Opening,
    material: Material,
    key: SigningKey | None,
    *,
    openings: bytes = b"",
) -> Begun:
    """A new folder; noted in the device's log before its journal's first line names that note.

    When it cannot be begun no folder is left: nothing was heard yet. Raises InUseError, DiskError.
    """
    with ExitStack() as undone:
        if not folder.exists():
            undone.callback(shutil.rmtree, folder, ignore_errors=True)
        make_folder(folder)
        lock = FolderLock(folder)
        undone.callback(lock.release)
        for _, found in material.found():
            keep_copy(folder / COPIES_NAME, found.content)
        journal = JournalFile(folder / JOURNAL_NAME)
        undone.callback(journal.close)
        if openings:
            keep_openings(folder, openings)
        log = note_begun(key, opening.kind, opening.walk_id)
        line, head = open_journal(replace(opening, log=log))
        journal.append(line)
        undone.pop_all()
    return Begun(journal, lock, head)
