"""How people say what they read: numbers and fractions in the forms heard in a cab.

Every form is plain lower-case words.  `dice` picks among the forms that are usual for a value.
"""

from __future__ import annotations

from decimal import Decimal
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


def whole(number: int, dice: Random | None) -> str:
    """One of the forms; the plainest without dice."""
    return dice.choice(forms(number)) if dice else forms(number)[-1]


def decimals(value: Decimal) -> str:
    """`eight point six`, `one point six two five`."""
    units, _, rest = f"{value:f}".partition(".")
    return f"{forms(int(units))[0]} point {' '.join(_ONES[int(digit)] for digit in rest)}"


def length(inches: float, dice: Random | None) -> str:
    """Inches to the nearest sixteenth: `one and five eighths`, `a half`, `two`.

    Without dice as a decimal where three places do, the form that cannot be taken for another.
    """
    size = Fraction(round(inches * 16), 16)
    units, rest = divmod(size, 1)
    if not rest:
        return _ONES[int(units)]
    if dice is None and rest.denominator < 16:
        return decimals(Decimal(size.numerator) / Decimal(size.denominator))
    name, top = _PARTS[rest.denominator], rest.numerator
    if top == 1:
        part = f"{'a' if rest.denominator in (2, 4) else 'one'} {name}"
    else:
        part = f"{_ONES[top]} {name}s"
    return f"{_ONES[int(units)]} and {part}" if units else part


def reading(value: Decimal, unit: Unit, dice: Random | None) -> str:
    """A reading in its unit: whole numbers, bar with one decimal, inches in fractions."""
    if unit is Unit.INCH:
        return length(float(value), dice)
    if value == value.to_integral_value():
        return whole(int(value), dice)
    return decimals(value)


def with_unit(words: str, unit: Unit, dice: Random | None) -> str:
    """Now and then a driver says the unit too."""
    name = _UNITS.get(unit)
    if dice is None:
        return words
    return f"{words} {name}" if name and dice.random() < 0.15 else words
