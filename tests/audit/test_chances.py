"""Tails of distributions against `scipy.stats`, corrections against `statsmodels`."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.multitest import multipletests

from walkaround.audit.chances import (
    all_alike,
    binomial_tail,
    chi_square_tail,
    even_digits,
    holm,
    like_others,
    matches_tail,
    student_edge,
    student_two_sided,
)

CHANCES = st.floats(0.001, 0.999)


@settings(max_examples=40)
@given(st.integers(0, 80), st.integers(1, 80), CHANCES)
def test_binomial_tail(at_least: int, trials: int, chance: float) -> None:
    wanted = stats.binom.sf(at_least - 1, trials, chance)
    assert binomial_tail(at_least, trials, chance) == pytest.approx(wanted, rel=1e-8, abs=1e-15)


@settings(max_examples=40)
@given(st.lists(CHANCES, min_size=1, max_size=30), st.integers(0, 31))
def test_matches_tail(chances: list[float], at_least: int) -> None:
    wanted = stats.poisson_binom.sf(at_least - 1, chances)
    assert matches_tail(at_least, chances) == pytest.approx(wanted, abs=1e-12)


@settings(max_examples=40)
@given(st.floats(0.001, 400), st.integers(1, 120))
def test_chi_square_tail(statistic: float, freedom: int) -> None:
    wanted = stats.chi2.sf(statistic, freedom)
    assert chi_square_tail(statistic, freedom) == pytest.approx(wanted, rel=1e-9, abs=1e-14)


@settings(max_examples=40)
@given(st.floats(-60, 60), st.integers(1, 400))
def test_student(t: float, freedom: int) -> None:
    wanted = 2 * stats.t.sf(abs(t), freedom)
    assert student_two_sided(t, freedom) == pytest.approx(wanted, rel=1e-8, abs=1e-14)


@settings(max_examples=40)
@given(st.floats(1e-4, 0.5), st.integers(1, 300))
def test_student_edge(chance: float, freedom: int) -> None:
    wanted = stats.t.ppf(1 - chance / 2, freedom)
    assert student_edge(chance, freedom) == pytest.approx(wanted, rel=1e-6)


@settings(max_examples=40)
@given(st.lists(st.integers(0, 60), min_size=10, max_size=10).filter(any))
def test_end_digits(counts: list[int]) -> None:
    statistic, chance = even_digits(counts)
    wanted = stats.chisquare(counts)
    assert statistic == pytest.approx(wanted.statistic, rel=1e-9)
    assert chance == pytest.approx(wanted.pvalue, rel=1e-8, abs=1e-14)


COUNTS = st.lists(st.integers(0, 60), min_size=10, max_size=10).filter(any)


@settings(max_examples=40)
@given(COUNTS, COUNTS)
def test_end_digits_beside_those_of_others(mine: list[int], theirs: list[int]) -> None:
    both = [(a, b) for a, b in zip(mine, theirs, strict=True) if a + b]
    if len(both) < 2:
        return
    wanted = stats.chi2_contingency(list(zip(*both, strict=True)), correction=False)
    statistic, chance = like_others(mine, theirs)
    assert statistic == pytest.approx(wanted.statistic, rel=1e-9, abs=1e-9)
    assert chance == pytest.approx(wanted.pvalue, rel=1e-8, abs=1e-12)


@settings(max_examples=40)
@given(st.integers(1, 40), st.floats(0.05, 0.95), st.floats(0.001, 0.2))
def test_all_alike_is_the_beta_binomial_law(times: int, mean: float, spread: float) -> None:
    if spread >= mean * (1 - mean) * 0.99:
        return
    weight = mean * (1 - mean) / spread - 1
    law = stats.betabinom(times, mean * weight, (1 - mean) * weight)
    assert all_alike(times, mean, spread) == pytest.approx(law.pmf(times), rel=1e-6)


@settings(max_examples=20)
@given(st.lists(st.floats(1e-12, 1), min_size=1, max_size=20), st.integers(0, 60))
def test_holm_counts_tests_that_are_not_listed(chances: list[float], more: int) -> None:
    """Those not listed are taken to have come out at one: statsmodels is given them all."""
    padded = [*chances, *[1.0] * more]
    wanted = multipletests(padded, method="holm")[1][: len(chances)]
    assert holm(chances, len(padded)) == pytest.approx(list(wanted), rel=1e-12)


def test_the_far_tail_does_not_vanish() -> None:
    assert 0 < binomial_tail(30, 30, 0.01) < 1e-50
    assert math.isfinite(all_alike(500, 0.1, 0.001))
