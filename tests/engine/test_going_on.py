"""An answer that goes on after its beginning was taken: the whole stands, and both are written."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from tests.engine.tea import Puppet, kinds, prompt_ids
from walkaround.engine.state import Phase
from walkaround.exchange import (
    Because,
    CancelWake,
    Command,
    Heard,
    Judged,
    Meaning,
    Number,
    Unclear,
    WakeAt,
    Yes,
)
from walkaround.quantity import Quantity, Unit

NOT_CLEAR = Unclear(Because.AMBIGUOUS)


def celsius(value: int) -> Number:
    return Number(Quantity(Decimal(value), Unit.CELSIUS))


def heard(puppet: Puppet) -> Heard:
    """What was heard last."""
    return next(event for event in reversed(puppet.events) if isinstance(event, Heard))


def go_on(puppet: Puppet, meaning: Meaning, first: Heard | None = None) -> Puppet:
    """The voice of the last answer went on: the whole is heard under its question."""
    first = first or heard(puppet)
    puppet.now += 800
    whole = replace(first, meaning=meaning, words="", arrived_ms=puppet.now, went_on=True)
    return puppet.send(whole)


def test_the_whole_replaces_its_beginning_at_the_same_instant() -> None:
    puppet = Puppet().start().until("warmth.first").degrees(20)
    first = puppet.state.given["warmth.first"]
    go_on(puppet, celsius(25))
    second = puppet.state.given["warmth.first"]
    assert second.answer == celsius(25)
    assert second.occurred_ms == first.occurred_ms
    assert puppet.state.order.count("warmth.first") == 1


def test_a_hold_that_began_on_it_is_timed_from_the_same_reading() -> None:
    puppet = Puppet().start().until("warmth.first").degrees(90)
    assert puppet.state.phase is Phase.HOLDING
    began = puppet.state.began_ms
    go_on(puppet, celsius(95))
    assert puppet.state.phase is Phase.HOLDING
    assert puppet.state.began_ms == began
    assert CancelWake("hold:warmth.minute") in puppet.effects
    assert WakeAt(began + 60_000, "hold:warmth.minute") in puppet.effects


def test_only_the_whole_is_read_back() -> None:
    puppet = Puppet().start().until("warmth.first").degrees(90)
    go_on(puppet, celsius(95))
    puppet.ring()
    puppet.degrees(90)
    assert puppet.said.count("phrase:readback") == 2  # the whole first reading and the second


def test_a_step_that_was_judged_on_the_beginning_is_judged_again() -> None:
    puppet = Puppet().start().until("warmth.first").degrees(90).ring().degrees(80)
    assert puppet.asked() == "pour.caution"
    go_on(puppet, celsius(85))
    assert sum(isinstance(event, Judged) for event in puppet.events) == 2
    assert puppet.state.given["warmth.second"].answer == celsius(85)
    assert puppet.asked() == "pour.caution"
    assert puppet.state.done.count("warmth") == 1


def test_of_an_unclear_whole_the_beginning_does_not_stand_either() -> None:
    puppet = Puppet().start().until("warmth.first").degrees(90)
    go_on(puppet, NOT_CLEAR)
    assert puppet.said[-2:] == ["phrase:unclear.went-on", "step:warmth.first"]
    assert puppet.asked() == "warmth.first"
    puppet.degrees(95)
    assert puppet.state.given["warmth.first"].answer == celsius(95)
    assert puppet.state.phase is Phase.HOLDING


def test_what_says_the_same_changes_nothing_and_is_written() -> None:
    puppet = Puppet().start().until("warmth.first").degrees(90)
    before = puppet.state
    go_on(puppet, celsius(90))
    assert puppet.state == before
    assert kinds(puppet.effects) == ["Write"]


def test_an_agreement_that_went_on_unclear_is_none() -> None:
    """ "Yes" ... "no": the caution is said again, and nothing is poured meanwhile."""
    puppet = Puppet().start().until("pour.caution").yes()
    assert puppet.asked() == "pour.poured"
    go_on(puppet, NOT_CLEAR)
    assert puppet.asked() == "pour.caution"
    assert "phrase:unclear.went-on" in prompt_ids(puppet.effects)
    go_on(puppet.yes(), Yes())
    assert puppet.asked() == "pour.poured"


def test_an_answer_before_the_last_is_closed() -> None:
    puppet = Puppet().start().until("warmth.first").degrees(90).ring()
    first = next(e for e in puppet.events if isinstance(e, Heard) and e.question == "warmth.first")
    puppet.degrees(80)
    before = puppet.state
    go_on(puppet, celsius(95), first)
    assert puppet.state == before


def test_to_a_question_that_is_asked_again_the_whole_is_the_answer() -> None:
    puppet = Puppet().start().until("warmth.first").hear(NOT_CLEAR)
    assert puppet.asked() == "warmth.first"
    go_on(puppet, celsius(95))
    assert puppet.state.given["warmth.first"].answer == celsius(95)


def test_while_the_walk_stands_still_nothing_is_reopened() -> None:
    puppet = Puppet().start().until("warmth.first").degrees(90)
    first = heard(puppet)
    puppet.say(Command.WAIT)
    before = puppet.state
    go_on(puppet, celsius(95), first)
    assert puppet.state == before
