"""How people say what they read: numbers and fractions in the forms heard in a cab.

Every form is plain lower-case words.  `dice` picks among the forms that are usual for a value.
"""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from random import Random

from walkaround.quantity import Unit

_ONES = (
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"),
    *("eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen"),
    *("eighteen", "nineteen"),
)
_TENS = ("ten", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_PARTS = {2: "half", 4: "quarter", 8: "eighth", 16: "sixteenth"}
_UNITS = {Unit.PSI: "p s i", Unit.KPA: "k p a", Unit.BAR: "bar"}


def below_hundred(number: int) -> str:
    if number < 20:
        return _ONES[number]
    tens, ones = divmod(number, 10)
    return _TENS[tens - 1] + (f" {_ONES[ones]}" if ones else "")


def forms(number: int) -> tuple[str, ...]:
    """Every way the simulated driver says a whole number from 0 to 9999."""
    if number < 100:
        return (below_hundred(number),)
    if number >= 1000:
        thousands, rest = divmod(number, 1000)
        head = f"{_ONES[thousands]} thousand"
        return tuple(f"{head} {tail}" for tail in forms(rest)[:1]) if rest else (head,)
    hundreds, rest = divmod(number, 100)
    head = f"{_ONES[hundreds]} hundred"
    if not rest:
        return (head, "a hundred") if hundreds == 1 else (head,)
    tail = below_hundred(rest)
    short = f"{_ONES[hundreds]} oh {tail}" if rest < 10 else f"{_ONES[hundreds]} {tail}"
    return (short, short, f"{head} and {tail}", f"{head} {tail}")


class Again(StrEnum):
    """How something is said once more: in words that leave no doubt, then figure by figure."""

    PLAINLY = "plainly"
    BY_FIGURES = "by figures"


Manner = Random | Again
"""Dice that choose among the usual forms, or how it is said again."""


def whole(number: int, manner: Manner) -> str:
    """One of the forms."""
    if isinstance(manner, Random):
        return manner.choice(forms(number))
    if manner is Again.BY_FIGURES and number >= 100:
        return " ".join(_ONES[int(figure)] for figure in str(number))
    return forms(number)[-1]


def decimals(value: Decimal) -> str:
    """`eight point six`, `one point six two five`."""
    units, _, rest = f"{value:f}".partition(".")
    return f"{forms(int(units))[0]} point {' '.join(_ONES[int(digit)] for digit in rest)}"


def length(inches: float, manner: Manner) -> str:
    """Inches to the nearest sixteenth: `one and five eighths`, `a half`, `two`.

    Said again as a decimal where three places do, the form that cannot be taken for another.
    """
    size = Fraction(round(inches * 16), 16)
    units, rest = divmod(size, 1)
    if not rest:
        return _ONES[int(units)]
    if isinstance(manner, Again) and rest.denominator < 16:
        return decimals(Decimal(size.numerator) / Decimal(size.denominator))
    name, top = _PARTS[rest.denominator], rest.numerator
    if top == 1:
        part = f"{'a' if rest.denominator in (2, 4) else 'one'} {name}"
    else:
        part = f"{_ONES[top]} {name}s"
    return f"{_ONES[int(units)]} and {part}" if units else part


def reading(value: Decimal, unit: Unit, manner: Manner) -> str:
    """A reading in its unit: whole numbers, bar with one decimal, inches in fractions."""
    if unit is Unit.INCH:
        return length(float(value), manner)
    if value == value.to_integral_value():
        return whole(int(value), manner)
    return decimals(value)


def with_unit(words: str, unit: Unit, manner: Manner) -> str:
    """Now and then a driver says the unit too."""
    name = _UNITS.get(unit)
    if name and isinstance(manner, Random) and manner.random() < 0.15:
        return f"{words} {name}"
    return words
