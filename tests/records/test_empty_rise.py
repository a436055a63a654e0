"""A rise that the driver closed before any value was understood: the walk must keep its record."""

from __future__ import annotations

import pytest

from tests.records.walk_sample import EVENTS, GIVEN, KEY, joined, lines
from walkaround.exchange import Given, Rise, SittingOpened
from walkaround.records.journal import Closing, Ended, read_journal
from walkaround.records.signature import WalkKind
from walkaround.records.summary import summarise

WITHOUT_CALLS = tuple(
    event for event in EVENTS if getattr(event, "question", "") != "rise.calls"
)  # fmt: skip


@pytest.mark.xfail(
    strict=True, reason="the summary refuses a rise of no values as one that was never heard"
)
def test_a_rise_with_nothing_called_is_summed_up() -> None:
    """The engine lets it stand, and the measure says 'nothing was called out'."""
    assert isinstance(WITHOUT_CALLS[0], SittingOpened)
    empty = Given("rise.calls", Rise(()), 1, 60_000)
    given = tuple(empty if each.question == "rise.calls" else each for each in GIVEN)
    closing = Closing(Ended.COMPLETE, 70_000, given, ("level", "rise", "hold"))
    journal = joined(lines(WalkKind.WALK, events=WITHOUT_CALLS, closing=closing))
    summary = summarise(read_journal(journal), KEY.public.jwk())
    assert summary["ended"] == "complete"
