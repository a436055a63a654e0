"""Reads and verifies the files of a tree, a few hundred at a time, and makes rows of them.

What was verified before, by the hash of its content under the same trust list, is not
verified again.  A file's time is never looked at.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from walkaround.audit.extract import Extractor, Given
from walkaround.audit.steptimes import times_of
from walkaround.audit.tables import Batch
from walkaround.devices.evidence.scripts import Scripts
from walkaround.devices.evidence.tree import (
    MOST_JOURNAL_BYTES,
    Sighted,
    Sort,
    read_bounded,
)
from walkaround.errors import JournalError, RecordError, RevokedKeyError, WalkaroundError
from walkaround.records.countersignature import read_countersignature
from walkaround.records.journal import JournalReading, read_journal
from walkaround.records.log import DeviceLog, sha256_of
from walkaround.records.report import Outcome, Report
from walkaround.records.second import Worth, worth_of_key
from walkaround.records.signature import LARGEST_BYTES, Paper, kind_and_paper, read_header, split
from walkaround.records.summary import summarise
from walkaround.records.trust import TrustList
from walkaround.records.verify import verify
from walkaround.records.view import read_summary

TRUSTED, INTACT, REFUSED, UNFINISHED = "trusted", "not trusted", "refused", "unfinished"
COUNTERSIGNED, NOT_OURS, HEAD = "countersignature", "not ours", "other signed line"
_FIRST_STEP_BESIDE = 11
_BESIDE_A_JOURNAL = ("record.jws", "stopped.jws")


@dataclass(frozen=True, slots=True)
class Pair:
    """What belongs together in a folder: a signed line, or a journal alone, or both."""

    signed: Sighted | None
    journal: Sighted | None

    @property
    def folder(self) -> str:
        found = self.signed or self.journal
        return found.folder if found else ""


@dataclass(frozen=True, slots=True)
class Looked:
    """What became of a file. `content` names its walk or countersignature in the tables;
    empty when there is none."""

    path: str
    size: int
    content: str
    standing: str
    why: str = ""


@dataclass(slots=True)
class Found:
    """Of a few hundred files: what became of each, and the rows of those not known before."""

    looked: list[Looked] = field(default_factory=list)
    batch: Batch = field(default_factory=Batch)


class Reader:
    """One process's reader. `known` holds the contents that were verified before, `logs` those
    of the devices: needed only for what was signed by a key that was taken back since."""

    def __init__(
        self,
        trust: TrustList,
        known: Mapping[str, str],
        own: Mapping[str, bytes],
        logs: Sequence[DeviceLog] = (),
    ) -> None:
        self._logs = logs
        self._trust, self._known = trust, known
        self._scripts = Scripts(own)
        self._extractor = Extractor(self._scripts.of)

    def read(self, pairs: Sequence[Pair]) -> Found:
        """Look at each; nothing that is in a file stops it."""
        found = Found()
        for pair in pairs:
            self._scripts.folder = pair.folder
            if pair.signed is not None:
                self._signed(pair, found)
            elif pair.journal is not None:
                self._journal_alone(pair.journal, found)
        return found

    # ------------------------------------------------------------ signed lines

    def _signed(self, pair: Pair, found: Found) -> None:
        sighted = pair.signed
        assert sighted is not None
        try:
            line = _content(sighted, LARGEST_BYTES)
            paper = _paper(line)
        except (OSError, RecordError) as bad:
            found.looked.append(_refused(sighted, bad))
            return
        if paper is Paper.COUNTERSIGNATURE:
            self._countersignature(sighted, line, found)
        elif paper is Paper.RECORD:
            self._record(pair, sighted, line, found)
        else:
            found.looked.append(Looked(sighted.path, sighted.size, "", HEAD))

    def _record(self, pair: Pair, sighted: Sighted, line: bytes, found: Found) -> None:
        journal = self._beside(pair, found)
        content = _sha256(line) + (f"+{_sha256(journal)}" if journal else "")
        if content in self._known:
            standing = self._known[content]
            found.looked.append(Looked(sighted.path, sighted.size, content, standing))
            return
        report = self._verified(line, journal)
        if journal is not None and _fails_beside(report):
            why = _first_failure(report)
            if not (report.summary and report.summary.ended == "stopped"):
                # A walk stopped for now goes on in its journal: only then is it no other one.
                assert pair.journal is not None
                found.looked.append(Looked(pair.journal.path, pair.journal.size, "", REFUSED, why))
            journal, content = None, _sha256(line)
            report = self._verified(line, None)
        stands = report.trusted
        standing = TRUSTED if stands else INTACT if report.intact else REFUSED
        why = "" if stands else _first_failure(report)
        kept = content if stands else ""
        found.looked.append(Looked(sighted.path, sighted.size, kept, standing, why))
        if stands and report.summary is not None and content not in self._known:
            trusted = self._trust.find(report.key_id)
            who = trusted.name if trusted else report.key_id
            given = Given(report.summary, content, TRUSTED, report.key_id, who)
            self._add(given, journal, found)

    def _verified(self, line: bytes, journal: bytes | None) -> Report:
        report = verify(line, self._trust, journal=journal)
        if report.refusal is not RevokedKeyError:
            return report
        sha256 = sha256_of(line)
        log = next((log for log in self._logs if log.signed(sha256) is not None), None)
        return report if log is None else verify(line, self._trust, journal=journal, log=log)

    def _add(self, given: Given, journal: bytes | None, found: Found) -> None:
        if journal is not None:
            script = self._scripts.of(given.view)
            times = times_of(read_journal(journal), script.plan if script else None)
            given = Given(given.view, given.content, given.standing, given.key, given.who, times)
        self._extractor.add(given, found.batch)

    def _beside(self, pair: Pair, found: Found) -> bytes | None:
        if pair.journal is None:
            return None
        try:
            return _content(pair.journal, MOST_JOURNAL_BYTES)
        except OSError as bad:
            found.looked.append(_refused(pair.journal, bad))
            return None

    def _countersignature(self, sighted: Sighted, line: bytes, found: Found) -> None:
        try:
            told = read_countersignature(line)
        except WalkaroundError as bad:
            found.looked.append(_refused(sighted, bad))
            return
        worth = worth_of_key(told, line, self._trust, self._logs)
        known = self._trust.find(told.key_id)
        if worth is not Worth.COUNTS or known is None:
            found.looked.append(Looked(sighted.path, sighted.size, "", INTACT, worth.value))
            return
        content, name = _sha256(line), found.batch.name
        found.looked.append(Looked(sighted.path, sighted.size, content, COUNTERSIGNED))
        if content not in self._known:
            kind, key, who = name(told.kind.value), name(told.key_id), name(known.name)
            row = (told.record, content, kind, key, who, told.signer, told.at, told.remarks)
            found.batch.rows["countersignatures"].append(row)

    # ------------------------------------------------------------ a journal without a record

    def _journal_alone(self, sighted: Sighted, found: Found) -> None:
        try:
            content = _content(sighted, MOST_JOURNAL_BYTES)
            reading = read_journal(content)
            if len(reading.entries) < 2:
                raise JournalError("nothing stands in it yet")
            name = _sha256(content)
            if name not in self._known:
                self._unfinished(reading, name, found)
        except (OSError, WalkaroundError) as bad:
            found.looked.append(_refused(sighted, bad))
            return
        torn = f"{len(reading.torn_tail)} bytes of a write cut short" if reading.torn_tail else ""
        found.looked.append(Looked(sighted.path, sighted.size, name, UNFINISHED, torn))

    def _unfinished(self, reading: JournalReading, content: str, found: Found) -> None:
        """Nobody signed it as a whole: it is shown, and nothing is concluded from it."""
        view = read_summary(summarise(reading, None))
        trusted = self._trust.find(reading.opening.device)
        who = trusted.name if trusted else "unknown key"
        if self._trust.revoked(reading.opening.device) is not None:
            who += " (key taken back)"
        given = Given(view, content, UNFINISHED, reading.opening.device, who)
        self._extractor.add(given, found.batch)


def _content(sighted: Sighted, most: int) -> bytes:
    if sighted.why:
        raise OSError(None, sighted.why)
    return read_bounded(sighted.path, most)


def _paper(line: bytes) -> Paper:
    """What a line says it is, believed in nothing else. Raises RecordError."""
    return kind_and_paper(read_header(split(line)[0]))[1]


def _refused(sighted: Sighted, bad: Exception) -> Looked:
    why = bad.strerror if isinstance(bad, OSError) else str(bad)
    return Looked(sighted.path, sighted.size, "", REFUSED, why or str(bad))


def _fails_beside(report: Report) -> bool:
    failed = [step.number for step in report.steps if step.outcome is Outcome.FAILED]
    return bool(failed) and failed[-1] >= _FIRST_STEP_BESIDE


def _first_failure(report: Report) -> str:
    failed = [step for step in report.steps if step.outcome is Outcome.FAILED]
    return failed[0].detail if failed else ""


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def pairs_of(sighted: Sequence[Sighted], *, journals: bool) -> list[Pair]:
    """The files of one folder put together; `journals` False leaves those beside records shut."""
    signed = [one for one in sighted if one.sort is Sort.SIGNED]
    found = [one for one in sighted if one.sort is Sort.JOURNAL]
    beside = found[0] if found else None
    if not signed:
        return [Pair(None, one) for one in found]
    return [Pair(one, beside if journals and _may_have(one) else None) for one in signed]


def _may_have(signed: Sighted) -> bool:
    return signed.path.endswith(_BESIDE_A_JOURNAL)
