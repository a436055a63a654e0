"""Readings that contradict each other: pointed out, asked for once more, never changed."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from tests.engine.tea import Puppet, met
from walkaround.exchange import Number, Verdict
from walkaround.quantity import Quantity, Unit


def odd(step: str) -> tuple[Verdict, ...]:
    doubts = ("it warms up by itself",) if step == "warmth" else ()
    return tuple(replace(verdict, doubts=doubts) for verdict in met(step))


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
