"""The numbered list: its order, what it says it did not check, and what lies beside a record."""

from __future__ import annotations

import hashlib
import json
import re
from typing import Any

import pytest

from tests.records.forging import JOURNAL, RECORD, SUMMARY, TRUST
from tests.records.walk_sample import (
    CLOSING,
    EVENTS,
    GIVEN,
    KEY,
    STRANGER,
    joined,
    journal,
    lines,
    opening,
    psi,
)
from walkaround.errors import RecordError, UntrustedKeyError
from walkaround.exchange import Given, Number, Rise
from walkaround.records import verify as verify_module
from walkaround.records.canonical import Json, canonical
from walkaround.records.journal import (
    Closing,
    Ended,
    EntryKind,
    next_entry,
    open_journal,
    read_journal,
    write_closing,
    write_event,
    write_head,
)
from walkaround.records.keys import SigningKey
from walkaround.records.particulars import commit
from walkaround.records.report import Outcome
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.summary import summarise
from walkaround.records.trust import TrustedKey, TrustList
from walkaround.records.verify import STEP_TITLES, verify
from walkaround.records.wording import NOT_PROVEN


def _outcomes(report: Any) -> list[Outcome]:
    return [step.outcome for step in report.steps]


def _failed(report: Any) -> list[int]:
    return [step.number for step in report.steps if step.outcome is Outcome.FAILED]


def test_the_list_in_the_docstring_is_the_list_in_the_code() -> None:
    text = verify_module.__doc__ or ""
    assert [int(n) for n in re.findall(r"^ +(\d+)\. ", text, re.M)] == list(range(1, 23))
    assert len(STEP_TITLES) == 22


def test_a_record_alone() -> None:
    report = verify(RECORD, TRUST)
    assert report.trusted
    left = [Outcome.NOT_CHECKED] * 9
    assert _outcomes(report) == [
        *[Outcome.PASSED] * 10,
        *left,
        Outcome.PASSED,
        *[Outcome.NOT_CHECKED] * 2,
    ]
    assert len(report.not_checked) == len(left) + 2 + len(NOT_PROVEN)
    assert report.kind is WalkKind.WALK
    assert report.banner == ""
    report.require()


def test_a_record_with_all_that_lies_beside_it() -> None:
    commitments, openings = commit({"driver": "A. Person", "plate": "XYZ 123"}, bytes(range(32)))
    data = [b"script text", b"rules text"]
    first = opening(WalkKind.WALK)
    sources = tuple(
        type(source)(source.what, source.name, _sha256(content), source.origin)
        for source, content in zip(first.sources, data, strict=True)
    )
    whole = type(first)(
        **{
            **{name: getattr(first, name) for name in first.__slots__},
            "particulars": commitments,
            "sources": sources,
        }
    )
    line, head = open_journal(whole)
    parts = [line]
    for event in EVENTS:
        line, head = write_event(head, event)
        parts.append(line)
    line, head = write_head(head, KEY, WalkKind.WALK)
    parts.append(line)
    line, head = write_closing(head, CLOSING)
    content = joined([*parts, line])
    record = sign(
        summarise(read_journal(content), KEY.public.jwk()), KEY, WalkKind.WALK, Paper.RECORD
    )
    assert b"Person" not in canonical(verify(record, TRUST).payload) + content
    files = {"a": data[0], "b": data[1]}
    report = verify(record, TRUST, journal=content, attachments=files, openings=openings)
    assert _outcomes(report)[:16] == [Outcome.PASSED] * 16
    assert len(report.not_checked) == 5 + len(NOT_PROVEN)
    other_name, _ = commit({"driver": "B. Other"}, bytes(32))
    assert other_name != commitments
    damages: tuple[tuple[dict[str, Any], int], ...] = (
        ({"openings": openings.replace(b"A. Person", b"B. Other")}, 16),
        ({"openings": openings.replace(b'"driver"', b'"trainer"')}, 16),
        ({"openings": b"{}"}, 16),
        ({"openings": openings + b" "}, 16),
        ({"attachments": {"a": b"script text "}}, 15),
        ({"attachments": {**files, "c": b"stray"}}, 15),
    )
    for damage, step in damages:
        assert _failed(verify(record, TRUST, journal=content, **damage)) == [step]
    partly = verify(record, TRUST, attachments={"a": data[0]})
    assert "not given: rules/ca-on.yaml" in partly.steps[14].detail


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def test_a_removed_opening_leaves_the_signature() -> None:
    assert verify(RECORD, TRUST, openings=None).trusted


# ---------------------------------------------------------------- journal beside it


def test_the_journal_beside_it() -> None:
    report = verify(RECORD, TRUST, journal=JOURNAL)
    assert _outcomes(report)[:14] == [Outcome.PASSED] * 14


def test_a_journal_torn_or_grown_after_signing() -> None:
    assert _failed(verify(RECORD, TRUST, journal=JOURNAL + b'{"body"')) == [11]
    assert _failed(verify(RECORD, TRUST, journal=JOURNAL + b"\n")) == [11]
    assert _failed(verify(RECORD, TRUST, journal=JOURNAL[:-1])) == [11]
    assert _failed(verify(RECORD, TRUST, journal=JOURNAL + b"\0\n")) == [11]


def test_a_journal_cut_at_a_line() -> None:
    whole = lines(WalkKind.WALK)
    for kept in range(1, len(whole)):
        assert _failed(verify(RECORD, TRUST, journal=joined(whole[:kept]))) == [12]


def test_a_journal_of_another_walk() -> None:
    assert _failed(verify(RECORD, TRUST, journal=journal(WalkKind.SIMULATED))) == [12]


def test_every_byte_of_the_journal_counts() -> None:
    for at in range(0, len(JOURNAL), 23):
        changed = JOURNAL[:at] + bytes([JOURNAL[at] ^ 1]) + JOURNAL[at + 1 :]
        assert not verify(RECORD, TRUST, journal=changed).intact, at


def _signed(content: bytes, key: SigningKey = KEY) -> bytes:
    summary = summarise(read_journal(content), key.public.jwk())
    return sign(summary, key, WalkKind.WALK, Paper.RECORD)


def test_a_journal_with_no_signed_head() -> None:
    content = journal(WalkKind.WALK, key=None)
    report = verify(_signed(content), TRUST, journal=content)
    assert report.trusted
    assert report.steps[12].outcome is Outcome.NOT_CHECKED


@pytest.mark.parametrize(
    ("key", "kind"),
    [(STRANGER, WalkKind.WALK), (KEY, WalkKind.SIMULATED), (KEY, WalkKind.PRACTICE)],
)
def test_a_head_by_another_key_or_of_another_kind(key: SigningKey, kind: WalkKind) -> None:
    parts = lines(WalkKind.WALK, closing=None)
    line, head = write_head(read_journal(joined(parts)).head, key, kind)
    line2, _ = write_closing(head, CLOSING)
    content = joined([*parts, line, line2])
    assert _failed(verify(_signed(content), TRUST, journal=content)) == [13]


@pytest.mark.parametrize("change", [{"seq": 3}, {"hash": "0" * 64}, {"more": 1}])
def test_a_head_over_another_entry(change: dict[str, Any]) -> None:
    parts = lines(WalkKind.WALK, closing=None)
    head = read_journal(joined(parts)).head
    body = {"seq": head.seq, "hash": head.hash, **change}
    jws = sign(body, KEY, WalkKind.WALK, Paper.HEAD).decode()
    line, head = next_entry(head, EntryKind.HEAD, {"jws": jws})
    line2, _ = write_closing(head, CLOSING)
    content = joined([*parts, line, line2])
    assert _failed(verify(_signed(content), TRUST, journal=content)) == [13]


def test_a_record_in_place_of_a_head_and_the_reverse() -> None:
    parts = lines(WalkKind.WALK, closing=None)
    reading = read_journal(joined(parts))
    line, head = next_entry(reading.head, EntryKind.HEAD, {"jws": RECORD.decode()})
    line2, _ = write_closing(head, CLOSING)
    content = joined([*parts, line, line2])
    assert _failed(verify(_signed(content), TRUST, journal=content)) == [13]
    jws = next(e.body["jws"] for e in reading.entries if e.kind is EntryKind.HEAD)
    assert _failed(verify(str(jws).encode(), TRUST)) == [4]


PLAIN: dict[str, Any] = json.loads(canonical(SUMMARY))
LIES: dict[str, Any] = {
    "id": "walk-0002",
    "program": "9.9",
    "script": "bus",
    "places": ["CA-ON"],
    "vehicle": {**PLAIN["vehicle"], "cut-out": "120 psi"},
    "ended": "stopped",
    "began": "2026-03-02T06:30:00Z",
    "duration": "17.000 s",
    "sittings": PLAIN["sittings"][:1],
    "interruptions": 0,
    "sound": {**PLAIN["sound"], "lost_ms": 1},
    "steps": [{**PLAIN["steps"][0], "title": "Reading the gauges well"}, *PLAIN["steps"][1:]],
    "citations": [*PLAIN["citations"], "a better one"],
    "rules": [{**PLAIN["rules"][0], "limit": "at most 150 s"}, *PLAIN["rules"][1:]],
    "notes": ["cut-out was read"],
    "sources": {},
    "particulars": {"driver": "0" * 64},
    "findings": [],
    "undetermined": [],
    "near": [],
    "not_done": [],
    "more": "than the journal gives",
}


def test_every_member_of_a_summary_is_lied_about() -> None:
    others = {"key", "walk", "format", "disclaimer", "journal"}  # steps 6, 7 and 12 see to them
    assert set(LIES) - {"more"} == set(SUMMARY) - others


@pytest.mark.parametrize("member", LIES)
def test_a_summary_that_the_journal_does_not_give(member: str) -> None:
    """Signed by the trusted key itself: a device that lies about its own journal."""
    record = sign({**SUMMARY, member: LIES[member]}, KEY, WalkKind.WALK, Paper.RECORD)
    assert verify(record, TRUST).trusted
    report = verify(record, TRUST, journal=JOURNAL)
    assert _failed(report) == [14]
    assert member in report.steps[13].detail


@pytest.mark.parametrize(
    "given",
    [
        Given("hold.end", Number(psi("99.5")), 2, 65_000),
        Given("hold.middle", Number(psi("98.5")), 2, 65_000),
        Given("rise.calls", Rise(()), 1, 60_000),
        Given("walk-round.sound", GIVEN[1].answer, 1, 60_000),
    ],
)
def test_what_stands_was_heard(given: Given) -> None:
    """A journal that chains, but whose closing claims an answer that nobody gave."""
    parts = lines(WalkKind.WALK, closing=None)
    closing = Closing(Ended.COMPLETE, 70_000, (*GIVEN[:-1], given), CLOSING.done)
    line, _ = write_closing(read_journal(joined(parts)).head, closing)
    content = joined([*parts, line])
    head = read_journal(content).head
    summary: dict[str, Json] = {**SUMMARY, "journal": {"entries": head.seq + 1, "hash": head.hash}}
    record = sign(summary, KEY, WalkKind.WALK, Paper.RECORD)
    assert _failed(verify(record, TRUST, journal=content)) == [14]


# ---------------------------------------------------------------- whose it is


def test_a_strangers_record_is_intact_and_not_trusted() -> None:
    content = journal(WalkKind.WALK, STRANGER)
    report = verify(_signed(content, STRANGER), TRUST, journal=content)
    assert (report.intact, report.trusted) == (True, False)
    assert report.key_id == STRANGER.thumbprint
    assert _outcomes(report)[10:14] == [Outcome.PASSED] * 4
    with pytest.raises(UntrustedKeyError, match=STRANGER.thumbprint):
        report.require()


def test_a_damaged_record_says_what_to_do() -> None:
    with pytest.raises(RecordError, match="ask for the original"):
        verify(RECORD[:-1], TRUST).require()


@pytest.mark.parametrize("kind", WalkKind)
@pytest.mark.parametrize("scope", WalkKind)
def test_no_kind_passes_for_another(kind: WalkKind, scope: WalkKind) -> None:
    content = journal(kind)
    summary = summarise(read_journal(content), KEY.public.jwk())
    record = sign(summary, KEY, kind, Paper.RECORD)
    trust = TrustList((TrustedKey(KEY.public, (scope,), "x", ""),))
    report = verify(record, trust, journal=content)
    assert report.trusted is (kind is scope)
    assert report.intact
    if kind is not WalkKind.WALK:
        assert report.lines()[0].startswith(kind.value.upper())


def test_the_banner_comes_first_whatever_fails() -> None:
    content = journal(WalkKind.SIMULATED)
    summary = summarise(read_journal(content), KEY.public.jwk())
    record = sign(summary, KEY, WalkKind.SIMULATED, Paper.RECORD)
    assert verify(record[:-4] + b"AAAA", TrustList()).lines()[0].startswith("SIMULATED")


def test_a_report_never_says_that_a_vehicle_is_in_order() -> None:
    text = " ".join(verify(RECORD, TRUST, journal=JOURNAL).lines()).lower()
    assert not re.search(r"\b(safe|fit|roadworthy|approved)\b", text)


def test_verifying_changes_nothing() -> None:
    first, second = (verify(RECORD, TRUST, journal=JOURNAL) for _ in range(2))
    assert first == second
