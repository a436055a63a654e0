"""A learner's practices on this machine: read from their signed records, kept in one file.

Only records that are intact and by a trusted key count; real walks in the walks' folder are
read for what they show of each step.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from pathlib import Path

from walkaround.devices.disk import JOURNAL_NAME, make_folder, walks_in, write_finished
from walkaround.devices.regular import TooLargeError, read_regular
from walkaround.errors import DiskError, JournalError, RecordError
from walkaround.learning.evidence import reviews_of
from walkaround.learning.progress import Progress, parse_progress, serialise_progress
from walkaround.records.journal import read_journal
from walkaround.records.trust import TrustList
from walkaround.records.verify import verify

PROGRESS_NAME = "progress.json"
_RECORDS = ("record.jws", "stopped.jws")
_MOST_BYTES = 64_000_000


def read_progress(
    practice: Path, walks: Path, trust: TrustList, cards: Collection[str]
) -> tuple[Progress, tuple[str, ...]]:
    """Everything practised so far, and what was left out, in sentences. Raises DiskError."""
    told: list[str] = []
    kept = _kept(practice / PROGRESS_NAME, told)
    digests = set()
    for folder in (*walks_in(practice), *walks_in(walks)):
        found = _journal(folder, told)
        if found is None:
            continue
        journal, record = found
        digest = hashlib.sha256(journal + record).hexdigest()
        digests.add(digest)
        if digest in kept.journals:
            continue
        problem = _problem(journal, record, trust)
        if problem:
            told.append(f"{folder} does not count: {problem}")
            continue
        try:
            kept = kept.with_journal(digest, reviews_of(read_journal(journal), cards))
        except JournalError as bad:
            told.append(f"{folder} does not count: {bad}")
    return kept.only(digests), tuple(told)


def save_progress(practice: Path, progress: Progress) -> None:
    """Raises DiskError."""
    make_folder(practice)
    write_finished(practice / PROGRESS_NAME, serialise_progress(progress))


def _kept(path: Path, told: list[str]) -> Progress:
    """What the progress file holds; when it is damaged, nothing, and a sentence."""
    try:
        content = _read(path)
    except FileNotFoundError:
        return Progress()
    try:
        return parse_progress(content)
    except RecordError as bad:
        told.append(f"{path}: {bad}")
        return Progress()


def _journal(folder: Path, told: list[str]) -> tuple[bytes, bytes] | None:
    """Journal and record of a folder; None while there is no record of it."""
    for name in _RECORDS:
        if (folder / name).is_file():
            try:
                return _read(folder / JOURNAL_NAME), _read(folder / name)
            except FileNotFoundError:
                return None
            except RecordError as bad:
                told.append(f"{folder} does not count: {bad}")
                return None
    return None


def _problem(journal: bytes, record: bytes, trust: TrustList) -> str:
    report = verify(record, trust, journal=journal)
    return "" if report.trusted else report.verdict


def _read(path: Path) -> bytes:
    try:
        return read_regular(path, _MOST_BYTES)
    except FileNotFoundError:
        raise
    except TooLargeError:
        raise RecordError(f"{path.name} is larger than any file of ours; move it away") from None
    except OSError as bad:
        raise DiskError(f"cannot read {path} ({bad.strerror}); allow reading it") from bad
