"""What a measure comes out as, and what it is read with."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction

from walkaround.air.scale import COVERAGE, DIGITS_SHOWN, HALF_RECTANGLE, RECTANGLE
from walkaround.quantity import Quantity, Unit

_SHORT = Context(prec=DIGITS_SHOWN)


@dataclass(frozen=True, slots=True)
class Measured:
    """A measure formed from answers. `value` None: undetermined, and `why` says what is missing.

    `uncertainty` is expanded (k = 2), in the value's unit; a temperature's is a difference.
    `other` is the value under the other reading of a text that does not say which is meant.
    `shared` is the part of the uncertainty that repeats have in common (the gauge's own
    error), which no averaging takes away.  `shape` is "straight" of a rise that was seen to be.
    """

    value: Quantity | str | None
    uncertainty: Quantity | None = None
    why: str = ""
    other: Quantity | None = None
    shared: Quantity | None = None
    shape: str = ""


@dataclass(frozen=True, slots=True)
class GaugeFacts:
    """What readings are taken with. Each is a size, or None where it is not counted.

    needle       the step to which a pressure is read (a rectangle of that width)
    accuracy     the gauge's own error, ± a pressure; cancels in a difference on one gauge.
                 None: rules are written for the vehicle's own gauge, read as it stands
    timing       standard deviation of an interval marked by a person
    length       the step to which a length is read
    temperature  the step to which a temperature is read
    """

    needle: Quantity
    timing: Quantity
    accuracy: Quantity | None = None
    length: Quantity | None = None
    temperature: Quantity | None = None


class UndeterminedError(Exception):
    """A measure that cannot be formed: one clause, shown to the driver."""


def read_variance(step: Quantity | None) -> float:
    """Variance of one reading taken to `step`, in base units squared (JCGM 100, 4.3.7)."""
    return float(width(step)) ** 2 / RECTANGLE


def gauge_variance(accuracy: Quantity | None) -> float:
    """Variance of a level from the gauge's own error ± a (JCGM 100, 4.3.7)."""
    return float(width(accuracy)) ** 2 / HALF_RECTANGLE


def gain_variance(size: Fraction, level: Fraction, accuracy: Quantity | None) -> float:
    """Of a difference on one gauge, from a gain error: an offset cancels, a gain does not.

    ± a at `level` is at most a gain of a/level, which stretches `size` in its proportion.
    """
    if level <= 0:
        return 0.0
    return float(size * width(accuracy) / level) ** 2 / HALF_RECTANGLE


def expanded(variance: float, unit: Unit) -> Quantity | None:
    """U = 2 √variance (base units squared), written in `unit` with two digits; None for nothing."""
    if variance <= 0:
        return None
    one = float(Quantity(Decimal(1), unit).width)
    return Quantity(_SHORT.create_decimal(math.sqrt(variance) / one * int(COVERAGE)), unit)


def width(step: Quantity | None) -> Fraction:
    """A step or an uncertainty as a difference, in base units: the zero of °C or °F does not
    count; nothing is 0."""
    return Fraction(0) if step is None else step.width
