"""`walkaround verify`: is a record intact, and by whose key? Exit 0 only when all are."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path

from walkaround.cli.countersign import beside
from walkaround.cli.session import COPIES_NAME
from walkaround.devices.disk import JOURNAL_NAME
from walkaround.devices.keys import KeyStore
from walkaround.errors import RecordError, UntrustedKeyError, UsageError
from walkaround.records.report import Report
from walkaround.records.trust import TrustList, parse_trust
from walkaround.records.verify import verify

_MOST_BYTES = 4_000_000
"""A record is about 10 kB; more than this is not read into memory."""
_MOST_JOURNAL_BYTES = 256_000_000
_WORST_FIRST = (RecordError.exit_code, UntrustedKeyError.exit_code)
"""A record that was changed is worse than one by a stranger."""


def add(parser: argparse.ArgumentParser) -> None:
    """The command's options."""
    parser.add_argument("records", nargs="+", type=Path, metavar="FILE", help="record.jws")
    parser.add_argument("--trust", type=Path, metavar="FILE", help="another trust list")
    parser.add_argument(
        "--alone", action="store_true", help="the record only, not the journal beside it"
    )
    parser.add_argument("--brief", action="store_true", help="one line a record")


def run(arguments: argparse.Namespace) -> int:
    """Prints a report for each. The exit code is that of the worst."""
    trust = parse_trust(_read(arguments.trust)) if arguments.trust else KeyStore().trust()
    codes = []
    for path in arguments.records:
        report = report_on(path, trust, alone=arguments.alone)
        print(f"{path}:")
        shown = (report.banner, report.verdict) if arguments.brief else report.lines()
        for line in shown:
            if line:
                print(f"  {line}")
        codes.append(_code(report))
    return next((code for code in _WORST_FIRST if code in codes), 0)


def _code(report: Report) -> int:
    if report.trusted:
        return 0
    return UntrustedKeyError.exit_code if report.intact else RecordError.exit_code


def report_on(path: Path, trust: TrustList, *, alone: bool = False) -> Report:
    """Verify one record with what lies beside it. Raises UsageError when it cannot be read."""
    record = _read(path)
    if alone:
        return verify(record, trust)
    return verify(
        record,
        trust,
        journal=_beside(path.parent / JOURNAL_NAME),
        attachments=_copies(path.parent / COPIES_NAME),
        countersignatures=beside(path, record),
    )


def _read(path: Path, most: int = _MOST_BYTES) -> bytes:
    try:
        with path.open("rb") as file:
            content = file.read(most + 1)
    except OSError as bad:
        raise UsageError(f"cannot read {path} ({bad.strerror}); check the path") from bad
    if len(content) > most:
        raise UsageError(f"{path} is larger than {most} bytes and no file of ours")
    return content


def _beside(path: Path) -> bytes | None:
    return _read(path, _MOST_JOURNAL_BYTES) if path.is_file() else None


def _copies(folder: Path) -> Mapping[str, bytes] | None:
    if not folder.is_dir():
        return None
    return {path.name: _read(path) for path in sorted(folder.iterdir()) if path.is_file()}
