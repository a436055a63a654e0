"""A journal bound to no key: the record says so, and so does whoever verifies with the journal."""

from __future__ import annotations

from dataclasses import replace

from tests.records.forging import HEADER, encoded, line
from tests.records.walk_sample import CLOSING, EVENTS, KEY, STRANGER, joined, journal, opening
from walkaround.records.canonical import Json
from walkaround.records.journal import (
    key_named,
    nothing_heard,
    open_journal,
    read_journal,
    write_closing,
    write_event,
    write_head,
)
from walkaround.records.page import page_of
from walkaround.records.report import Outcome, Report
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.summary import summarise
from walkaround.records.trust import TrustedKey, TrustList
from walkaround.records.verify import verify
from walkaround.records.wording import SIGNED_LATER

KIND = WalkKind.WALK
TRUST = TrustList((TrustedKey(KEY.public, (KIND,), "cab 7", ""),))


def unbound(*, head_at: int = -1, device: str = "") -> bytes:
    """A journal that names no key, unless it is signed after that many events."""
    first, head = open_journal(replace(opening(KIND), device=device))
    parts = [first]
    for number, event in enumerate(EVENTS):
        if number == head_at:
            more, head = write_head(head, KEY, KIND)
            parts.append(more)
        more, head = write_event(head, event)
        parts.append(more)
    more, _ = write_closing(head, CLOSING)
    return joined([*parts, more])


def summed_up(content: bytes) -> dict[str, Json]:
    return summarise(read_journal(content), KEY.public.jwk())


def signed(summary: dict[str, Json]) -> bytes:
    return sign(summary, KEY, KIND, Paper.RECORD)


def says_so(report: Report) -> bool:
    assert (SIGNED_LATER in report.lines()) is (SIGNED_LATER in report.warnings)
    return SIGNED_LATER in report.lines()


def test_the_record_says_so_alone_and_with_its_journal() -> None:
    content = unbound()
    summary = summed_up(content)
    assert summary["signed_later"] is True
    for report in (verify(signed(summary), TRUST), verify(signed(summary), TRUST, journal=content)):
        assert report.trusted
        assert says_so(report)
        assert report.lines()[1] == SIGNED_LATER  # right after the verdict
    assert SIGNED_LATER.encode() in page_of(summary, signed=True)


def test_one_that_was_bound_does_not() -> None:
    for content in (journal(KIND), unbound(head_at=3), unbound(device=KEY.thumbprint)):
        summary = summed_up(content)
        assert "signed_later" not in summary
        assert SIGNED_LATER.encode() not in page_of(summary, signed=True)
        assert not says_so(verify(signed(summary), TRUST, journal=content))


def test_it_cannot_be_left_out_or_put_in() -> None:
    content = unbound()
    silent = {name: value for name, value in summed_up(content).items() if name != "signed_later"}
    report = verify(signed(silent), TRUST, journal=content)
    assert report.steps[13].outcome is Outcome.FAILED
    assert "signed_later" in report.steps[13].detail
    assert says_so(report)
    loud = {**summed_up(journal(KIND)), "signed_later": True}
    assert not verify(signed(loud), TRUST, journal=journal(KIND)).intact


def test_a_record_from_before_there_was_such_a_member_still_verifies_and_is_told_of() -> None:
    """Records were not packed then; their journal says it."""
    content = unbound()
    silent = {name: value for name, value in summed_up(content).items() if name != "signed_later"}
    report = verify(line(HEADER, encoded(silent)), TRUST, journal=content)
    assert report.trusted
    assert says_so(report)
    assert not says_so(verify(line(HEADER, encoded(silent)), TRUST))


def test_an_unsigned_summary_is_not_signed_later() -> None:
    assert "signed_later" not in summarise(read_journal(unbound()), None)


def test_which_key_a_journal_names() -> None:
    assert key_named(read_journal(unbound())) == ""
    assert key_named(read_journal(unbound(head_at=3))) == KEY.thumbprint
    assert key_named(read_journal(unbound(device=STRANGER.thumbprint))) == STRANGER.thumbprint
    both = unbound(head_at=3, device=STRANGER.thumbprint)
    assert key_named(read_journal(both)) == KEY.thumbprint


def test_when_nothing_was_heard() -> None:
    lines = unbound().splitlines(keepends=True)
    heard = [nothing_heard(read_journal(joined(lines[:count]))) for count in range(1, 4)]
    assert heard == [True, True, False]
