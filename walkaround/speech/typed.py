"""Answers typed at a keyboard: digits as well as words, and no doubt about what was meant."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from walkaround.exchange import Question
from walkaround.quantity import Kind, Quantity, Unit, kind_of
from walkaround.speech import cardinals, numbers
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
_WRITTEN_OUT = re.compile(r"[a-z]+(?:(?:-|\s*[,;]\s*|\s+)[a-z]+)*[.,;!]*")
"""Words alone. A sign, a digit or anything else that stands in between is part of the answer:
without it another number would be taken."""
_PART = r"(?:a|one|three|five|seven|nine|eleven|thirteen|fifteen)\s+"
_PART += rf"(?:{'|'.join(numbers.PARTS)})\b"
_DIGIT_AND_WORDS = re.compile(rf"(?<!\S)(\d{{1,4}})(?=\s+(?:(?:and\s+)?{_PART}|and\s+\d|point\b))")
_PART_IN_DIGITS = re.compile(r"([a-z])\s+(\d{1,2})/(\d{1,2})(?!\S)")
_DIGITS_BEHIND_POINT = re.compile(r"(?<=\bpoint )(\d{1,3})(?!\S)")
_SIGNS = {"¼": " 1/4", "½": " 1/2", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}
_PART_NAMES = {2: "half", 4: "quarters", 8: "eighths", 16: "sixteenths"}


def readings(words: Sequence[str], question: Question) -> Readings:
    """As numbers.readings, for "105", "105 psi", "1 3/4"; words work too."""
    text = re.sub(r"(\d)-(?=\d+/\d)", r"\1 ", _joined(words))  # "1-3/4" is 1 3/4
    found = _ONE.fullmatch(text)
    if found is None:
        row = _words(_in_words(text))
        counts = question.unit is None and question.quantity is None
        if counts and len(row) > 1 and cardinals.DIGITS.keys() >= set(row):
            return Readings()  # "four four" is a word said twice, or two numbers: never 44
        return numbers.readings(row, question)
    return _ranged([((found[1], found[2]),)], question)


def pair_readings(words: Sequence[str], question: Question) -> Readings:
    """As numbers.pair_readings, for "110 105", "primary 110, secondary 105", "110/105"."""
    text = _joined(words)
    turned = _TWO_TURNED.fullmatch(text)
    found = turned or _TWO_WHOLE.fullmatch(text) or _TWO.fullmatch(text)
    if found is None:
        return numbers.pair_readings(_words(text), question)
    # a unit typed once counts for both
    one = (found[1], found[2] or found[4])
    two = (found[3], found[4] or found[2])
    return _ranged([(two, one) if turned else (one, two)], question)


def _joined(words: Sequence[str]) -> str:
    text = " ".join(words).lower()
    for sign, part in _SIGNS.items():
        text = text.replace(sign, part)
    return " ".join(text.split())


def _words(text: str) -> tuple[str, ...]:
    """Spelled-out numbers as a keyboard writes them: "one-hundred", "Ten,". Empty when
    anything is left over that is no word."""
    return tuple(re.findall(r"[a-z]+", text)) if _WRITTEN_OUT.fullmatch(text) else ()


def _in_words(text: str) -> str:
    """A whole number in digits and its part in words, or the other way about, all in words:
    "1 three quarters", "two 1/2", "1 point five". Other mixtures stay as they are."""
    text = _PART_IN_DIGITS.sub(_part_in_words, text)
    text = _DIGIT_AND_WORDS.sub(_whole_in_words, text)
    return _DIGITS_BEHIND_POINT.sub(_digits_in_words, text)


def _part_in_words(found: re.Match[str]) -> str:
    above, below = int(found[2]), int(found[3])
    if below not in _PART_NAMES or not 0 < above < below:
        return found[0]
    joint = "" if found.string[: found.end(1)].endswith(("and", "inch", "inches")) else " and"
    return f"{found[1]}{joint} {cardinals.cardinal(above)} {_PART_NAMES[below]}"


def _whole_in_words(found: re.Match[str]) -> str:
    joined = found.string[found.end() :].lstrip().startswith(("and ", "point"))
    return cardinals.cardinal(int(found[1])) + ("" if joined else " and")


def _digits_in_words(found: re.Match[str]) -> str:
    return " ".join(cardinals.digits(int(digit)) for digit in found[1])


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
