"""How near a value is to the edge, beside the verdict and never in its stead.

JCGM 106:2012: the measured value x with standard uncertainty u stands for a normal
distribution of what may be true.  The chance that the true value conforms is, for an upper
edge, P = Φ((edge - x)/u); between two edges, Φ((high - x)/u) - Φ((low - x)/u).

The guard band is w = r U with r = 1 and U = 2 u (ILAC-G8:09/2019, 4.1), so that a value
further than w on the passing side is wrongly passed in less than 2.5 % of cases.  Its
four-way statement (4.2.3) prints closed intervals, so that a value at the edge belongs to
both middle ones; here the rule as worded chooses.

Repeats are of the whole act, not a second look at a needle that stands still.  The rule is
fixed before the first one: every measurement is kept and counts alike, and the mean of all
is judged.  With n measurements the part of U that they do not
share shrinks to U/√n.  The number that would settle a value at distance d, if the mean
stays where it is, is the least n with d > √(S² + (U² - S²)/n), S being the shared part.
Distance has no sign: a value that fails narrowly needs as many as one that passes so.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from walkaround.rules.model import Comparison


class Statement(StrEnum):
    """The four-way statement of ILAC-G8:09/2019, 4.2.3."""

    PASS = "pass"
    CONDITIONAL_PASS = "conditional pass"
    CONDITIONAL_FAIL = "conditional fail"
    FAIL = "fail"


_FOUR_WAYS: Mapping[tuple[bool, bool], Statement] = {
    (True, False): Statement.PASS,
    (True, True): Statement.CONDITIONAL_PASS,
    (False, True): Statement.CONDITIONAL_FAIL,
    (False, False): Statement.FAIL,
}
"""Met by the rule as worded, within the guard band -> the statement."""


@dataclass(frozen=True, slots=True)
class Nearness:
    """`repeats` is 0 where none are needed and where none would settle it."""

    probability: float
    statement: Statement
    repeats: int

    @property
    def near(self) -> bool:
        return self.statement in (Statement.CONDITIONAL_PASS, Statement.CONDITIONAL_FAIL)


def nearness(
    comparison: Comparison,
    value: Fraction,
    edges: Sequence[Fraction],
    guard: Fraction,
    *,
    met: bool,
    shared: Fraction = Fraction(0),
) -> Nearness:
    """Everything in one unit; `guard` is U (k = 2) and more than nothing, `shared` the part of
    it that repeats have in common."""
    distance = away(value, edges)
    near = distance <= guard
    statement = _FOUR_WAYS[met, near]
    chance = conformity(comparison, float(value), [float(e) for e in edges], float(guard) / 2)
    return Nearness(chance, statement, repeats(distance, guard, shared) if near else 0)


def away(value: Fraction, edges: Sequence[Fraction]) -> Fraction:
    """How far from the nearest edge."""
    first = abs(value - edges[0])
    return first if len(edges) == 1 else min(first, abs(value - edges[1]))


def conformity(
    comparison: Comparison, value: float, edges: Sequence[float], deviation: float
) -> float:
    """The chance that the true value conforms, 0 to 1; `deviation` is u, more than nothing."""
    if comparison in (Comparison.AT_MOST, Comparison.LESS_THAN):
        return normal((edges[0] - value) / deviation)
    if comparison in (Comparison.AT_LEAST, Comparison.MORE_THAN):
        return normal((value - edges[0]) / deviation)
    above_low = (value - min(edges)) / deviation
    above_high = (value - max(edges)) / deviation
    if value > (min(edges) + max(edges)) / 2:  # subtract the two small tails, not the large ones
        return normal(-above_high) - normal(-above_low)
    return normal(above_low) - normal(above_high)


def normal(deviations: float) -> float:
    """Φ, the standard normal distribution, exact in its small tail too."""
    return math.erfc(-deviations / math.sqrt(2)) / 2


def repeats(distance: Fraction, guard: Fraction, shared: Fraction) -> int:
    """How many measurements in all, averaged, leave `distance` outside their guard band.

    0 where no number would: at the edge itself, or inside what repeats have in common.
    """
    beyond = distance**2 - shared**2
    return (guard**2 - shared**2) // beyond + 1 if beyond > 0 else 0


def in_words(chance: float) -> str:
    """`93.3 %`; the ends are not called certain."""
    text = f"{chance:.1%}".replace("%", " %")
    return {"100.0 %": "over 99.9 %", "0.0 %": "under 0.1 %"}.get(text, text)
