"""A called-out rise: points, candidates, and calls that are settled later."""

from __future__ import annotations

from tests.engine.tea import Puppet, prompt_ids
from walkaround.engine.state import Phase
from walkaround.exchange import (
    Because,
    Command,
    NotDone,
    Rise,
    StayedQuiet,
    Unclear,
)


def rising() -> Puppet:
    puppet = Puppet().start().until("cooling.calls").degrees(40, at=200_000)
    return puppet.hear(Unclear(Because.NOT_AN_ANSWER), at=220_000)


def quiet(puppet: Puppet) -> Puppet:
    return puppet.send(StayedQuiet(puppet.asked(), puppet.now, puppet.now))


def test_a_call_not_understood_is_asked_for_and_stands_at_its_own_onset() -> None:
    puppet = quiet(rising())
    assert prompt_ids(puppet.effects) == ["phrase:rise-missed"]
    puppet.degrees(60, at=260_000)
    rise = puppet.state.given["cooling.calls"].answer
    assert isinstance(rise, Rise)
    assert [point.at_ms for point in rise.points] == [200_000, 220_000]


def test_a_cough_in_a_rise_is_no_number() -> None:
    puppet = quiet(rising()).say(Command.UNABLE)
    assert puppet.state.phase is Phase.CALLING
    puppet.degrees(60, at=300_000)
    rise = puppet.state.given["cooling.calls"].answer
    assert isinstance(rise, Rise)
    assert [point.at_ms for point in rise.points] == [200_000, 300_000]
    assert rise.candidates_ms == ()


def test_settling_is_tried_twice_and_no_more() -> None:
    puppet = quiet(rising())
    puppet.hear(Unclear(Because.NOT_AN_ANSWER))
    assert prompt_ids(puppet.effects) == ["phrase:rise-missed"]
    puppet.hear(Unclear(Because.NOT_AN_ANSWER))
    assert puppet.state.settling_ms is None
    assert quiet(puppet).state.phase is not Phase.CALLING


def test_a_call_missed_in_the_middle_is_asked_for_at_the_end() -> None:
    puppet = Puppet().start().until("cooling.calls")
    puppet.hear(Unclear(Because.NOT_AN_ANSWER), at=200_000)
    puppet.degrees(60, at=220_000)
    assert prompt_ids(puppet.effects) == ["phrase:rise-missed"]
    puppet.degrees(40, at=240_000)
    rise = puppet.state.given["cooling.calls"].answer
    assert isinstance(rise, Rise)
    assert [(p.at_ms, str(p.value)) for p in rise.points] == [
        (200_000, "40 °C"),
        (220_000, "60 °C"),
    ]


def test_a_rise_is_said_back() -> None:
    puppet = Puppet().start().until("cooling.calls").degrees(40).degrees(60)
    assert "phrase:rise-done" in prompt_ids(puppet.effects)


def test_a_rise_that_is_closed_before_any_call_is_not_done() -> None:
    """No value, no rise: a record may hold no answer that nobody gave."""
    puppet = Puppet().start().until("cooling.calls").say(Command.FINISH)
    assert puppet.state.given["cooling.calls"].answer == NotDone("nothing was called out")
