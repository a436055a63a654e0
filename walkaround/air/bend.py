"""A rise that bends, told from a straight one.

Derivation.  A compressor that gives Q, a leak that takes k p and tanks V make
dp/dt = (Q - k p) p_a/V, so that t = a + b f(p) with f(p) = -ln(1 - κ (p - p₀))/κ, where
1/κ is how far above p₀ the needle would stand still.  κ = 0 is the straight line of a
tight system, f = p - p₀; κ < 0 is a climb that quickens.  A weak compressor is slow and
near straight (its own output falls a little with pressure); a leak or an open drain bends
the climb, the larger the lower it levels off: at three times the last call it takes a third
of what the compressor gives there.

For a given κ the fit is linear (weighted least squares, weights 1/u², u the error of a
call through the pace at its pressure); κ is found by a search in one dimension.  A bend is
believed where it lowers χ² by more than 9 (three standard deviations of κ).  The window's
time is b (f(p₂) - f(p₁)), its variance from the inverse of JᵀWJ for (a, b, κ).

Floating point throughout, rounded to a microsecond, so that it comes out the same anywhere.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from walkaround.air.scale import (
    BENT,
    FAR_OFF,
    FEWEST_FOR_A_BEND,
    GOLDEN,
    LEAKY,
    QUICKEST,
    ROUNDS,
    SEARCH_STEPS,
    SEARCHED,
    SMALL_BEND,
)

Called = Sequence[tuple[float, float]]
"""(pressure in any unit, seconds), both rising."""


@dataclass(frozen=True, slots=True)
class Bend:
    """t = start + pace f(p); pressures in the unit of the calls, times in seconds."""

    origin: float
    start: float
    pace: float
    kappa: float
    weights: tuple[float, ...]
    called: Called

    @property
    def slows(self) -> bool:
        return self.kappa > 0

    @property
    def leaks(self) -> bool:
        """Whether it levels off lower than a tight compressor's would."""
        return self.slows and self.level <= LEAKY * self.called[-1][0]

    @property
    def level(self) -> float:
        """Where the needle would stand still; only of a climb that slows."""
        return self.origin + 1 / self.kappa

    def at(self, pressure: float) -> float:
        return self.start + self.pace * _f(pressure - self.origin, self.kappa)

    def seconds(self, low: float, high: float) -> float:
        return self.at(high) - self.at(low)

    def variance(self, low: float, high: float) -> float:
        """Of `seconds`, in s²."""
        jacobian = [self._row(pressure) for pressure, _ in self.called]
        span = [b - a for a, b in zip(self._row(low), self._row(high), strict=True)]
        normal = [
            [
                sum(w * row[i] * row[j] for w, row in zip(self.weights, jacobian, strict=True))
                for j in range(len(span))
            ]
            for i in range(len(span))
        ]
        return sum(v * x for v, x in zip(span, _solved(normal, span), strict=True))

    def _row(self, pressure: float) -> list[float]:
        over = pressure - self.origin
        return [1.0, _f(over, self.kappa), self.pace * _by_kappa(over, self.kappa)]


def bend_of(called: Called, error: Callable[[float], float]) -> Bend | None:
    """The bend, or None where a straight line says as much or this law does not fit either.

    `error` gives the standard deviation of a call, in s, from the pace there in s per unit.
    """
    if len(called) < FEWEST_FOR_A_BEND:
        return None
    overall = (called[-1][1] - called[0][1]) / (called[-1][0] - called[0][0])
    weights = [error(overall) ** -2] * len(called)
    if _misfit(called, weights, 0.0)[0] <= BENT**2:
        return None  # nothing to be gained by a bend
    found = (0.0, 0.0, 0.0)
    for _ in range(ROUNDS):
        found = _best(called, weights)
        weights = [error(_pace(found, called, pressure)) ** -2 for pressure, _ in called]
    start, pace, kappa = found
    bend = Bend(called[0][0], start, pace, kappa, tuple(weights), called)
    gained = _misfit(called, weights, 0.0)[0] - _misfit(called, weights, kappa)[0]
    fits = all(
        abs(s - bend.at(p)) <= FAR_OFF / math.sqrt(w)
        for (p, s), w in zip(called, weights, strict=True)
    )
    return bend if fits and gained > BENT**2 and pace > 0 else None


def _f(over: float, kappa: float) -> float:
    if abs(kappa * over) < SMALL_BEND:
        return over * (1 + kappa * over / 2)
    return -math.log1p(-kappa * over) / kappa


def _by_kappa(over: float, kappa: float) -> float:
    """df/dκ."""
    if abs(kappa * over) < SMALL_BEND:
        return over * over / 2
    return (over / (1 - kappa * over) - _f(over, kappa)) / kappa


def _pace(found: tuple[float, float, float], called: Called, pressure: float) -> float:
    _, pace, kappa = found
    return pace / (1 - kappa * (pressure - called[0][0]))


def _misfit(called: Called, weights: Sequence[float], kappa: float) -> tuple[float, float, float]:
    """χ², and the start and pace of the best line over f."""
    origin = called[0][0]
    rows = [(w, _f(p - origin, kappa), s) for w, (p, s) in zip(weights, called, strict=True)]
    total = sum(w for w, _, _ in rows)
    mean_f = sum(w * f for w, f, _ in rows) / total
    mean_s = sum(w * s for w, _, s in rows) / total
    spread = sum(w * (f - mean_f) ** 2 for w, f, _ in rows)
    pace = sum(w * (f - mean_f) * (s - mean_s) for w, f, s in rows) / spread
    off = sum(w * (s - mean_s - pace * (f - mean_f)) ** 2 for w, f, s in rows)
    return off, mean_s - pace * mean_f, pace


def _best(called: Called, weights: Sequence[float]) -> tuple[float, float, float]:
    """(start, pace, κ) of the smallest χ²: golden section between a climb that quickens and
    one that levels off just above the last call."""
    span = called[-1][0] - called[0][0]
    low, high = -QUICKEST / span, SEARCHED / span
    ratio = (math.sqrt(GOLDEN) - 1) / 2
    inner, outer = high - ratio * (high - low), low + ratio * (high - low)
    for _ in range(SEARCH_STEPS):
        if _misfit(called, weights, inner)[0] < _misfit(called, weights, outer)[0]:
            high, outer = outer, inner
            inner = high - ratio * (high - low)
        else:
            low, inner = inner, outer
            outer = low + ratio * (high - low)
    kappa = (low + high) / 2
    _, start, pace = _misfit(called, weights, kappa)
    return start, pace, kappa


def _solved(matrix: list[list[float]], right: Sequence[float]) -> list[float]:
    """Gauss with pivots; the matrix is small and has an inverse where the calls differ."""
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    size = len(rows)
    for column in range(size):
        pivot = max(range(column, size), key=lambda row: abs(rows[row][column]))
        rows[column], rows[pivot] = rows[pivot], rows[column]
        for row in range(size):
            if row != column:
                times = rows[row][column] / rows[column][column]
                rows[row] = [a - times * b for a, b in zip(rows[row], rows[column], strict=True)]
    return [row[-1] / row[place] for place, row in enumerate(rows)]
