"""`walkaround verify`: is a record intact, and by whose key? Exit 0 only when all are.

Name records, walks' folders, or a folder that holds walks. What lies beside a record is looked
at too: journal, data files, page. What was not there and was not checked is said.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from walkaround.cli.beside import beside, page_is_altered, read_limited, records_at
from walkaround.cli.countersign import beside as countersignatures_beside
from walkaround.cli.logs import NO_LOGS, Logs, logs_of
from walkaround.cli.screen import complain, tell
from walkaround.devices.keys import KeyStore
from walkaround.errors import (
    LogError,
    RecordError,
    RevokedKeyError,
    UntrustedKeyError,
    UsageError,
)
from walkaround.records.log import DeviceLog, records_of, sha256_of
from walkaround.records.report import Outcome, Report
from walkaround.records.trust import TrustList, parse_trust
from walkaround.records.verify import verify
from walkaround.records.view import SummaryView

_ALTERED_PAGE = "the record is intact, the page beside it is NOT"
_WORST_FIRST = tuple(
    error.exit_code
    for error in (RecordError, LogError, UntrustedKeyError, RevokedKeyError, UsageError)
)
"""A record that was changed is worse than one by a stranger, and that than one not found."""


@dataclass(frozen=True, slots=True)
class Verified:
    """A record's report, with what is to be said of the things beside it."""

    report: Report
    sha256: str  # of the record
    remarks: tuple[str, ...] = ()
    altered_page: bool = False

    @property
    def code(self) -> int:
        refusal = self.report.refusal
        if refusal is not None:
            return refusal.exit_code
        return RecordError.exit_code if self.altered_page else 0

    def lines(self, *, brief: bool) -> Iterator[str]:
        """The banner first, then the verdict, what is odd, and the whole list unless `brief`."""
        report = self.report
        if report.banner:
            yield report.banner
        yield _ALTERED_PAGE if self.altered_page and report.refusal is None else report.verdict
        yield from report.warnings
        yield from self.remarks
        if brief:
            left = [s.title for s in report.steps if s.outcome is Outcome.NOT_CHECKED]
            if left:
                yield f"not checked: {'; '.join(left)}"
            yield from map(str, report.countersignatures)
            return
        said = (report.banner, report.verdict, *report.warnings)
        yield from report.lines()[sum(map(bool, said)) :]


def add(parser: argparse.ArgumentParser) -> None:
    """The command's options."""
    parser.add_argument(
        "records", nargs="+", type=Path, metavar="FILE|FOLDER", help="record.jws, or its folder"
    )
    parser.add_argument(
        "--trust", type=Path, metavar="FILE", help="go by this trust list, not by this device's"
    )
    parser.add_argument(
        "--alone", action="store_true", help="the record only, not what lies beside it"
    )
    parser.add_argument(
        "--log",
        type=Path,
        action="append",
        default=[],
        metavar="FILE",
        help="the log of the device that signed (keys --log); what it has and you do not is told",
    )
    parser.add_argument(
        "--head", type=Path, action="append", default=[], metavar="FILE",
        help="a head of that log that was copied earlier (keys --head)",
    )  # fmt: skip
    parser.add_argument("--brief", action="store_true", help="a few lines a record")


def run(arguments: argparse.Namespace) -> int:
    """Prints a report for each; one that cannot be read does not stop the others.

    The exit code is that of the worst.
    """
    store = KeyStore()
    trust = parse_trust(read_limited(arguments.trust)) if arguments.trust else store.trust()
    logs = logs_of(store, arguments.log, [read_limited(path) for path in arguments.head])
    codes, shown = [], set[str]()
    for given in arguments.records:
        try:
            for path in records_at(given):
                verified = verified_at(path, trust, logs, alone=arguments.alone)
                shown.add(verified.sha256)
                _show(path, tuple(verified.lines(brief=arguments.brief)))
                codes.append(verified.code)
        except UsageError as bad:
            complain(str(bad))
            codes.append(bad.exit_code)
    for gap in logs.gaps(shown):
        tell(gap)
    return next((code for code in _WORST_FIRST if code in codes), 0)


def _show(path: Path, lines: Sequence[str]) -> None:
    tell(f"{path}:")
    for line in lines:
        tell(f"  {line}")


def verified_at(
    path: Path, trust: TrustList, logs: Logs = NO_LOGS, *, alone: bool = False
) -> Verified:
    """Verify one record with what lies beside it. Raises UsageError when it cannot be read."""
    record = read_limited(path)
    by_itself = verify(record, trust)
    log = logs.log_for(by_itself.key_id, record)
    heads = logs.heads if log is not None else ()
    if alone:
        by_itself = verify(record, trust, log=log, heads=heads)
        return Verified(by_itself, sha256_of(record))
    found = beside(path, by_itself.summary if by_itself.intact else None)
    lines, odd = countersignatures_beside(path, record)
    found.remarks.extend(odd)
    report = verify(
        record,
        trust,
        journal=found.journal,
        attachments=found.attachments,
        openings=found.openings,
        log=log,
        heads=heads,
        countersignatures=lines,
        countersigners=logs.countersigners,
        sounds=found.sounds,
    )
    if log is not None and report.intact and report.summary is not None:
        found.remarks.extend(_more_signed_than_sat(log, report.summary, sha256_of(record)))
    altered = page_is_altered(path, report, found.remarks)
    return Verified(report, sha256_of(record), tuple(found.remarks), altered)


def _more_signed_than_sat(log: DeviceLog, told: SummaryView, sha256: str) -> Iterator[str]:
    """A sitting is signed once: with more records than sittings the journal was cut back."""
    signed = [note.sha256 for note in records_of(log, told.walk_id)]
    count, sat = signed.index(sha256) + 1 if sha256 in signed else 0, len(told.sittings)
    if count > sat:
        yield (
            f"it is number {count} of the records of this walk in the log, and its journal has "
            f"{sat} sittings: that was CUT BACK and gone through again; ask for the other records"
        )
