"""Readings that contradict each other: pointed out, asked for once more, never changed."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from tests.engine.tea import TEA, Puppet, met
from walkaround.exchange import Judged, Number, Rise, Verdict
from walkaround.procedure.model import Clause, JudgeSpec
from walkaround.quantity import Quantity, Unit


def odd(step: str) -> tuple[Verdict, ...]:
    doubts = ("it warms up by itself",) if step == "warmth" else ()
    return tuple(replace(verdict, doubts=doubts) for verdict in met(step))


def odd_climb(step: str) -> tuple[Verdict, ...]:
    doubts = ("no kettle heats so fast",) if step == "cooling" else ()
    return tuple(replace(verdict, doubts=doubts) for verdict in met(step))


JUDGED_RISE = replace(
    TEA,
    steps=tuple(
        replace(step, judges=(JudgeSpec("pace", (("rise", "cooling.calls"),)),))
        if step.id == "cooling"
        else step
        for step in TEA.steps
    ),
)


def cooled(puppet: Puppet) -> Puppet:
    """Up to where the warmth has been read twice and is judged."""
    return puppet.start().until("warmth.first").degrees(90).ring().degrees(95)


def test_it_is_asked_for_once_more_and_the_second_stands() -> None:
    puppet = cooled(Puppet(judge=odd))
    assert puppet.said[-2:] == ["phrase:doubt", "step:warmth.second"]
    puppet.degrees(85)
    assert puppet.state.given["warmth.second"].answer == Number(Quantity(Decimal(85), Unit.CELSIUS))
    assert "phrase:doubt-kept" in puppet.said  # still odd: told, and not asked a third time
    assert puppet.asked() == "pour.caution"


def test_the_time_of_the_first_reading_is_kept() -> None:
    puppet = cooled(Puppet(judge=odd))
    first = puppet.state.given["warmth.second"].occurred_ms
    puppet.degrees(85)
    assert puppet.state.given["warmth.second"].occurred_ms == first


def test_nothing_odd_asks_nothing() -> None:
    puppet = cooled(Puppet())
    assert "phrase:doubt" not in puppet.said
    assert puppet.asked() == "pour.caution"


def called(puppet: Puppet) -> Puppet:
    return puppet.until("cooling.calls").degrees(40).degrees(60)


def test_a_rise_that_nothing_could_make_is_measured_once_more() -> None:
    """What was called out cannot be said again afterwards: the whole rise is."""
    puppet = called(Puppet(JUDGED_RISE, judge=odd_climb).start())
    assert puppet.said[-3::2] == ["phrase:doubt-timed", "step:cooling.calls"]
    assert "cooling.calls" not in puppet.state.given
    called(puppet)
    rise = puppet.state.given["cooling.calls"].answer
    assert isinstance(rise, Rise)
    assert len(rise.points) == 2  # of the second rise alone; the first is in the journal
    assert (
        sum(isinstance(event, Judged) and event.step == "cooling" for event in puppet.events) == 2
    )
    assert "phrase:doubt-kept" in puppet.said  # still odd: told, and not measured a third time
    assert puppet.asked() == "taste.good"
    assert puppet.state.done.count("cooling") == 1


def test_the_needs_of_the_rise_are_looked_at_again() -> None:
    """What the step left is no beginning for it: the cup is full, and here it must be empty."""
    steps = tuple(
        replace(
            step,
            needs=(Clause((("cup", ("full",)),)), Clause((("kettle", ("boiled",)),))),
            leaves={"kettle": "cold"},
        )
        if step.id == "cooling"
        else step
        for step in JUDGED_RISE.steps
    )
    puppet = called(Puppet(replace(JUDGED_RISE, steps=steps), judge=odd_climb).start())
    assert puppet.asked() == "boil.caution"
    called(puppet)
    assert puppet.asked() == "taste.good"


def test_a_rise_without_doubt_is_measured_once() -> None:
    puppet = called(Puppet(JUDGED_RISE).start())
    assert "phrase:doubt-timed" not in puppet.said
    assert puppet.asked() == "taste.good"
