"""The record of a walk: made from its journal alone, at its end or any time later."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from walkaround.cli.folder import RECORD_NAME, STOPPED_NAME
from walkaround.cli.noting import note_signed
from walkaround.cli.reached import must_be_its_openings, must_reach_signed
from walkaround.cli.session import must_be_its_key, open_journal_in
from walkaround.devices.disk import write_finished
from walkaround.errors import SigningKeyError
from walkaround.records.journal import JournalReading, key_named, nothing_heard
from walkaround.records.keys import SigningKey
from walkaround.records.page import page_of
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.summary import summarise


@dataclass(frozen=True, slots=True)
class Written:
    """Where the record is, and the page beside it; `signed` None without a key.

    `later`: the journal named no key while walking.
    """

    signed: Path | None
    page: Path
    later: bool = False


def write_record(folder: Path, reading: JournalReading, key: SigningKey | None) -> Written:
    """Make the summary, sign it when a key is at hand, write both files.

    Raises JournalError, also for a journal that no longer reaches a record there, RecordError,
    DiskError, UsageError.
    """
    must_reach_signed(folder, reading)
    path = folder / (RECORD_NAME if reading.head.complete else STOPPED_NAME)
    summary = summarise(reading, key.public.jwk() if key is not None else None)
    if key is not None:
        opening = reading.opening
        line = sign(summary, key, opening.kind, Paper.RECORD)
        note_signed(key, opening.kind, opening.walk_id, line)
        write_finished(path, line)
    page = path.with_suffix(".html")
    write_finished(page, page_of(summary, signed=key is not None))
    return Written(path if key is not None else None, page, not key_named(reading))


def sign_later(folder: Path, key_for: Callable[[WalkKind], SigningKey]) -> Written:
    """The record of a walk that ended without one.

    Raises UsageError, InUseError, JournalError, RecordError, SigningKeyError, DiskError.
    """
    with ExitStack() as held:
        opened = open_journal_in(folder, held)
        reading = opened.reading
        key = key_for(reading.opening.kind)
        must_be_its_key(folder, reading, key)
        if nothing_heard(reading):
            raise SigningKeyError(f"nothing was heard in {folder} yet; there is nothing to sign")
        must_be_its_openings(folder, reading)
        if reading.torn_tail:
            opened.journal.cut_to(reading.whole_bytes)
        return write_record(folder, reading, key)
