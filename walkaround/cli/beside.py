"""What lies beside a record: its journal, data files and page; what is odd about them is told."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from walkaround import __version__
from walkaround.cli.folder import COPIES_NAME, RECORD_NAME, STOPPED_NAME
from walkaround.devices.disk import JOURNAL_NAME
from walkaround.devices.personal import OPENINGS_NAME, SOUND_NAME, openings_in, sounds_in
from walkaround.devices.regular import NotPlainError, TooLargeError, read_regular
from walkaround.errors import DiskError, UsageError
from walkaround.records.journal import Ended
from walkaround.records.page import page_of
from walkaround.records.report import Report
from walkaround.records.view import SummaryView

MOST_BYTES = 4_000_000
"""A record is about 10 kB; more than this is not read into memory."""
_MOST_JOURNAL_BYTES = 256_000_000
_NAMES = frozenset({JOURNAL_NAME, COPIES_NAME, OPENINGS_NAME, SOUND_NAME, ".lock"})
_HASH = re.compile(r"[0-9a-f]{64}")
_MOST_NAMED = 5


@dataclass(slots=True)
class Beside:
    """`remarks` are sentences for the person who verifies."""

    journal: bytes | None = None
    attachments: Mapping[str, bytes] | None = None
    openings: bytes | None = None
    sounds: Mapping[str, bytes] | None = None
    remarks: list[str] = field(default_factory=list)


def read_limited(path: Path, most: int = MOST_BYTES) -> bytes:
    """Raises UsageError for what cannot be read, is no plain file, or is too large."""
    try:
        return read_regular(path, most)
    except NotPlainError:
        raise UsageError(f"{path} is no file; name a record, or a folder that holds one") from None
    except TooLargeError:
        raise UsageError(f"{path} is larger than {most} bytes and no file of ours") from None
    except OSError as bad:
        raise UsageError(f"cannot read {path} ({bad.strerror}); check the path") from bad


def records_at(path: Path) -> tuple[Path, ...]:
    """The path itself, or the records in that folder or in the folders in it.

    Raises UsageError when there is none, saying what to do.
    """
    if not path.is_dir():
        return (path,)
    for pattern in ("", "*/"):
        names = (RECORD_NAME, STOPPED_NAME)
        found = sorted(at for name in names for at in path.glob(pattern + name))
        finished = [at for at in found if at.name == RECORD_NAME]
        having = {at.parent for at in finished}
        if found:
            return tuple(sorted([*finished, *(at for at in found if at.parent not in having)]))
    if (path / JOURNAL_NAME).is_file():
        raise UsageError(f"the walk in {path} has no record; make it with: keys --sign {path}")
    raise UsageError(f"there is no {RECORD_NAME} in {path}; name a record or a walk's folder")


def beside(path: Path, told: SummaryView | None) -> Beside:
    """Everything that is beside the record at `path`, which says `told` of itself."""
    found = Beside()
    journal = path.parent / JOURNAL_NAME
    if journal.is_file():
        found.journal = _as_far_as(told, read_limited(journal, _MOST_JOURNAL_BYTES), found.remarks)
    else:
        found.remarks.append("its journal is not beside it and was NOT CHECKED")
    copies = path.parent / COPIES_NAME
    files = sorted(copies.iterdir()) if copies.is_dir() else []
    wanted = {source.sha256 for source in told.sources} if told is not None else None
    named = [
        at
        for at in files
        if at.is_file() and _HASH.fullmatch(at.name) and (wanted is None or at.name in wanted)
    ]
    found.attachments = {at.name: read_limited(at) for at in named}
    _tell_of_files(found, told, [at.name for at in files if at not in named])
    strangers = sorted(at.name for at in path.parent.iterdir() if not _is_of_a_walk(at, path))
    if journal.is_file() and strangers:
        found.remarks.append(
            f"beside it lies what is no part of this record and was NOT CHECKED: "
            f"{_named(strangers)}"
        )
    try:
        found.openings = openings_in(path.parent)
    except DiskError as bad:
        found.remarks.append(f"the particulars were NOT CHECKED: {bad}")
    try:
        found.sounds = sounds_in(path.parent)
    except DiskError as bad:
        found.remarks.append(f"the recordings were NOT CHECKED: {bad}")
    return found


def _is_of_a_walk(at: Path, record: Path) -> bool:
    """Whether it is one of the files of a walk's folder, which are checked or told of by name."""
    page_of_one = at.suffix == ".html" and at.with_suffix(".jws").name
    records = (RECORD_NAME, STOPPED_NAME, record.name)
    return (
        at.name in (*_NAMES, *records)
        or page_of_one in records
        or at.match("countersignature-*.jws")
    )


def _as_far_as(told: SummaryView | None, journal: bytes, remarks: list[str]) -> bytes:
    """The journal as it was when a walk was stopped; it may have gone on since."""
    if told is None or told.ended == Ended.COMPLETE.value:
        return journal
    lines = journal.split(b"\n")
    after = [line for line in lines[told.journal_entries :] if line]
    if not after:
        return journal
    remarks.append(
        f"the walk went on since this was signed, by {len(after)} lines of its journal, which "
        "this record says nothing about: look at the record of its end"
    )
    return b"\n".join(lines[: told.journal_entries]) + b"\n"


def _tell_of_files(found: Beside, told: SummaryView | None, strays: list[str]) -> None:
    there = set(found.attachments or ())
    wanted = {source.sha256: source.name for source in told.sources} if told is not None else {}
    missing = [name for sha256, name in wanted.items() if sha256 not in there]
    if missing:
        found.remarks.append(
            f"{len(missing)} of its {len(wanted)} data files are not beside it and were "
            f"NOT CHECKED: {_named(missing)}"
        )
    if strays:
        found.remarks.append(
            f"in {COPIES_NAME} lies what is no part of this record and was NOT CHECKED: "
            f"{_named(strays)}"
        )


def _named(names: list[str]) -> str:
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return ", ".join(name[:60] for name in names[:_MOST_NAMED]) + more


def page_is_altered(path: Path, report: Report, remarks: list[str]) -> bool:
    """Whether the page beside an intact record is another than the one that is made of it.

    Another version may draw another page: then it is not checked, and `remarks` says so.
    """
    page = path.with_suffix(".html")
    if not report.intact or report.summary is None or not page.is_file():
        return False
    if report.summary.program != f"walkaround {__version__}":
        remarks.append(f"the page {page.name} is by {report.summary.program} and was NOT CHECKED")
        return False
    if read_limited(page) == page_of(report.payload, signed=True):
        return False
    remarks.append(
        f"the page {page.name} is NOT the one that is made of this record: it was changed; "
        "do not read it"
    )
    return True
