"""Contradictions are pointed out and change nothing."""

from __future__ import annotations

from collections.abc import Mapping

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
