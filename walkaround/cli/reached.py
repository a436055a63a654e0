"""Before anything is written over: does the journal still reach what was signed of it?

A journal that was cut back, by hand or by an old copy put in its place, would go on as if
nothing had been signed, and its next record would take the place of the signed one.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from walkaround.cli.beside import read_limited
from walkaround.cli.folder import RECORD_NAME, STOPPED_NAME
from walkaround.cli.screen import complain
from walkaround.devices.disk import JOURNAL_NAME
from walkaround.devices.personal import OPENINGS_NAME, openings_in
from walkaround.errors import JournalError, RecordError
from walkaround.records.journal import EntryKind, JournalReading
from walkaround.records.log import DeviceLog, records_of, sha256_of
from walkaround.records.particulars import open_commitment, read_openings
from walkaround.records.trust import TrustList
from walkaround.records.verify import verify

_WAY_ON = "nothing was written. Put your copy back, or start a new walk"


def must_reach_signed(folder: Path, reading: JournalReading) -> None:
    """Raises JournalError for a journal that no longer holds what a record beside it was made
    of, RecordError for a record there that cannot be held against it, UsageError."""
    for name in (RECORD_NAME, STOPPED_NAME):
        path = folder / name
        if os.path.lexists(path):
            _must_reach(path, read_limited(path), reading)


def _must_reach(path: Path, record: bytes, reading: JournalReading) -> None:
    report = verify(record, TrustList())
    told = report.summary
    if not report.intact or told is None:
        raise RecordError(
            f"{path} is not intact, and the next record would take its place; {_WAY_ON}, "
            "or move it to another folder"
        )
    if told.walk_id != reading.opening.walk_id:
        raise RecordError(
            f"{path} is the record of another walk, {told.walk_id}, and the next record would "
            f"take its place; move it to its own folder"
        )
    last = told.journal_entries - 1
    if last >= len(reading.entries) or reading.entries[last].hash != told.journal_hash:
        raise JournalError(
            f"{path.with_name(JOURNAL_NAME)} no longer holds what {path.name} was signed over, "
            f"{told.journal_entries} lines: it was cut back or changed since; {_WAY_ON}"
        )


def must_reach_logged(folder: Path, reading: JournalReading, logs: Sequence[DeviceLog]) -> None:
    """The device's logs know how many records of this walk were signed: one a sitting at most.

    Raises JournalError when the journal has fewer sittings. A record that is only missing may
    have been deleted, or never written on a full disk: it is told, and the walk goes on.
    """
    walk = reading.opening.walk_id
    signed = {note.sha256: note.at for log in logs for note in records_of(log, walk)}
    if not signed:
        return
    sittings = sum(entry.kind is EntryKind.SITTING for entry in reading.entries)
    if len(signed) > sittings:
        raise JournalError(
            f"this device signed {len(signed)} records of the walk in {folder}, and its journal "
            f"has {sittings} sittings: it was cut back since; {_WAY_ON}"
        )
    there = {
        sha256_of(read_limited(folder / name))
        for name in (RECORD_NAME, STOPPED_NAME)
        if (folder / name).is_file()
    }
    last = max(signed, key=lambda sha256: signed[sha256])
    if last not in there:
        complain(
            f"the record that this device signed of the walk in {folder} at {signed[last]} is not "
            "there any more: whether the journal was cut back since cannot be seen; it goes on"
        )


def must_be_its_openings(folder: Path, reading: JournalReading) -> None:
    """Particulars that do not read would make the next record fail, and look like a forgery.

    Raises RecordError, DiskError. Without the file they were forgotten, and that is all right.
    """
    content = openings_in(folder)
    if content is None:
        return
    try:
        opened = read_openings(content)
    except RecordError as bad:
        raise _no_openings(folder, str(bad)) from None
    for name, opening in opened.items():
        if not open_commitment(reading.opening.particulars, name, opening):
            raise _no_openings(folder, f"the walk was not begun with this '{name[:80]}'")


def _no_openings(folder: Path, why: str) -> RecordError:
    return RecordError(
        f"{folder / OPENINGS_NAME} is not what the walk was begun with ({why}): put your copy "
        f"back, or go on without the particulars after: forget {folder}"
    )
