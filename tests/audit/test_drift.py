"""Trend, change-point and forecast, against published worked examples and reference libraries."""

from __future__ import annotations

import random

import pytest
import statsmodels.api
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from walkaround.audit.drift import (
    began_at,
    cumulative,
    drifts,
    fit,
    forecast,
    looks,
    spread_between,
    upper_limit,
)
from walkaround.audit.evidence import Series

# NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.3 "CUSUM Control Charts": the
# worked example's twenty group means, target 325, k 0.3175, h 4.1959, and its table of both
# sums, to two decimals. Values as another project's test of the same section prints them.
NIST_CUSUM = (
    324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600,
    324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
)  # fmt: skip
NIST_HIGH = (
    0.00, 0.00, 0.00, 0.00, 0.03, 0.00, 0.00, 0.00, 0.00, 0.00,
    0.00, 0.00, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04,
)  # fmt: skip
NIST_LOW = (
    0.00, 0.01, 0.00, 0.33, 0.00, 0.00, 0.56, 0.72, 0.17, 0.25,
    0.31, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00,
)  # fmt: skip

# Montgomery and Runger, Applied Statistics and Probability for Engineers, example 16-6 (table
# 16-8): chemical concentration, target 99, K = 1, upper sums of the first twelve.
CONCENTRATION = (102.0, 94.8, 98.3, 98.4, 102.0, 98.5, 99.0, 97.7, 100.0, 98.1, 101.3, 98.7)
CONCENTRATION_HIGH = (2.0, 0, 0, 0, 2.0, 0.5, 0, 0, 0, 0, 1.3, 0)
CONCENTRATION_LOW = (0, 3.2, 2.9, 2.5, 0, 0, 0, 0.3, 0, 0, 0, 0)

# Same handbook, section 4.6.1 "Load Cell Calibration": the straight line first fitted there has
# the coefficients below. Data and coefficients from memory.
LOADS = [150_000.0 * n for n in range(1, 21)] * 2
DEFLECTIONS = [
    0.11019, 0.21956, 0.32949, 0.43899, 0.54803, 0.65694, 0.76562, 0.87487, 0.98292, 1.09146,
    1.20001, 1.30822, 1.41599, 1.52399, 1.63194, 1.73947, 1.84646, 1.95392, 2.06128, 2.16844,
    0.11052, 0.22018, 0.32939, 0.43886, 0.54798, 0.65739, 0.76596, 0.87474, 0.98300, 1.09150,
    1.20004, 1.30818, 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829,
]  # fmt: skip


def test_change_point_of_the_handbook_6_3_2_3() -> None:
    sums = cumulative(NIST_CUSUM, 325.0, 0.3175)
    assert sums.above == pytest.approx(NIST_HIGH, abs=0.011)
    assert sums.below == pytest.approx(NIST_LOW, abs=0.011)
    assert [value > 4.1959 for value in sums.above] == [False] * 13 + [True] * 7
    assert began_at(sums.above) == 12  # group 13, the first of the shifted ones


def test_cumulative_sums_of_a_textbook() -> None:
    sums = cumulative(CONCENTRATION, 99.0, 1.0)
    assert sums.above == pytest.approx(CONCENTRATION_HIGH, abs=1e-9)
    assert sums.below == pytest.approx(CONCENTRATION_LOW, abs=1e-9)


def test_straight_line_of_the_handbook_4_6_1() -> None:
    line = fit(LOADS, DEFLECTIONS)
    assert line is not None
    assert line.level == pytest.approx(0.614969e-2, rel=1e-5)
    assert line.slope == pytest.approx(0.722103e-6, rel=1e-5)
    assert line.spread == pytest.approx(0.0021712694, rel=1e-5)


POINTS = st.lists(st.tuples(st.floats(0, 400), st.floats(-50, 50)), min_size=4, max_size=40).filter(
    lambda rows: len({round(x, 3) for x, _ in rows}) > 3
)


@given(POINTS)
def test_trend_is_that_of_scipy_and_statsmodels(rows: list[tuple[float, float]]) -> None:
    days, values = (list(column) for column in zip(*rows, strict=True))
    line = fit(days, values)
    assert line is not None
    theirs = stats.linregress(days, values)
    assert line.slope == pytest.approx(theirs.slope, rel=1e-6, abs=1e-9)
    assert line.level == pytest.approx(theirs.intercept, rel=1e-6, abs=1e-6)
    if line.spread > 1e-6:
        assert line.chance == pytest.approx(theirs.pvalue, rel=1e-5, abs=1e-9)
        model = statsmodels.api.OLS(values, statsmodels.api.add_constant(days)).fit()
        assert line.slope_error == pytest.approx(model.bse[1], rel=1e-6)


def test_forecast_covers_the_truth() -> None:
    """Of 400 trucks whose leak truly grows, the true day lies inside about 95 times in 100."""
    dice, inside = random.Random(4), 0
    for _ in range(400):
        days = [2.0 * n for n in range(30)]
        line = fit(days, [1 + 0.03 * day + dice.gauss(0, 0.3) for day in days])
        assert line is not None
        ahead = forecast(line, 4.0, sum(days) / len(days))
        assert ahead is not None
        inside += ahead.earliest <= 100 <= ahead.latest
    assert 0.90 <= inside / 400 <= 0.99


def test_no_forecast_without_a_climb() -> None:
    falling = fit([0, 1, 2, 3], [4, 3, 2, 1.0])
    assert falling is not None and forecast(falling, 5, 1.5) is None
    above = fit([0, 1, 2, 3], [6, 7, 8, 9.0])
    assert above is not None and forecast(above, 5, 1.5) is None
    assert fit([1, 1, 1], [1, 2, 3]) is None


@pytest.mark.parametrize(
    ("worded", "unit", "limit"),
    [
        ("not more than 21 kPa/min / 3 psi/min", "psi/min", 3.0),
        ("not more than 40 kPa/min", "psi/min", 40 / 6.894757),
        ("equal to or less than 120 s", "s", 120.0),
        ("less than 180 s", "s", 180.0),
        ("within 25 s x volume-ratio", "s", None),
        ("at least 80 psi", "psi", None),
        ("", "psi/min", None),
        ("not greater than 1.75 in", "in", 1.75),
        ("not more than 99999999999999999999999999999999999999999999 s", "s", None),
    ],
)
def test_limits_are_read_out_of_their_wording(worded: str, unit: str, limit: float | None) -> None:
    found = upper_limit(worded, unit)
    assert found == (None if limit is None else pytest.approx(limit, rel=1e-6))


def series(values: list[float], vehicle: str = "truck") -> Series:
    days = [2.0 * n for n in range(len(values))]
    walks = list(range(len(values)))
    limit = "not more than 3 psi/min"
    return Series(
        vehicle,
        "leak-applied",
        "loss-applied",
        "r",
        "CA-ON",
        "psi/min",
        limit,
        days,
        values,
        walks,
        0,
    )


def test_a_step_up_is_dated() -> None:
    values = [1.0, 0.0, 1.0, 1.0, 0.0, 1.0, 0.0, 1.0, 1.0, 0.0, 1.0, 1.0] + [3.0] * 12
    (found,) = drifts([series(values)])
    assert found.changed is not None and found.changed in (11, 12, 13)
    assert looks([found]).looks


def test_readings_that_stand_still_have_no_spread_and_no_look() -> None:
    (found,) = drifts([series([1.0] * 20)])
    assert looks([found]).looks == ()
    assert spread_between([1.0] * 20, "psi/min") == 0.5


def test_level_trucks_are_let_alone() -> None:
    """Of 1 000 level series hardly one comes near: the correction for all tests comes on top."""
    dice = random.Random(8)
    level = [series([max(round(dice.gauss(1, 0.7)), 0) for _ in range(30)]) for _ in range(1000)]
    assert len(looks(drifts(level)).looks) <= 2


def test_short_series_say_nothing() -> None:
    assert drifts([series([float(n) for n in range(11)])]) == ()
