"""A second person's signature over a record: what is shown, what is refused, what is a gap."""

from __future__ import annotations

import pytest
from joserfc import jws
from joserfc.jwk import OKPKey

from tests.records.forging import RECORD
from tests.records.walk_sample import KEY, STRANGER
from walkaround.errors import RecordError
from walkaround.records.countersignature import MOST_REMARKS, countersign, read_countersignature
from walkaround.records.keys import SigningKey
from walkaround.records.report import Outcome
from walkaround.records.signature import Paper, WalkKind, sign
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


def shown(line: bytes, trust: TrustList = TRUST) -> tuple[Outcome, str]:
    step = verify(RECORD, trust, countersignatures=[line]).steps[20]
    return step.outcome, step.detail


def test_verify_shows_both() -> None:
    report = verify(RECORD, TRUST, countersignatures=[countersigned()])
    assert report.trusted
    assert report.steps[20].detail == "T. Rainer, 2026-11-25: Looked at the strokes."


def test_a_missing_one_shows_as_a_gap() -> None:
    report = verify(RECORD, TRUST)
    assert report.trusted
    assert "it is countersigned: no countersignature was given" in report.not_checked


def test_a_strangers_own_and_a_revoked_one_say_so() -> None:
    line = countersigned()
    assert "not trusted" in shown(line, TrustList((DRIVER,)))[1]
    assert "no second person" in shown(countersigned(key=KEY))[1]
    revoked = TRUST.without(Revoked(STRANGER.thumbprint, "lost", "2026-11-26"))
    assert "taken back" in shown(line, revoked)[1]


def test_one_over_another_record_or_changed_is_refused() -> None:
    other = countersign(
        RECORD + b"x", STRANGER, KIND, walk_id="walk-0001", remarks="fine", signer="T", at=""
    )
    assert shown(other)[0] is Outcome.FAILED
    line = countersigned()
    for at in range(0, len(line), 7):
        changed = line[:at] + bytes([line[at] ^ 1]) + line[at + 1 :]
        assert shown(changed)[0] is Outcome.FAILED


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
