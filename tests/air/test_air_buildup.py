"""Build-up from called-out rises and marks: exact times, honest uncertainty, named outliers."""

from __future__ import annotations

import math
import random
import statistics
from collections.abc import Sequence
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.rules.book_of_rules import the_book
from walkaround.air.measured import GaugeFacts, Measured
from walkaround.air.measures import form
from walkaround.exchange import Answer, Given, Mark, NotDone, Point, Rise
from walkaround.procedure.measuring import gauge_facts
from walkaround.quantity import Quantity, Unit, quantity

ONTARIO = {"from": "85 psi / 587 kPa", "to": "100 psi / 690 kPa"}
GAUGE = gauge_facts(the_book())


def _given(answer: Answer, at_ms: int = 0, sitting: int = 1) -> Given:
    return Given("build-up.rise", answer, sitting, at_ms)


def _rise(*calls: tuple[float, str], gap: bool = False) -> dict[str, Given | None]:
    points = tuple(Point(round(s * 1000), quantity(value)) for s, value in calls)
    return {"rise": _given(Rise(points, gap=gap))}


def _time(inputs: dict[str, Given | None], gauge: GaugeFacts = GAUGE) -> Measured:
    return form("build-up", inputs, ONTARIO, gauge)


def _psi(calls: Sequence[tuple[float, float]]) -> dict[str, Given | None]:
    return _rise(*((s, f"{p} psi") for s, p in calls))


def test_two_calls_at_the_edges_give_the_very_difference() -> None:
    measured = _time(_rise((40, "85 psi"), (160, "100 psi")))
    assert measured.value == Quantity(Decimal(120), Unit.SECOND)
    assert measured.why == ""


def test_a_straight_rise_is_read_off_between_its_calls() -> None:
    """3 s a psi: 85 to 100 is 45 s, though neither was called."""
    measured = _time(_psi([(p * 3, p) for p in (70, 76, 82, 88, 94, 103)]))
    assert measured.value == Quantity(Decimal(45), Unit.SECOND)


def test_half_a_psi_is_about_a_second_on_a_45_s_build_up() -> None:
    """u = s/√12 at each end through 3 s a psi: 2 √2 · 3 · 0.5/√12 = 1.22 s, and 0.10 s by hand."""
    measured = _time(_rise((0, "85 psi"), (45, "100 psi")))
    assert measured.uncertainty is not None
    expected = 2 * math.hypot(math.sqrt(2) * 3 * 0.5 / math.sqrt(12), 0.10)
    assert float(measured.uncertainty.value) == pytest.approx(expected, rel=0.05)
    assert measured.uncertainty.unit is Unit.SECOND


def test_more_calls_say_it_more_surely() -> None:
    few = _time(_psi([(p * 3, p) for p in (85, 100)])).uncertainty
    many = _time(_psi([(p * 3, p) for p in range(85, 101)])).uncertainty
    assert few is not None
    assert many is not None
    assert many.value < few.value


def test_the_uncertainty_is_what_repeats_scatter_by() -> None:
    """A mark is called when the needle seems to be on it, within ± a quarter psi, and by a
    person (0.10 s an interval): U = 2 u covers about 95 % of repeats."""
    draw = random.Random(4)
    times, stated = [], []
    for _ in range(400):
        calls = [
            (3 * (p + draw.uniform(-0.25, 0.25)) + draw.gauss(0, 0.10 / math.sqrt(2)), p)
            for p in (80, 85, 90, 95, 100, 105)
        ]
        measured = _time(_psi(calls))
        assert isinstance(measured.value, Quantity)
        assert measured.uncertainty is not None
        times.append(float(measured.value.value))
        stated.append(float(measured.uncertainty.value))
    assert statistics.mean(times) == pytest.approx(45, abs=0.1)
    inside = sum(abs(t - 45) <= u for t, u in zip(times, stated, strict=True))
    assert 0.92 * len(times) <= inside <= 0.99 * len(times)


def test_a_value_that_does_not_climb_is_left_out_and_named() -> None:
    measured = _time(_psi([(240, 80), (255, 85), (270, 19), (285, 95), (300, 100)]))
    assert measured.value == Quantity(Decimal(45), Unit.SECOND)
    assert measured.why == "left out 19 psi, which does not fit"


def test_a_value_misheard_upward_is_the_one_left_out() -> None:
    measured = _time(_psi([(240, 80), (255, 85), (270, 190), (285, 95), (300, 100)]))
    assert measured.value == Quantity(Decimal(45), Unit.SECOND)
    assert "190 psi" in measured.why


def test_a_climbing_value_far_off_the_line_is_left_out_and_named() -> None:
    calls = [(255, 85), (264, 88), (270, 94.5), (285, 95), (300, 100)]
    measured = _time(_psi(calls))
    assert measured.value == Quantity(Decimal(45), Unit.SECOND)
    assert "94.5 psi" in measured.why


def test_a_bent_rise_is_said_and_read_between_the_calls() -> None:
    """A leak that grows with pressure: the pace slows from 1 to 6 s a psi."""
    calls = [(0, 80), (5, 85), (10, 88), (25, 92), (50, 96), (74, 100), (120, 105)]
    measured = _time(_psi(calls))
    assert measured.value == Quantity(Decimal(69), Unit.SECOND)
    assert measured.why.startswith("the rise bends")


def test_the_window_printed_in_the_gauges_unit_is_the_one_used() -> None:
    """Ontario prints 587 to 690 kPa beside 85 to 100 psi; the first is 85.14 psi."""
    measured = _time(_rise((0, "587 kPa"), (103, "690 kPa")))
    assert measured.value == Quantity(Decimal(103), Unit.SECOND)


@pytest.mark.parametrize(
    ("inputs", "said"),
    [
        (_rise((0, "86 psi"), (30, "100 psi")), "do not reach across the window"),
        (_rise((0, "80 psi"), (30, "99 psi")), "do not reach across the window"),
        (_rise((0, "85 psi"), (30, "100 psi"), gap=True), "sound was lost"),
        (_rise((0, "85 s"), (30, "100 psi")), "not a pressure"),
        (_rise(), "nothing was called out"),
        ({"rise": None}, "'rise' was not answered"),
        ({"rise": _given(NotDone("no helper"))}, "'rise' was not done: no helper"),
        ({"rise": _given(Mark())}, "'rise' is mark, not a called-out rise"),
    ],
)
def test_what_cannot_be_timed_is_undetermined(inputs: dict[str, Given | None], said: str) -> None:
    measured = _time(inputs)
    assert measured.value is None
    assert said in measured.why


def test_marks_in_two_sittings_are_not_subtracted() -> None:
    inputs = {"from_mark": _given(Mark(), 1000), "to_mark": _given(Mark(), 46000, sitting=2)}
    measured = form("build-up-marks", inputs, ONTARIO, GAUGE)
    assert measured.value is None
    assert "interrupted" in measured.why


def test_marks_are_subtracted_to_the_millisecond() -> None:
    inputs = {"from_mark": _given(Mark(), 1003), "to_mark": _given(Mark(), 46008)}
    measured = form("build-up-marks", inputs, ONTARIO, GAUGE)
    assert measured.value == Quantity(Decimal("45.005"), Unit.SECOND)


@settings(max_examples=100, deadline=None)
@given(
    start_s=st.integers(0, 1000),
    pace_ms=st.integers(500, 20000),
    factor=st.sampled_from((("kPa", 1), ("bar", 100), ("Pa", Decimal("0.001")))),
)
def test_the_time_does_not_depend_on_the_unit_or_on_the_clock(
    start_s: int, pace_ms: int, factor: tuple[str, Decimal | int]
) -> None:
    unit, size = factor
    window = {"from": "587 kPa", "to": "690 kPa"}
    points = tuple(
        Point(start_s * 1000 + (kpa - 570) * pace_ms, quantity(f"{Decimal(kpa) / size:f} {unit}"))
        for kpa in (570, 600, 650, 700)
    )
    measured = form("build-up", {"rise": _given(Rise(points))}, window, GAUGE)
    assert measured.value == Quantity(Decimal(103 * pace_ms) / 1000, Unit.SECOND)
