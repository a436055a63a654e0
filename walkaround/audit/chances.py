"""How likely something is by chance: tails of distributions, and many tests at once.

Plain Python, because the tails are needed in a few thousand places and not in an inner
loop.  Tests hold each against `scipy.stats` and `statsmodels`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

_TINY = 1e-300
_STEPS = 500
_CLOSE = 1e-13


def binomial_tail(at_least: int, trials: int, chance: float) -> float:
    """P(X >= at_least) for X binomial; summed in logarithms, so that no term underflows."""
    if at_least <= 0:
        return 1.0
    if at_least > trials or chance <= 0:
        return 0.0
    if chance >= 1:
        return 1.0
    yes, no = math.log(chance), math.log1p(-chance)
    ways = math.lgamma(trials + 1)
    terms = (
        math.exp(
            ways - math.lgamma(k + 1) - math.lgamma(trials - k + 1) + k * yes + (trials - k) * no
        )
        for k in range(at_least, trials + 1)
    )
    return min(math.fsum(terms), 1.0)


def matches_tail(at_least: int, chances: Sequence[float]) -> float:
    """P(at least so many of independent events happen), each with its own chance.

    The Poisson-binomial distribution, built up one event at a time.
    """
    counts = [1.0]
    for chance in chances:
        longer = [0.0] * (len(counts) + 1)
        for already, share in enumerate(counts):
            longer[already] += share * (1 - chance)
            longer[already + 1] += share * chance
        counts = longer
    return min(math.fsum(counts[max(at_least, 0) :]), 1.0)


def chi_square_tail(statistic: float, freedom: int) -> float:
    """P(X >= statistic) for a chi-square variable: the regularised upper gamma function."""
    if statistic <= 0:
        return 1.0
    shape, at = freedom / 2, statistic / 2
    front = math.exp(shape * math.log(at) - at - math.lgamma(shape))
    if at < shape + 1:
        return 1 - front * _gamma_series(shape, at)
    return front * _gamma_fraction(shape, at)


def _gamma_series(shape: float, at: float) -> float:
    """The lower incomplete gamma function over its front factor (DLMF 8.7.1)."""
    term = total = 1 / shape
    for n in range(1, _STEPS):
        term *= at / (shape + n)
        total += term
        if term < total * _CLOSE:
            break
    return total


def _gamma_fraction(shape: float, at: float) -> float:
    """The upper one as a continued fraction (DLMF 8.9.2), by Lentz's method."""
    b = at + 1 - shape
    c, d = 1 / _TINY, 1 / b
    value = d
    for n in range(1, _STEPS):
        a = -n * (n - shape)
        b += 2
        d = 1 / _off_zero(a * d + b)
        c = _off_zero(b + a / c)
        value *= d * c
        if abs(d * c - 1) < _CLOSE:
            break
    return value


def student_two_sided(t: float, freedom: int) -> float:
    """P(|T| >= |t|) for Student's t."""
    square = t * t
    if math.isinf(square):
        return 0.0
    if square < freedom:  # near the middle the complement keeps its digits
        return 1 - _beta_share(square / (freedom + square), 0.5, freedom / 2)
    return _beta_share(freedom / (freedom + square), freedom / 2, 0.5)


def student_edge(chance: float, freedom: int) -> float:
    """The t that |T| exceeds with that chance: found by halving."""
    low, high = 0.0, 1e6
    for _ in range(90):
        middle = (low + high) / 2
        if student_two_sided(middle, freedom) > chance:
            low = middle
        else:
            high = middle
    return high


def _beta_share(x: float, a: float, b: float) -> float:
    """The regularised incomplete beta function (DLMF 8.17)."""
    if x <= 0 or x >= 1:
        return min(max(x, 0.0), 1.0)
    front = math.exp(
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    )
    if x < (a + 1) / (a + b + 2):
        return front * _beta_fraction(x, a, b) / a
    return 1 - front * _beta_fraction(1 - x, b, a) / b


def _beta_fraction(x: float, a: float, b: float) -> float:
    """Its continued fraction (DLMF 8.17.22), by Lentz's method."""
    c, d = 1.0, 1 / _off_zero(1 - (a + b) * x / (a + 1))
    value = d
    for m in range(1, _STEPS):
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        d, c = 1 / _off_zero(1 + even * d), _off_zero(1 + even / c)
        value *= d * c
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        d, c = 1 / _off_zero(1 + odd * d), _off_zero(1 + odd / c)
        value *= d * c
        if abs(d * c - 1) < _CLOSE:
            break
    return value


def _off_zero(value: float) -> float:
    return value if abs(value) > _TINY else _TINY


def even_digits(counts: Sequence[int]) -> tuple[float, float]:
    """(chi-square, chance) of counts that should all be alike (Pearson's test)."""
    total = sum(counts)
    if not total:
        return 0.0, 1.0
    expected = total / len(counts)
    statistic = sum((count - expected) ** 2 / expected for count in counts)
    return statistic, chi_square_tail(statistic, len(counts) - 1)


def like_others(counts: Sequence[int], others: Sequence[int]) -> tuple[float, float]:
    """(chi-square, chance) that two rows of counts come from one distribution (Pearson).

    Columns that are empty in both say nothing and are left out.
    """
    mine, theirs = sum(counts), sum(others)
    pairs = [(a, b) for a, b in zip(counts, others, strict=True) if a + b]
    if not mine or not theirs or len(pairs) < 2:
        return 0.0, 1.0
    statistic = 0.0
    for a, b in pairs:
        share = (a + b) / (mine + theirs)
        statistic += (a - share * mine) ** 2 / (share * mine)
        statistic += (b - share * theirs) ** 2 / (share * theirs)
    return statistic, chi_square_tail(statistic, len(pairs) - 1)


def all_alike(times: int, mean: float, spread: float) -> float:
    """Chance that so many in a row happen, each with one unknown chance of that mean and spread.

    The unknown chance is taken to be beta-distributed (the beta-binomial law), so that some
    that always happen are expected where others were seen to.
    """
    mean = min(max(mean, 1e-6), 1 - 1e-6)
    spread = min(max(spread, 1e-9), mean * (1 - mean) * 0.999)
    weight = mean * (1 - mean) / spread - 1
    yes = mean * weight
    logs = (math.log((yes + n) / (weight + n)) for n in range(times))
    return math.exp(math.fsum(logs))


def holm(chances: Sequence[float], tests: int = 0) -> tuple[float, ...]:
    """Each chance adjusted for how many tests there were (Holm 1979), in the order given.

    Rejecting those under alpha keeps the chance of even one false alarm under alpha,
    however the tests hang together.  `tests` counts them all where only those that came
    near are given; the others are taken to have had a chance of one.
    """
    count = max(tests, len(chances))
    ranked = sorted(range(len(chances)), key=lambda at: chances[at])
    adjusted = [1.0] * len(chances)
    worst = 0.0
    for rank, at in enumerate(ranked):
        worst = max(worst, min(chances[at] * (count - rank), 1.0))
        adjusted[at] = worst
    return tuple(adjusted)
