"""Every reason for which a measure stays open, to the letter, and every uncertainty by hand.

Written against small changes of the code that no other test noticed (tests/mutation).
The expected uncertainties are the formulas of JCGM 100:2008 4.3.7 and 5.1.2 put in numbers here,
with a gauge whose steps are round: needle 1 psi, own error 3 psi, timing 0.2 s.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal

import pytest

from walkaround.air.measured import GaugeFacts, Measured
from walkaround.air.measures import form
from walkaround.exchange import (
    Answer,
    Given,
    Held,
    Mark,
    No,
    NotDone,
    Number,
    Pair,
    Point,
    Rise,
    Yes,
)
from walkaround.quantity import Quantity, Unit, quantity

GAUGE = GaugeFacts(
    needle=quantity("1 psi"),
    timing=quantity("0.2 s"),
    accuracy=quantity("3 psi"),
    length=quantity("0.125 in"),
    temperature=quantity("4 °C"),
)
WINDOW = {"from": "85 psi / 587 kPa", "to": "100 psi / 690 kPa"}
NEEDLE = 1 / math.sqrt(12)  # psi, of one reading
LENGTH = 0.125 / math.sqrt(12)  # in

Told = Answer | str | tuple[Answer | str, int, int]
"""An answer; as a tuple with when it was given (ms) and in which sitting."""


def _read(text: str) -> Answer:
    parts = [quantity(part) for part in text.split(" | ")]
    return Pair(*parts) if len(parts) > 1 else Number(parts[0])


def _given(name: str, told: Told) -> Given:
    answer, at_ms, sitting = told if isinstance(told, tuple) else (told, 0, 1)
    return Given(f"s.{name}", _read(answer) if isinstance(answer, str) else answer, sitting, at_ms)


def _form(measure: str, procedure: Mapping[str, str], told: Mapping[str, Told]) -> Measured:
    return form(
        measure, {name: _given(name, each) for name, each in told.items()}, procedure, GAUGE
    )


def _calls(*calls: tuple[float, str]) -> Rise:
    return Rise(tuple(Point(round(s * 1000), quantity(value)) for s, value in calls))


def _mark(seconds: float, sitting: int = 1) -> Told:
    return (Mark(), round(seconds * 1000), sitting)


MINUTE = Held(0, 60_000)
ODD = "is yes, not"

REASONS: tuple[tuple[str, Mapping[str, str], Mapping[str, Told], str], ...] = (
    ("no-such-thing", {}, {}, "there is no measure called 'no-such-thing'"),
    # what is missing or of another kind
    ("cut-out", {}, {}, "'reading' was not answered"),
    ("cut-out", {}, {"reading": NotDone("no gauge")}, "'reading' was not done: no gauge"),
    ("cut-out", {}, {"reading": Yes()}, f"'reading' {ODD} a reading"),
    ("cut-out", {}, {"reading": "2 in"}, "'reading' is not a pressure"),
    ("stroke", {}, {"reading": "2 psi"}, "'reading' is not a length"),
    ("belt-slack", {}, {"deflection": "2 psi"}, "'deflection' is not a length"),
    ("discharge-temperature", {}, {"reading": "2 psi"}, "'reading' is not a temperature"),
    ("build-up", WINDOW, {"rise": Yes()}, f"'rise' {ODD} a called-out rise"),
    ("build-up-marks", WINDOW, {"from_mark": Yes()}, f"'from_mark' {ODD} a mark"),
    ("recovery", {}, {"from_mark": _mark(1), "to_mark": No()}, "'to_mark' is no, not a mark"),
    ("loss-released", {}, {"hold": Yes()}, f"'hold' {ODD} a timed hold"),
    ("works-door", {}, {"answer": "2 psi"}, "'answer' is number, not an answer in words"),
    # rises
    ("build-up", WINDOW, {"rise": _calls()}, "nothing was called out"),
    ("build-up", WINDOW, {"rise": _calls((0, "85 psi"), (9, "2 in"))},
     "something called out was not a pressure"),
    ("build-up", WINDOW, {"rise": Rise((Point(0, quantity("85 psi")),), gap=True)},
     "sound was lost during the rise: measure again"),
    ("build-up", WINDOW, {"rise": _calls((0, "86 psi"), (9, "90 psi"), (20, "101 psi"))},
     "the values called out do not reach across the window"),
    ("build-up", WINDOW, {"rise": _calls((0, "80 psi"), (9, "90 psi"), (20, "99 psi"))},
     "the values called out do not reach across the window"),
    ("build-up", WINDOW, {"rise": _calls((0, "84 psi"), (20, "100 psi"))},
     "too few of the values called out were understood"),
    ("build-up", WINDOW, {"rise": _calls((0, "85 psi"), (20, "101 psi"))},
     "too few of the values called out were understood"),
    ("build-up", {"from": "85 psi"}, {"rise": _calls((0, "85 psi"), (9, "100 psi"))},
     "the rule names no pressure for 'to': it says nothing"),
    ("build-up", {"from": "warning off", "to": "100 psi"}, {"rise": _calls((0, "85 psi"))},
     "the rule names no pressure for 'from': it says 'warning off'"),
    # marks
    *((measure, WINDOW, {"from_mark": _mark(first), "to_mark": _mark(last)},
       "the second mark does not come after the first")
      for measure in ("build-up-marks", "recovery") for first, last in ((9, 9), (9, 8))),
    *((measure, WINDOW, {"from_mark": _mark(1), "to_mark": _mark(9, sitting=2)},
       "the walk was interrupted in between: measure again")
      for measure in ("build-up-marks", "recovery")),
    # two levels
    ("governor-band", {}, {"cut_out": "120 psi", "cut_in": "120 psi"},
     "the cut-in was not below the cut-out: read them again"),
    ("reserve", {}, {"before": "100 psi | 101 psi", "after": "90 psi"},
     "one reading has two gauges and the other has one"),
    ("reserve", {}, {"before": "0 psi", "after": "0 psi"},
     "there was no pressure before the application"),
    ("reserve", {}, {"before": "100 psi", "after": "101 psi"},
     "the pressure rose with the engine off: read it again"),
    ("reserve", {}, {"before": ("100 psi", 0, 1), "after": ("90 psi", 0, 2)},
     "the walk was interrupted in between: measure again"),
    # losses
    ("loss-released", {}, {"start": "90 psi", "hold": Held(0, 60_000, gap=True), "end": "89 psi"},
     "sound was lost during the hold: measure again"),
    ("loss-released", {"hold_s": "60"},
     {"start": "90 psi", "hold": Held(0, 59_999), "end": "89 psi"},
     "the hold lasted 59 s, which is too short for this rule"),
    ("loss-released", {}, {"start": "90 psi", "hold": Held(0, 999), "end": "89 psi"},
     "the hold lasted 0 s, which is too short for this rule"),
    ("loss-released", {}, {"start": "90 psi | 90 psi", "hold": MINUTE, "end": "89 psi"},
     "one reading has two gauges and the other has one"),
    ("loss-released", {}, {"start": "90 psi | 90 psi", "hold": MINUTE, "end": "89 psi | 92.1 psi"},
     "the pressure rose with the engine off: read it again"),
    ("loss-released", {},
     {"start": ("90 psi", 0, 1), "hold": (MINUTE, 0, 1), "end": ("89 psi", 0, 2)},
     "the walk was interrupted in between: measure again"),
    ("loss-released", {},
     {"start": ("90 psi", 0, 2), "hold": (MINUTE, 0, 1), "end": ("89 psi", 0, 1)},
     "the walk was interrupted in between: measure again"),
    ("loss-released", {},
     {"start": ("90 psi", 0, 1), "hold": (MINUTE, 0, 2), "end": ("89 psi", 0, 1)},
     "the walk was interrupted in between: measure again"),
    ("loss-applied", {"settling": "included"},
     {"start": "90 psi", "hold": MINUTE, "end": "89 psi", "before": "89.5 psi"},
     "the system was filled between the reading before and the pedal"),
    ("loss-applied", {"settling": "included"}, {"start": ("90 psi", 0, 2), "hold": (MINUTE, 0, 2),
     "end": ("89 psi", 0, 2), "before": ("95 psi", 0, 1)},
     "the walk was interrupted in between: measure again"),
)  # fmt: skip


@pytest.mark.parametrize("number", range(len(REASONS)))
def test_the_reason_is_given_to_the_letter(number: int) -> None:
    measure, procedure, told, why = REASONS[number]
    assert _form(measure, procedure, told) == Measured(None, why=why)


def _u(psi: float) -> float:
    return 2 * psi


STEADY = tuple((3.0 * psi, f"{psi} psi") for psi in (85, 90, 95, 100))
"""3 s a psi: called at the edges and between."""
SPREAD = sum((psi - 92.5) ** 2 for psi in (85, 90, 95, 100))
IN_JERKS = ((0, "85 psi"), (9, "90 psi"), (80, "92 psi"), (81, "97 psi"), (160, "100 psi"))
"""On no law at all: the window is read off between the calls."""

SIZES: tuple[tuple[str, Mapping[str, str], Mapping[str, Told], str, float | None], ...] = (
    # a level: one needle, and the gauge's own error / sqrt 3
    ("cut-out", {}, {"reading": "120 psi | 121 psi"}, "121 psi", _u(math.hypot(NEEDLE, 3**0.5))),
    ("cut-in", {}, {"reading": "101 psi | 100 psi"}, "100 psi", _u(math.hypot(NEEDLE, 3**0.5))),
    ("cut-in", {"gauge": "higher"}, {"reading": "101 psi | 100 psi"}, "101 psi",
     _u(math.hypot(NEEDLE, 3**0.5))),
    ("stroke-pressure", {"from": "90 psi", "to": "100 psi"}, {"reading": "91 psi | 97 psi"},
     "91 psi", _u(math.hypot(NEEDLE, 3**0.5))),
    ("stroke-pressure", {"from": "90 psi", "to": "100 psi"}, {"reading": "96 psi"},
     "96 psi", _u(math.hypot(NEEDLE, 3**0.5))),
    ("stroke-pressure", {"from": "90 psi / 600 kPa", "to": "100 psi / 700 kPa"},
     {"reading": "630 kPa | 660 kPa"}, "630 kPa", _u(math.hypot(NEEDLE, 3**0.5)) * 6.8948),
    # a difference on one gauge: its offset cancels, its gain (3 psi at the level) does not
    ("governor-band", {}, {"cut_out": "120 psi", "cut_in": "100 psi"}, "20 psi",
     _u(math.hypot(NEEDLE * 2**0.5, 20 * 3 / 120 / 3**0.5))),
    # a share on one gauge: its gain cancels, its offset does not
    ("reserve", {}, {"before": "100 psi", "after": "90 psi"}, "10 %",
     _u(math.hypot(100 / 100 * 2**0.5 * NEEDLE, 10 * 3 / 100 / 3**0.5))),
    ("reserve", {}, {"before": "80 psi | 100 psi", "after": "72 psi | 95 psi"}, "10 %",
     _u(math.hypot(100 / 80 * 2**0.5 * NEEDLE, 10 * 3 / 80 / 3**0.5))),
    ("reserve", {"value": "remaining"}, {"before": "100 psi", "after": "90 psi"}, "90 %",
     _u(math.hypot(2**0.5 * NEEDLE, 10 * 3 / 100 / 3**0.5))),
    ("reserve", {}, {"before": "0.0001 psi", "after": "0.0001 psi"}, "0 %", None),
    ("loss-released", {}, {"start": "90 psi", "hold": MINUTE, "end": "88 psi"}, "2 psi/min",
     _u(2**0.5 * NEEDLE)),
    ("loss-released", {}, {"start": "90 psi", "hold": Held(0, 120_000), "end": "88 psi"},
     "1 psi/min", _u(2**0.5 * NEEDLE / 2)),
    ("loss-released", {}, {"start": "90 psi", "hold": Held(0, 1_000), "end": "90 psi"},
     "0 psi/min", _u(2**0.5 * NEEDLE * 60)),
    # read long after the tone: the needle had gone on falling
    ("loss-released", {}, {"start": "90 psi", "hold": MINUTE, "end": ("88 psi", 120_000, 1)},
     "1 psi/min", _u(2**0.5 * NEEDLE / 2)),
    ("loss-released", {}, {"start": "90 psi", "hold": MINUTE, "end": ("88 psi", 90_000, 1)},
     "2 psi/min", _u(2**0.5 * NEEDLE)),
    # lengths and temperatures: a step, once or twice
    ("stroke", {}, {"reading": "1.5 in"}, "1.5 in", _u(2**0.5 * LENGTH)),
    ("belt-slack", {}, {"deflection": "0.5 in"}, "0.5 in", _u(LENGTH)),
    ("discharge-temperature", {}, {"reading": "200 °C"}, "200 °C", _u(4 / math.sqrt(12))),
    # times
    # and the gain of a gauge that is off by 3 psi at the window's end: T · 3/100, / sqrt 3
    ("build-up-marks", WINDOW, {"from_mark": _mark(5), "to_mark": _mark(50)}, "45 s",
     _u(math.hypot(2**0.5 * 3 * NEEDLE, 0.2, 45 * 0.03 / 3**0.5))),
    ("build-up-marks", WINDOW, {"from_mark": _mark(5), "to_mark": _mark(5.5)}, "0.5 s",
     _u(math.hypot(2**0.5 * 0.5 / 15 * NEEDLE, 0.2, 0.5 * 0.03 / 3**0.5))),
    ("build-up", WINDOW, {"rise": _calls(*STEADY)}, "45 s",
     _u(math.hypot(math.sqrt(15**2 / SPREAD * ((3 * NEEDLE) ** 2 + 0.2**2 / 2)),
                   45 * 0.03 / 3**0.5))),
    ("build-up", WINDOW, {"rise": _calls(*IN_JERKS)}, "160 s",
     _u(math.hypot(math.hypot(9 / 5, 79 / 3) * NEEDLE, 0.2, 160 * 0.03 / 3**0.5))),
    ("recovery", {}, {"from_mark": _mark(5), "to_mark": _mark(50)}, "45 s", _u(0.2)),
    ("recovery", {}, {"from_mark": _mark(5), "to_mark": _mark(5.5)}, "0.5 s", _u(0.2)),
)  # fmt: skip


@pytest.mark.parametrize("number", range(len(SIZES)))
def test_the_uncertainty_is_the_formula(number: int) -> None:
    measure, procedure, told, value, size = SIZES[number]
    measured = _form(measure, procedure, told)
    assert measured.value == quantity(value), measured
    if size is None:
        return
    assert measured.uncertainty is not None
    assert measured.uncertainty.unit is quantity(value).unit
    expected = Decimal(f"{size:.1e}")
    last_digit = Decimal(1).scaleb(expected.adjusted() - 1)
    assert abs(measured.uncertainty.value - expected) <= last_digit, (measured, size)


def test_what_settles_is_counted_as_the_text_says() -> None:
    told: dict[str, Told] = {"before": "95 psi", "start": "90 psi", "hold": MINUTE, "end": "88 psi"}
    silent = _form("loss-applied", {"settling": "not said"}, told)
    assert silent.value == quantity("2 psi/min")
    assert silent.other == quantity("7 psi/min")
    assert silent.why == "7 psi/min with the first fall counted in"
    assert silent.uncertainty == _form("loss-applied", {}, told).uncertainty
    assert _form("loss-applied", {"settling": "included"}, told).value == quantity("7 psi/min")
    # No text is the same as "not said"; where the fall is excluded no reading before is needed.
    assert _form("loss-applied", {}, told) == silent
    bare = {name: each for name, each in told.items() if name != "before"}
    assert _form("loss-applied", {}, bare).why == "'before' was not answered"
    excluded = _form("loss-applied", {"settling": "excluded"}, bare)
    assert (excluded.value, excluded.other) == (quantity("2 psi/min"), None)


def test_before_may_be_the_reading_at_the_pedal() -> None:
    """Equal readings are no filling: only a lower one before is."""
    told: dict[str, Told] = {"before": "90 psi", "start": "90 psi", "hold": MINUTE, "end": "88 psi"}
    assert _form("loss-applied", {"settling": "included"}, told).value == quantity("2 psi/min")


# ---------------------------------------------------------------- rises, point by point


def test_a_call_that_does_not_climb_is_left_out_and_named() -> None:
    calls = [*((3.0 * p, f"{p} psi") for p in (85, 90, 95, 100)), (280, "91 psi"), (271, "80 psi")]
    measured = _form("build-up", WINDOW, {"rise": _calls(*calls)})
    assert measured.value == quantity("45 s")
    assert measured.why == (
        "left out 80 psi, which does not fit; left out 91 psi, which does not fit"
    )


def test_two_calls_at_one_moment_or_of_one_value_do_not_climb() -> None:
    at_once = _calls((255, "85 psi"), (270, "90 psi"), (270, "91 psi"), (300, "100 psi"))
    same = _calls((255, "85 psi"), (270, "90 psi"), (271, "90 psi"), (300, "100 psi"))
    for rise in (at_once, same):
        measured = _form("build-up", WINDOW, {"rise": rise})
        assert measured.value == quantity("45 s")
        assert measured.why.startswith("left out 9")


def test_calls_outside_the_window_do_not_bend_it() -> None:
    """Slow below and above: only what lies across the window is fitted."""
    steady = ((100 + 3.0 * p, f"{p} psi") for p in (85, 90, 95, 100))
    calls = [(0, "60 psi"), (100, "70 psi"), *steady, (900, "101 psi"), (1900, "102 psi")]
    measured = _form("build-up", WINDOW, {"rise": _calls(*calls)})
    assert (measured.value, measured.why) == (quantity("45 s"), "")


def test_the_window_is_the_one_printed_in_the_unit_called() -> None:
    calls = [(float(kpa), f"{kpa} kPa") for kpa in (587, 620, 650, 690)]
    assert _form("build-up", WINDOW, {"rise": _calls(*calls)}).value == quantity("103 s")
    assert isinstance(quantity("103 s"), Quantity)
    assert quantity("103 s").unit is Unit.SECOND
