"""A Decimal with its unit, compared and converted exactly.

Conversion factors are the exact definitions: the inch is 0.0254 m (international
yard and pound agreement, 1959), the pound 0.45359237 kg, standard gravity
9.80665 m/s², hence 1 psi = 8896443230521/1290320000 Pa; the bar is 100 000 Pa.
Comparison never rounds: both sides become fractions of the base unit.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Context, Decimal, InvalidOperation
from enum import StrEnum
from fractions import Fraction

_WIDE = Context(prec=28)
_MOST_DIGITS = 40
"""Longer numbers are refused: an exponent of a million would fill the memory as a fraction."""


class Kind(StrEnum):
    """What a quantity is a quantity of."""

    PRESSURE = "pressure"
    RATE = "rate"  # pressure per minute
    TIME = "time"
    LENGTH = "length"
    TEMPERATURE = "temperature"
    VOLUME = "volume"
    FLOW = "flow"  # free air per minute
    SPEED = "speed"  # of rotation
    RATIO = "ratio"


class Unit(StrEnum):
    """A unit as it is printed."""

    PSI = "psi"
    KPA = "kPa"
    BAR = "bar"
    PA = "Pa"
    PSI_PER_MIN = "psi/min"
    KPA_PER_MIN = "kPa/min"
    BAR_PER_MIN = "bar/min"
    SECOND = "s"
    MINUTE = "min"
    INCH = "in"
    MILLIMETRE = "mm"
    CELSIUS = "°C"
    FAHRENHEIT = "°F"
    CUBIC_INCH = "in3"
    LITRE = "L"
    CUBIC_FOOT = "ft3"
    LITRE_PER_MIN = "L/min"
    CUBIC_FOOT_PER_MIN = "ft3/min"
    RPM = "rpm"
    PERCENT = "%"
    ONE = "1"


_PSI_PA = Fraction(8896443230521, 1290320000)
_INCH_M = Fraction(254, 10000)
_LITRE_M3 = Fraction(1, 1000)
_FOOT3_M3 = (12 * _INCH_M) ** 3

# unit -> (kind, factor to the base unit, offset added before the factor)
_TABLE: dict[Unit, tuple[Kind, Fraction, Fraction]] = {
    Unit.PSI: (Kind.PRESSURE, _PSI_PA, Fraction(0)),
    Unit.KPA: (Kind.PRESSURE, Fraction(1000), Fraction(0)),
    Unit.BAR: (Kind.PRESSURE, Fraction(100000), Fraction(0)),
    Unit.PA: (Kind.PRESSURE, Fraction(1), Fraction(0)),
    Unit.PSI_PER_MIN: (Kind.RATE, _PSI_PA / 60, Fraction(0)),
    Unit.KPA_PER_MIN: (Kind.RATE, Fraction(1000, 60), Fraction(0)),
    Unit.BAR_PER_MIN: (Kind.RATE, Fraction(100000, 60), Fraction(0)),
    Unit.SECOND: (Kind.TIME, Fraction(1), Fraction(0)),
    Unit.MINUTE: (Kind.TIME, Fraction(60), Fraction(0)),
    Unit.INCH: (Kind.LENGTH, _INCH_M, Fraction(0)),
    Unit.MILLIMETRE: (Kind.LENGTH, Fraction(1, 1000), Fraction(0)),
    Unit.CELSIUS: (Kind.TEMPERATURE, Fraction(1), Fraction(27315, 100)),
    Unit.FAHRENHEIT: (Kind.TEMPERATURE, Fraction(5, 9), Fraction(45967, 100)),
    Unit.CUBIC_INCH: (Kind.VOLUME, _INCH_M**3, Fraction(0)),
    Unit.LITRE: (Kind.VOLUME, _LITRE_M3, Fraction(0)),
    Unit.CUBIC_FOOT: (Kind.VOLUME, _FOOT3_M3, Fraction(0)),
    Unit.LITRE_PER_MIN: (Kind.FLOW, _LITRE_M3 / 60, Fraction(0)),
    Unit.CUBIC_FOOT_PER_MIN: (Kind.FLOW, _FOOT3_M3 / 60, Fraction(0)),
    Unit.RPM: (Kind.SPEED, Fraction(1), Fraction(0)),
    Unit.PERCENT: (Kind.RATIO, Fraction(1, 100), Fraction(0)),
    Unit.ONE: (Kind.RATIO, Fraction(1), Fraction(0)),
}


_CUSTOMARY = frozenset({
    Unit.PSI, Unit.PSI_PER_MIN, Unit.INCH, Unit.FAHRENHEIT, Unit.CUBIC_INCH, Unit.CUBIC_FOOT,
    Unit.CUBIC_FOOT_PER_MIN,
})  # fmt: skip


def one_system(one: Unit, other: Unit) -> bool:
    """Whether both are metric or both are customary: a bar and a kilopascal, never a psi."""
    return (one in _CUSTOMARY) is (other in _CUSTOMARY)


def kind_of(unit: Unit) -> Kind:
    """What the unit measures."""
    return _TABLE[unit][0]


def units_of(kind: Kind) -> tuple[Unit, ...]:
    """Every unit of a kind, in table order."""
    return tuple(unit for unit, row in _TABLE.items() if row[0] is kind)


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value as it was said or printed, with its unit. Equality is of the writing, not the size:
    use `compare` for size."""

    value: Decimal
    unit: Unit
    _base: Fraction | None = field(default=None, init=False, repr=False, compare=False)

    @property
    def kind(self) -> Kind:
        return kind_of(self.unit)

    @property
    def base(self) -> Fraction:
        """The exact size in the base unit (Pa, Pa/s, s, m, K, m³, m³/s, rpm, 1)."""
        known = self._base
        if known is None:
            _, factor, offset = _TABLE[self.unit]
            size = Fraction(self.value)
            known = (size + offset) * factor if offset else size * factor
            object.__setattr__(self, "_base", known)  # worked out once; it never changes
        return known

    @property
    def width(self) -> Fraction:
        """The exact size as a difference, in the base unit: a scale's zero (°C, °F) does not
        count."""
        _, factor, offset = _TABLE[self.unit]
        return Fraction(self.value) * factor if offset else self.base

    def to(self, unit: Unit) -> Quantity:
        """The same size in another unit, to 28 digits. Raises ValueError across kinds."""
        return from_base(self.base, unit) if unit is not self.unit else self

    def rounded(self, step: Decimal) -> Quantity:
        """To the nearest step, ties to even: for speaking and showing only, never for judging."""
        steps = (self.value / step).to_integral_value()
        return Quantity(steps * step, self.unit)

    def __str__(self) -> str:
        return f"{self.value:f} {self.unit}"


def quantity(text: str) -> Quantity:
    """Read `105 psi`, `1.75 in`, `3.0 psi/min`, `12 %`. Raises ValueError with one sentence."""
    number, _, unit = text.strip().partition(" ")
    try:
        value = Decimal(number)
        known = Unit(unit.strip())
    except (InvalidOperation, ValueError):
        raise ValueError(f"'{text}' is not a number and a unit such as '105 psi'") from None
    if not value.is_finite() or abs(value.adjusted()) > _MOST_DIGITS or len(number) > _MOST_DIGITS:
        raise ValueError(f"'{number[:_MOST_DIGITS]}' is not a number that a gauge can show")
    return Quantity(value, known)


def from_base(size: Fraction, unit: Unit) -> Quantity:
    """A base-unit size written in `unit`, to 28 digits."""
    _, factor, offset = _TABLE[unit]
    exact = size / factor - offset if offset else size / factor
    return Quantity(_WIDE.divide(Decimal(exact.numerator), Decimal(exact.denominator)), unit)


def compare(left: Quantity, right: Quantity) -> int:
    """-1, 0 or 1 by exact size. Raises ValueError when the kinds differ."""
    if left.kind is not right.kind:
        raise ValueError(f"{left} and {right} are not of one kind")
    return (left.base > right.base) - (left.base < right.base)
