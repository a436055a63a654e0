"""Answers typed at a keyboard: digits as well as words, and no doubt about what was meant."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from walkaround.exchange import Question
from walkaround.quantity import Kind, Quantity, Unit, kind_of
from walkaround.speech import numbers
from walkaround.speech.numbers import Readings

_UNITS = {unit.value.lower(): unit for unit in Unit if unit is not Unit.ONE} | {
    '"': Unit.INCH,
    "sec": Unit.SECOND,
    "inch": Unit.INCH,
    "inches": Unit.INCH,
    "seconds": Unit.SECOND,
    "minutes": Unit.MINUTE,
    "lbs": Unit.PSI,
    "c": Unit.CELSIUS,
    "f": Unit.FAHRENHEIT,
}
_NUMBER = r"(?:\d{1,5}\s+\d{1,3}/\d{1,3}|\d{1,3}/\d{1,3}|\d{1,6}(?:\.\d{1,6})?|\.\d{1,6})"
_UNIT = "|".join(re.escape(u) for u in sorted(_UNITS, key=len, reverse=True))
_AMOUNT = rf"({_NUMBER})\s*({_UNIT})?"
_ONE = re.compile(rf"\s*{_AMOUNT}\s*")
_BETWEEN = r"(?:\s*(?:,|/|\band\b)\s*|\s+)"
"""Something stands between two numbers: "105" is one, and never 10 and 5."""
_TWO = re.compile(rf"\s*(?:primary\s*)?{_AMOUNT}{_BETWEEN}(?:secondary\s*)?{_AMOUNT}\s*")
_TWO_TURNED = re.compile(rf"\s*secondary\s*{_AMOUNT}\s*(?:,|and\b)?\s*primary\s*{_AMOUNT}\s*")
_TWO_WHOLE = re.compile(r"\s*(\d{1,6})()\s*(?:,|/|and\b|\s)\s*(\d{1,6})()\s*")


def readings(words: Sequence[str], question: Question) -> Readings:
    """As numbers.readings, for "105", "105 psi", "1 3/4"; words work too."""
    found = _ONE.fullmatch(_joined(words))
    if found is None:
        return numbers.readings(_words(words), question)
    return _ranged([((found[1], found[2]),)], question)


def pair_readings(words: Sequence[str], question: Question) -> Readings:
    """As numbers.pair_readings, for "110 105", "primary 110, secondary 105", "110/105"."""
    text = _joined(words)
    turned = _TWO_TURNED.fullmatch(text)
    found = turned or _TWO_WHOLE.fullmatch(text) or _TWO.fullmatch(text)
    if found is None:
        return numbers.pair_readings(_words(words), question)
    # a unit typed once counts for both
    one = (found[1], found[2] or found[4])
    two = (found[3], found[4] or found[2])
    return _ranged([(two, one) if turned else (one, two)], question)


def _joined(words: Sequence[str]) -> str:
    return " ".join(words).lower()


def _words(words: Sequence[str]) -> tuple[str, ...]:
    """Spelled-out numbers as a keyboard writes them: "one-hundred", "Ten,"."""
    return tuple(re.findall(r"[a-z]+", _joined(words)))


def _value(number: str) -> Decimal | None:
    """ "105", "7.25", "3/8", "1 3/4"; None for a fraction of nothing."""
    if "/" not in number:
        return Decimal(number)
    whole, _, part = number.rpartition(" ")
    above, _, below = part.partition("/")
    if int(below) == 0:
        return None
    size = Fraction(int(above), int(below)) + int(whole.strip() or 0)
    return Decimal(size.numerator) / Decimal(size.denominator)


def _ranged(items: list[tuple[tuple[str, str | None], ...]], question: Question) -> Readings:
    counted = numbers.default_unit(question)
    kind = question.quantity or kind_of(counted or Unit.ONE)
    whole: list[tuple[Quantity, ...]] = []
    for item in items:
        values = [_value(number) for number, _ in item]
        units = [_UNITS[unit] if unit else counted for _, unit in item]
        if None in units:
            return Readings(bare=True)
        amounts = tuple(
            Quantity(value, unit)
            for value, unit in zip(values, units, strict=True)
            if value is not None and unit is not None and _fits(value, unit, kind)
        )
        if len(amounts) == len(item):
            whole.append(amounts)
    return numbers.sorted_by_range(whole, question)


def _fits(value: Decimal, unit: Unit, kind: Kind) -> bool:
    counts = unit is Unit.ONE
    return kind_of(unit) is kind and (not counts or value == value.to_integral_value())
