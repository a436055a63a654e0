"""A climb that bends told from a straight one: the law of a leak, its window, its level."""

from __future__ import annotations

import math
import random
import statistics
from collections.abc import Mapping, Sequence

import numpy as np
import pytest
from scipy.optimize import curve_fit

from tests.rules.book_of_rules import the_book
from walkaround.air.bend import bend_of
from walkaround.air.buildup import STRAIGHT
from walkaround.air.measured import Measured
from walkaround.air.measures import form
from walkaround.exchange import Given, Point, Rise
from walkaround.procedure.measuring import gauge_facts
from walkaround.quantity import Quantity, quantity

GAUGE = gauge_facts(the_book())
WINDOW = {"from": "85 psi", "to": "100 psi"}
CALLS = (50, 60, 70, 75, 80, 85, 90, 95, 100)


def _leaking(level: float, seconds: float = 45) -> Mapping[int, float]:
    """When the needle is at each pressure, if it would stand still at `level` and needs
    `seconds` for 85 to 100: dp/dt = r (level - p), integrated by hand."""
    rate = math.log((level - 85) / (level - 100)) / seconds
    return {p: math.log((level - 50) / (level - p)) / rate for p in CALLS}


def _measure(times: Mapping[int, float], calls: Sequence[int] = CALLS) -> Measured:
    points = tuple(Point(round(times[p] * 1000), quantity(f"{p} psi")) for p in calls)
    return form("build-up", {"rise": Given("b.rise", Rise(points), 1, 0)}, WINDOW, GAUGE)


def _seconds(measured: Measured) -> float:
    assert isinstance(measured.value, Quantity)
    return float(measured.value.value)


@pytest.mark.parametrize("level", [104, 110, 118, 130, 150])
def test_a_leaking_climb_is_told_and_its_window_read_off(level: float) -> None:
    measured = _measure(_leaking(level))
    assert _seconds(measured) == pytest.approx(45, abs=0.03)
    assert "slower toward the top" in measured.why
    assert measured.shape != STRAIGHT
    told = float(measured.why.rpartition("near ")[2].split()[0])
    assert told == pytest.approx(level, abs=1.5)


def test_the_four_calls_of_the_script_are_enough_to_tell_a_large_leak() -> None:
    measured = _measure(_leaking(112), (50, 85, 90, 100))
    assert "slower toward the top" in measured.why
    assert _seconds(measured) == pytest.approx(45, abs=0.05)


def test_a_weak_compressor_is_slow_and_straight() -> None:
    measured = _measure({p: 9.0 * (p - 50) for p in CALLS})
    assert _seconds(measured) == 135
    assert (measured.shape, measured.why) == (STRAIGHT, "")


@pytest.mark.parametrize(("level", "leaks"), [(290, True), (310, False), (550, False)])
def test_a_tight_compressor_bends_a_little_by_itself(level: float, leaks: bool) -> None:
    """Its output falls with pressure; what levels off beyond three times the last call is no
    leak. The window is read off the bend all the same."""
    measured = _measure(_leaking(level, 400))
    assert ("slower toward the top" in measured.why) is leaks
    assert (measured.shape == STRAIGHT) is not leaks
    assert _seconds(measured) == pytest.approx(400, abs=1)


def test_a_climb_that_quickens_is_said() -> None:
    measured = _measure({p: 60 * math.log1p((p - 50) / 20) for p in CALLS})
    assert "quicker toward the top" in measured.why


def test_a_straight_climb_with_a_persons_errors_is_seldom_called_bent() -> None:
    """Needle within ± a quarter psi, 0.07 s of hand: a false bend at three deviations is rare."""
    draw = random.Random(11)
    bent = 0
    for _ in range(300):
        times = {p: 3 * (p + draw.uniform(-0.25, 0.25)) + draw.gauss(0, 0.07) for p in CALLS}
        bent += _measure(times).shape != STRAIGHT
    assert bent <= 6


def test_the_uncertainty_of_a_bent_window_is_what_repeats_scatter_by() -> None:
    draw = random.Random(3)
    exact, rate = _leaking(112), math.log((112 - 85) / (112 - 100)) / 45
    pace = {p: 1 / (rate * (112 - p)) for p in CALLS}
    times, stated = [], []
    for _ in range(300):
        called = {p: exact[p] + pace[p] * draw.uniform(-0.25, 0.25) for p in CALLS}
        measured = _measure(called)
        assert measured.uncertainty is not None
        times.append(_seconds(measured))
        stated.append(float(measured.uncertainty.value))
    inside = sum(abs(t - 45) <= u for t, u in zip(times, stated, strict=True))
    assert statistics.mean(times) == pytest.approx(45, abs=0.3)
    assert inside >= 0.9 * len(times)


def test_the_fit_agrees_with_scipy() -> None:
    """The same law and weights by scipy's Levenberg-Marquardt."""
    draw = random.Random(8)
    called = [(float(p), s + draw.gauss(0, 0.3)) for p, s in _leaking(115).items()]
    bend = bend_of(called, lambda _pace: 0.3)
    assert bend is not None

    def law(p: object, start: float, pace: float, kappa: float) -> object:
        return start - pace * np.log1p(-kappa * (np.asarray(p) - 50)) / kappa

    pressures, seconds = np.array(called).T
    theirs, spread = curve_fit(
        law, pressures, seconds, p0=(0, 1, 0.01), sigma=np.full(len(called), 0.3),
        absolute_sigma=True,
    )  # fmt: skip
    assert bend.kappa == pytest.approx(theirs[2], rel=1e-3)
    assert bend.pace == pytest.approx(theirs[1], rel=1e-3)
    window = float(law(100.0, *theirs)) - float(law(85.0, *theirs))  # type: ignore[arg-type]
    assert bend.seconds(85, 100) == pytest.approx(window, rel=1e-4)
    row = [
        (float(law(100.0, *(theirs + d))) - float(law(85.0, *(theirs + d))) - window) / 1e-6  # type: ignore[arg-type]
        for d in 1e-6 * np.eye(3)
    ]
    assert bend.variance(85, 100) == pytest.approx(float(row @ spread @ row), rel=0.02)
