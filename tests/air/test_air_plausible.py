"""Contradictions are pointed out and change nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from tests.rules.book_of_rules import the_book
from walkaround.air.plausible import Bounds, doubts
from walkaround.exchange import Given, Held, Mark, NotDone, Number, Pair, Point, Rise, Wanted
from walkaround.procedure.judging import judge_all
from walkaround.procedure.measuring import bounds_of, gauge_facts
from walkaround.quantity import quantity
from walkaround.rules.model import Vehicle

GAUGE = gauge_facts(the_book())
TRUCK = Vehicle("truck", 1, facts={"tank-volume": quantity("3888 in3")})
BOUNDS = bounds_of(the_book(), TRUCK, GAUGE)


def _given(text: str) -> Given:
    parts = [quantity(part) for part in text.split(" | ")]
    return Given("s.a", Pair(*parts) if len(parts) > 1 else Number(parts[0]), 1, 0)


def _inputs(answers: Mapping[str, str]) -> dict[str, Given | None]:
    return {name: _given(text) for name, text in answers.items()}


def _rise(*calls: tuple[int, str]) -> dict[str, Given | None]:
    points = tuple(Point(s * 1000, quantity(text)) for s, text in calls)
    return {"rise": Given("s.rise", Rise(points), 1, 0)}


@pytest.mark.parametrize(
    ("measure", "answers", "said"),
    [
        ("loss-released", {"start": "118 psi | 121 psi", "end": "119.5 psi | 120 psi"},
         "the pressure rose with the engine off: 118 psi, then 119.5 psi"),
        ("loss-applied", {"start": "800 kPa", "end": "820 kPa"},
         "the pressure rose with the engine off: 800 kPa, then 820 kPa"),
        ("reserve", {"before": "90 psi", "after": "95 psi"},
         "the pressure rose with the engine off: 90 psi, then 95 psi"),
        ("governor-band", {"cut_out": "110 psi | 109 psi", "cut_in": "120 psi | 111 psi"},
         "the cut-in 111 psi is not below the cut-out 110 psi"),
        ("cut-out", {"reading": "125 psi | 100 psi"},
         "the two needles are far apart: 125 psi and 100 psi"),
    ],
)  # fmt: skip
def test_a_contradiction_is_said(measure: str, answers: dict[str, str], said: str) -> None:
    assert said in doubts(measure, _inputs(answers), BOUNDS)


@pytest.mark.parametrize(
    ("measure", "answers"),
    [
        ("loss-released", {"start": "118 psi | 121 psi", "end": "119 psi | 120 psi"}),
        ("governor-band", {"cut_out": "125 psi", "cut_in": "100 psi"}),
        ("cut-out", {"reading": "125 psi | 105 psi"}),
        ("cut-out", {"reading": "125 psi"}),
        ("stroke", {"reading": "1.5 in"}),
    ],
)
def test_what_fits_is_not_doubted(measure: str, answers: dict[str, str]) -> None:
    assert doubts(measure, _inputs(answers), BOUNDS) == ()


def test_a_rise_that_no_compressor_gives() -> None:
    """3888 in3 is 63.7 L; 50 to 90 psi less 1 psi is 269 kPa: 169 L of free air at 101.325 kPa,
    in 4 s 2540 L/min, 90 ft3/min. In 40 s it is 9 ft3/min, and nobody wonders."""
    quick = doubts("build-up", _rise((0, "50 psi"), (4, "90 psi")), BOUNDS)
    assert quick == (
        "no compressor fills so fast: 50 psi to 90 psi would take 90 ft3/min of free air",
    )
    assert doubts("build-up", _rise((0, "50 psi"), (40, "90 psi")), BOUNDS) == ()


def test_what_is_not_known_is_not_looked_at() -> None:
    rise = _rise((0, "50 psi"), (1, "90 psi"))
    assert doubts("build-up", rise, Bounds(GAUGE.needle)) == ()
    assert doubts("cut-out", _inputs({"reading": "125 psi | 1 psi"}), Bounds(GAUGE.needle)) == ()


def test_marks_that_run_backward() -> None:
    marks: dict[str, Given | None] = {
        "from_mark": Given("s.f", Mark(), 1, 5000),
        "to_mark": Given("s.t", Mark(), 1, 5000),
    }
    assert doubts("build-up-marks", marks, BOUNDS) == (
        "the second mark does not come after the first",
    )


def test_needles_may_be_as_far_apart_as_the_bound_and_no_farther() -> None:
    """Whichever is higher, whichever answer it is, and whatever else was answered."""
    assert BOUNDS.apart == quantity("20 psi")
    for fits in ("120 psi | 100 psi", "100 psi | 120 psi", "1 in | 90 in"):
        assert doubts("cut-out", _inputs({"reading": fits}), BOUNDS) == ()
    for apart in ("120.5 psi | 100 psi", "100 psi | 120.5 psi"):
        for around in ({}, {"a": "100 psi"}, {"a": "1 in | 2 in"}, {"a": "99 psi | 99 psi"}):
            told = doubts("cut-out", _inputs({**around, "reading": apart}), BOUNDS)
            assert told == (f"the two needles are far apart: {apart.replace(' |', ' and')}",)


def test_only_a_rise_of_more_than_two_steps_of_the_needle_is_one() -> None:
    assert quantity("0.5 psi") == GAUGE.needle
    low = {"start": "100 psi | 100 psi"}
    assert doubts("loss-released", _inputs({**low, "end": "101 psi | 101 psi"}), BOUNDS) == ()
    for end, told in (("101.1 psi | 100 psi", "101.1"), ("100 psi | 101.1 psi", "101.1")):
        said = doubts("loss-released", _inputs({**low, "end": end}), BOUNDS)
        assert said == (f"the pressure rose with the engine off: 100 psi, then {told} psi",)
    assert doubts("reserve@trailer", _inputs({"before": "90 psi", "after": "95 psi"}), BOUNDS)


def test_a_cut_in_at_the_cut_out_is_not_below_it() -> None:
    same = _inputs({"cut_out": "120 psi | 118 psi", "cut_in": "125 psi | 120 psi"})
    assert doubts("governor-band", same, BOUNDS) == (
        "the cut-in 120 psi is not below the cut-out 120 psi",
    )
    below = _inputs({"cut_out": "120 psi | 118 psi", "cut_in": "125 psi | 119.5 psi"})
    assert doubts("governor-band", below, BOUNDS) == ()


def test_two_things_may_be_wrong_at_once() -> None:
    both = _inputs({"start": "118 psi | 90 psi", "end": "121 psi | 90 psi"})
    assert doubts("loss-applied", both, BOUNDS) == (
        "the two needles are far apart: 118 psi and 90 psi",
        "the pressure rose with the engine off: 118 psi, then 121 psi",
    )


LIMIT = Bounds(
    quantity("0.5 psi"), None, quantity("10 ft3/min"), quantity("1 ft3"), quantity("14 psi")
)
"""q = V (climb - 1 psi) / (T 14 psi): 15 psi in 6 s is 1 ft3 * 1 / 0.1 min = 10 ft3/min."""


def test_any_one_stretch_of_a_rise_may_be_too_quick() -> None:
    assert doubts("build-up", _rise((0, "50 psi"), (6, "65 psi")), LIMIT) == ()
    told = "no compressor fills so fast: 50 psi to 65.1 psi would take 10 ft3/min of free air"
    assert doubts("build-up", _rise((0, "50 psi"), (6, "65.1 psi")), LIMIT) == (told,)
    slow_then_quick = _rise((0, "40 psi"), (600, "50 psi"), (606, "65.1 psi"), (999, "66 psi"))
    assert doubts("build-up", slow_then_quick, LIMIT) == (told,)
    falling_then_quick = _rise((0, "70 psi"), (1, "50 psi"), (7, "65.1 psi"))
    assert doubts("build-up", falling_then_quick, LIMIT) == (told,)
    other_then_quick = _rise(
        (0, "1 in"), (1, "50 psi"), (2, "1 in"), (3, "50 psi"), (9, "65.1 psi")
    )
    assert doubts("build-up", other_then_quick, LIMIT) == (told,)
    assert doubts("build-up", _rise((0, "50 psi"), (0, "51 psi")), LIMIT) == ()
    at_once = doubts("build-up", _rise((0, "50 psi"), (0, "52 psi")), LIMIT)
    assert at_once == (  # a thousandth of a second, the least there is: 1/14 ft3 in 1 ms
        "no compressor fills so fast: 50 psi to 52 psi would take 4286 ft3/min of free air",
    )


@pytest.mark.parametrize("missing", ["flow", "volume", "atmosphere"])
def test_a_rise_is_not_looked_at_without_every_bound(missing: str) -> None:
    quick = _rise((0, "50 psi"), (1, "90 psi"))
    assert doubts("build-up", quick, LIMIT)
    without: Any = {missing: None}
    assert doubts("build-up", quick, replace(LIMIT, **without)) == ()


def test_marks_a_thousandth_of_a_second_apart_run_forward() -> None:
    def marks(first_ms: int, last_ms: int, sitting: int = 1) -> dict[str, Given | None]:
        return {
            "from_mark": Given("s.f", Mark(), 1, first_ms),
            "to_mark": Given("s.t", Mark(), sitting, last_ms),
        }

    for measure in ("build-up-marks", "recovery"):
        assert doubts(measure, marks(5000, 5001), BOUNDS) == ()
        assert doubts(measure, marks(5001, 5000), BOUNDS)
        assert doubts(measure, marks(5001, 5000, sitting=2), BOUNDS) == ()  # nothing to compare


def test_missing_answers_contradict_nothing() -> None:
    inputs: dict[str, Given | None] = {"start": None, "end": Given("s.e", NotDone("x"), 1, 0)}
    for measure in ("loss-released", "reserve", "governor-band", "build-up", "build-up-marks"):
        assert doubts(measure, inputs, BOUNDS) == ()


def test_a_doubt_stands_beside_the_verdict_and_changes_nothing() -> None:
    answers = {**_inputs({"start": "118 psi | 90 psi", "end": "117 psi | 89 psi"})}
    answers["hold"] = Given("s.hold", Held(0, 60000), 1, 0)
    book = the_book()
    wanted = [Wanted("loss-released", tuple(answers.items()))]
    verdicts = judge_all(wanted, book, ["US-OH"], TRUCK, GAUGE)
    assert {v.outcome.value for v in verdicts if v.rule == "us-federal.loss-released-single"} == {
        "met"
    }
    assert {v.doubts for v in verdicts} == {("the two needles are far apart: 118 psi and 90 psi",)}
