"""A second person's signature over a record: what is shown, what is refused, what is a gap."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given as given_bytes
from hypothesis import settings
from hypothesis import strategies as st
from joserfc import jws
from joserfc.jwk import OKPKey

from tests.records.forging import RECORD
from tests.records.walk_sample import KEY, STRANGER
from walkaround.errors import RecordError
from walkaround.records.canonical import Json
from walkaround.records.countersignature import MOST_REMARKS, countersign, read_countersignature
from walkaround.records.keys import SigningKey
from walkaround.records.log import (
    START,
    DeviceLog,
    Note,
    What,
    read_log,
    sha256_of,
    write_line,
)
from walkaround.records.report import Checked, Outcome, Report
from walkaround.records.second import Worth
from walkaround.records.signature import Paper, WalkKind, parse_line, sign
from walkaround.records.trust import Revoked, TrustedKey, TrustList
from walkaround.records.verify import verify

KIND = WalkKind.WALK
DRIVER = TrustedKey(KEY.public, (KIND,), "cab 7", "")
TRAINER = TrustedKey(STRANGER.public, (KIND,), "the trainer", "")
TRUST = TrustList((DRIVER, TRAINER))


def countersigned(remarks: str = "Looked at the strokes.", key: SigningKey = STRANGER) -> bytes:
    return countersign(
        RECORD,
        key,
        KIND,
        walk_id="walk-0001",
        remarks=remarks,
        signer="T. Rainer",
        at="2026-11-25",
    )


def read_payload(line: bytes) -> dict[str, Json]:
    """What stands in it, believed in nothing."""
    return parse_line(line).payload()


def given(
    *lines: bytes, trust: TrustList = TRUST, logs: tuple[DeviceLog, ...] = ()
) -> tuple[Report, Checked]:
    named = {f"countersignature-{number}.jws": line for number, line in enumerate(lines, start=1)}
    report = verify(RECORD, trust, countersignatures=named, countersigners=logs)
    return report, report.steps[20]


def only_worth(line: bytes, trust: TrustList = TRUST, logs: tuple[DeviceLog, ...] = ()) -> Worth:
    """Of a single one; the step must follow it, and the record keep its own verdict."""
    report, step = given(line, trust=trust, logs=logs)
    (weighed,) = report.countersignatures
    assert report.verdict == verify(RECORD, trust).verdict
    assert report.refusal is None
    assert (step.outcome is Outcome.PASSED) == (weighed.worth is Worth.COUNTS)
    if step.outcome is not Outcome.PASSED:
        assert step.outcome is Outcome.NOT_CHECKED
        assert step.detail == "none of the 1 that were given counts"
        assert f"{step.title}: {step.detail}" in report.not_checked
        assert not weighed.whose
    assert any(line.strip() == str(weighed) for line in report.lines())
    return weighed.worth


def test_one_by_a_second_trusted_key_bears_the_record_out() -> None:
    report, step = given(countersigned())
    assert report.trusted
    assert (step.outcome, step.detail) == (Outcome.PASSED, "by the trainer")
    assert str(report.countersignatures[0]) == (
        "countersignature-1.jws: countersigned by the key of 'the trainer'; "
        "it says: T. Rainer, 2026-11-25: Looked at the strokes."
    )
    assert only_worth(countersigned()) is Worth.COUNTS


def test_a_missing_one_shows_as_a_gap() -> None:
    report = verify(RECORD, TRUST)
    assert report.trusted
    assert "it is countersigned: no countersignature was given" in report.not_checked


def test_a_strangers_bears_nothing_out() -> None:
    """Whatever name it gives itself."""
    assert only_worth(countersigned(), TrustList((DRIVER,))) is Worth.STRANGER
    practice = replace(TRAINER, scope=(WalkKind.PRACTICE,))
    assert only_worth(countersigned(), TrustList((DRIVER, practice))) is Worth.STRANGER


def test_the_records_own_key_is_no_second_person() -> None:
    assert only_worth(countersigned(key=KEY)) is Worth.OWN


def test_nor_is_the_key_that_took_over_on_the_same_device() -> None:
    lines, end = b"", START
    for note in (
        Note(What.OPENED, "", key=KEY.public),
        Note(What.SIGNED, "", walk="walk-0001", sha256=sha256_of(RECORD)),
        Note(What.ROTATED, "", key=STRANGER.public),
    ):
        line, end = write_line(end, note, KEY, KIND)
        lines += line
    report = verify(RECORD, TRUST, countersignatures={"one": countersigned()}, log=lines)
    assert [one.worth for one in report.countersignatures] == [Worth.OWN]
    assert report.steps[18].outcome is Outcome.PASSED


def log_of_the_trainer(*lines: bytes) -> DeviceLog:
    log, end = write_line(START, Note(What.OPENED, "", key=STRANGER.public), STRANGER, KIND)
    for line in lines:
        note = Note(What.COUNTERSIGNED, "2026-11-25", sha256=sha256_of(line))
        more, end = write_line(end, note, STRANGER, KIND)
        log += more
    return read_log(log)


def test_one_by_a_key_that_was_taken_back_counts_only_by_its_place_in_the_log() -> None:
    line, later = countersigned(), countersigned("Looked once more.")
    log = log_of_the_trainer(line, later)
    gone = Revoked(STRANGER.thumbprint, "lost", "2026-11-26")
    assert only_worth(line, TRUST.without(gone)) is Worth.REVOKED
    assert only_worth(line, TRUST.without(gone), (log,)) is Worth.REVOKED
    covered = TRUST.without(replace(gone, covered=log.lines[1].position))
    assert only_worth(line, covered) is Worth.REVOKED  # the log was not given
    assert only_worth(line, covered, (log,)) is Worth.COUNTS
    rewritten = log_of_the_trainer(later, line)
    assert only_worth(line, covered, (rewritten,)) is Worth.REVOKED
    assert only_worth(line, covered, (rewritten, log)) is Worth.COUNTS
    assert only_worth(later, covered, (log,)) is Worth.REVOKED
    assert only_worth(countersigned("Not noted."), covered, (log,)) is Worth.REVOKED


def test_a_line_of_anothers_log_vouches_for_nobody() -> None:
    """The record's own device notes a countersignature by the key that was taken back."""
    line = countersigned()
    log, end = write_line(START, Note(What.OPENED, "", key=KEY.public), KEY, KIND)
    note = Note(What.COUNTERSIGNED, "2026-11-25", sha256=sha256_of(line))
    more, end = write_line(end, note, KEY, KIND)
    gone = Revoked(STRANGER.thumbprint, "lost", "2026-11-26", end)
    assert only_worth(line, TRUST.without(gone), (read_log(log + more),)) is Worth.REVOKED


def over(record: bytes = RECORD, walk_id: str = "walk-0001", kind: WalkKind = KIND) -> bytes:
    return countersign(record, STRANGER, kind, walk_id=walk_id, remarks="fine", signer="T", at="")


def test_one_over_another_record_is_that_ones() -> None:
    wide = replace(TRAINER, scope=(WalkKind.WALK, WalkKind.PRACTICE))
    trust = TrustList((DRIVER, wide))
    assert only_worth(over(), trust) is Worth.COUNTS
    assert only_worth(over(RECORD + b"x"), trust) is Worth.ELSEWHERE
    assert only_worth(over(walk_id="walk-0002"), trust) is Worth.ELSEWHERE
    assert only_worth(over(kind=WalkKind.PRACTICE), trust) is Worth.ELSEWHERE


def test_rubbish_takes_nothing_from_the_record() -> None:
    """Anybody can lay a file beside a record."""
    line = countersigned()
    for at in range(0, len(line), 7):
        changed = line[:at] + bytes([line[at] ^ 1]) + line[at + 1 :]
        assert only_worth(changed) is Worth.UNREADABLE
    for rubbish in (b"", b"\0" * 40, b"{}", b"a.b.c", RECORD, line + b"\n", b"x" * 600_000):
        assert only_worth(rubbish) is Worth.UNREADABLE


@given_bytes(st.binary(max_size=300))
@settings(max_examples=60)
def test_no_bytes_take_anything_from_the_record(rubbish: bytes) -> None:
    assert only_worth(rubbish) is Worth.UNREADABLE


def test_one_that_counts_is_found_among_others() -> None:
    report, step = given(b"rubbish", countersigned(key=KEY), countersigned(), b"more")
    assert (step.outcome, step.detail) == (Outcome.PASSED, "by the trainer")
    assert [one.worth for one in report.countersignatures] == [
        Worth.UNREADABLE, Worth.OWN, Worth.COUNTS, Worth.UNREADABLE,
    ]  # fmt: skip
    assert [one.file for one in report.countersignatures if one.worth is Worth.COUNTS] == [
        "countersignature-3.jws"
    ]


def test_no_other_paper_passes_for_one() -> None:
    payload = {"format": "walkaround-countersignature-1"}
    for paper in Paper:
        with pytest.raises(RecordError):
            read_countersignature(sign(payload, STRANGER, KIND, paper))
    assert verify(countersigned(), TRUST).steps[3].outcome is Outcome.FAILED


@pytest.mark.parametrize("remarks", ["", "  ", "x" * (MOST_REMARKS + 1)])
def test_remarks_must_say_something(remarks: str) -> None:
    with pytest.raises(RecordError):
        countersigned(remarks)


def test_a_general_library_reads_it() -> None:
    """joserfc, an independent reader of RFC 7515, agrees on signature and payload."""
    line = countersigned()
    key = OKPKey.import_key(STRANGER.public.jwk())  # type: ignore[arg-type]
    read = jws.deserialize_compact(line, key, algorithms=["Ed25519"])
    assert read.headers()["typ"] == "walkaround-walk-countersignature+jws"
    assert b'"remarks":"Looked at the strokes."' in (read.payload or b"")
