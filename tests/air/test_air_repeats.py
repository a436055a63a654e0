"""Repeats: the mean of all, none dropped, the same on both sides; what they share stays."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.rules.book_of_rules import the_book
from walkaround.air.measured import Measured
from walkaround.air.measures import form
from walkaround.exchange import Answer, Given, Held, Mark, No, Number, Yes
from walkaround.procedure.measuring import gauge_facts
from walkaround.quantity import Quantity, quantity

GAUGE = gauge_facts(the_book())


def _inputs(**answers: Answer) -> dict[str, Given | None]:
    return {
        name.replace("_no_", "#"): Given(f"s.{name}", answer, 1, 0)
        for name, answer in answers.items()
    }


def _levels(*readings: str) -> dict[str, Given | None]:
    names = ["reading", *(f"reading#{n}" for n in range(2, len(readings) + 1))]
    return {
        name: Given("s.reading", Number(quantity(text)), 1, 0)
        for name, text in zip(names, readings, strict=True)
    }


def _value(measured: Measured) -> Quantity:
    assert isinstance(measured.value, Quantity)
    return measured.value


def test_three_readings_are_judged_by_their_mean_and_all_are_named() -> None:
    measured = form("warning-on", _levels("58 psi", "61 psi", "60.5 psi"), {}, GAUGE)
    assert abs(_value(measured).value - Decimal("179.5") / 3) < Decimal("1e-24")
    assert measured.why == "mean of 3: 58 psi, 61 psi, 60.5 psi"


def test_one_far_off_is_kept() -> None:
    measured = form("warning-on", _levels("60 psi", "60 psi", "20 psi", "60 psi"), {}, GAUGE)
    assert _value(measured) == quantity("50 psi")


def test_readings_in_two_units_are_averaged_by_size() -> None:
    measured = form("warning-on", _levels("400 kPa", "4.2 bar"), {}, GAUGE)
    assert _value(measured) == quantity("410 kPa")


@pytest.mark.parametrize("count", [1, 2, 4, 9])
def test_what_is_not_shared_shrinks_with_the_square_root(count: int) -> None:
    """JCGM 100:2008, 4.2.3: the variance of a mean of n is a nth of one reading's."""
    own = 2 * 0.5 / math.sqrt(12)
    measured = form("warning-on", _levels(*["60 psi"] * count), {}, GAUGE)
    assert measured.uncertainty is not None
    assert float(measured.uncertainty.value) == pytest.approx(own / math.sqrt(count), rel=0.05)


def test_the_gauges_own_error_does_not_average_away() -> None:
    rough = replace(GAUGE, accuracy=quantity("3 psi"))
    measured = form("warning-on", _levels(*["60 psi"] * 9), {}, rough)
    assert measured.shared == quantity("3.5 psi")  # 2 · 3/√3
    assert measured.uncertainty == quantity("3.5 psi")


def test_a_repeated_hold_takes_its_own_readings_and_the_one_before() -> None:
    inputs = _inputs(
        before=Number(quantity("120 psi")),
        start=Number(quantity("118 psi")), hold=Held(0, 60000), end=Number(quantity("117 psi")),
        start_no_2=Number(quantity("116 psi")), hold_no_2=Held(0, 60000),
        end_no_2=Number(quantity("114 psi")),
    )  # fmt: skip
    excluded = form("loss-applied", inputs, {"settling": "excluded"}, GAUGE)
    assert excluded.value == quantity("1.5 psi/min")
    silent = form("loss-applied", inputs, {"settling": "not said"}, GAUGE)
    assert silent.other == quantity("4.5 psi/min")  # (120 - 117 + 120 - 114) / 2


def test_a_repeat_that_could_not_be_formed_leaves_the_whole_open() -> None:
    inputs = _inputs(
        start=Number(quantity("118 psi")), hold=Held(0, 60000), end=Number(quantity("117 psi")),
        start_no_2=Number(quantity("116 psi")), hold_no_2=Held(0, 60000, gap=True),
        end_no_2=Number(quantity("114 psi")),
    )  # fmt: skip
    measured = form("loss-released", inputs, {}, GAUGE)
    assert measured.value is None
    assert measured.why.startswith("measurement 2 of 2: sound was lost")


def test_marks_are_repeated_too() -> None:
    def at(ms: int) -> Given:
        return Given("s.m", Mark(), 1, ms)

    inputs: dict[str, Given | None] = {
        "from_mark": at(0), "to_mark": at(44000), "from_mark#2": at(90000), "to_mark#2": at(136000),
    }  # fmt: skip
    measured = form("build-up-marks", inputs, {"from": "85 psi", "to": "100 psi"}, GAUGE)
    assert measured.value == quantity("45 s")


def test_words_must_agree() -> None:
    same = form("works-door", _inputs(answer=Yes(), answer_no_2=Yes()), {}, GAUGE)
    assert same.value == "yes"
    other = form("works-door", _inputs(answer=Yes(), answer_no_2=No()), {}, GAUGE)
    assert (other.value, other.why) == (None, "the answers differ: yes, no")


@settings(max_examples=60, deadline=None)
@given(st.lists(st.decimals(50, 70, places=1), min_size=2, max_size=6), st.randoms())
def test_the_combination_is_symmetric_and_knows_no_order(
    values: list[Decimal], draw: random.Random
) -> None:
    """Mirrored at a limit, every reading, the mean is mirrored too; order changes nothing."""
    edge = Decimal(60)
    mean = _value(form("warning-on", _levels(*(f"{v} psi" for v in values)), {}, GAUGE))
    mirrored = [f"{2 * edge - v} psi" for v in values]
    mirror = _value(form("warning-on", _levels(*mirrored), {}, GAUGE))
    assert abs(mean.value + mirror.value - 2 * edge) < Decimal("1e-20")
    draw.shuffle(values)
    again = _value(form("warning-on", _levels(*(f"{v} psi" for v in values)), {}, GAUGE))
    assert abs(Fraction(again.value) - Fraction(mean.value)) < Fraction(1, 10**20)


def test_the_stated_uncertainty_covers_the_mean_of_four() -> None:
    """Whole acts repeated, each read within ± a quarter psi: U covers about 95 % of means."""
    draw = random.Random(1)
    inside = 0
    for _ in range(300):
        readings = [f"{60 + draw.uniform(-0.25, 0.25):.4f} psi" for _ in range(4)]
        measured = form("warning-on", _levels(*readings), {}, GAUGE)
        assert measured.uncertainty is not None
        inside += abs(_value(measured).value - 60) <= measured.uncertainty.value
    assert 0.90 * 300 <= inside <= 0.99 * 300
