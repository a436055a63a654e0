"""Numbers and units for the ear: read-back digit by digit, and plain words for running text."""

from __future__ import annotations

import re
from decimal import Decimal

from walkaround.quantity import Quantity, Unit
from walkaround.speech import cardinals

# unit -> (one, many), as they are to be spoken
UNIT_NAMES: dict[Unit, tuple[str, str]] = {
    Unit.PSI: ("P S I", "P S I"),
    Unit.KPA: ("kilopascal", "kilopascals"),
    Unit.BAR: ("bar", "bar"),
    Unit.PA: ("pascal", "pascals"),
    Unit.PSI_PER_MIN: ("P S I per minute", "P S I per minute"),
    Unit.KPA_PER_MIN: ("kilopascal per minute", "kilopascals per minute"),
    Unit.BAR_PER_MIN: ("bar per minute", "bar per minute"),
    Unit.SECOND: ("second", "seconds"),
    Unit.MINUTE: ("minute", "minutes"),
    Unit.INCH: ("inch", "inches"),
    Unit.MILLIMETRE: ("millimetre", "millimetres"),
    Unit.CELSIUS: ("degree Celsius", "degrees Celsius"),
    Unit.FAHRENHEIT: ("degree Fahrenheit", "degrees Fahrenheit"),
    Unit.CUBIC_INCH: ("cubic inch", "cubic inches"),
    Unit.LITRE: ("litre", "litres"),
    Unit.CUBIC_FOOT: ("cubic foot", "cubic feet"),
    Unit.LITRE_PER_MIN: ("litre per minute", "litres per minute"),
    Unit.CUBIC_FOOT_PER_MIN: ("cubic foot per minute", "cubic feet per minute"),
    Unit.RPM: ("R P M", "R P M"),
    Unit.PERCENT: ("percent", "percent"),
    Unit.ONE: ("", ""),
}

_SPELLED = {
    "psi": "P S I",
    "kPa": "kilopascals",
    "rpm": "R P M",
    "CFR": "C F R",
    "FMVSS": "F M V S S",
    "CMVSS": "C M V S S",
    "CVSA": "C V S A",
    "NSC": "N S C",
    "ABS": "A B S",
}
_WRITTEN = {
    "x volume-ratio": "for air tanks of the least size",
    "100 % x belt-width": "the belt's own width",
    "x belt-width": "of the belt's width",
    "ft³ /min": "cubic feet per minute",
    "ft³/min": "cubic feet per minute",
    "ft3/min": "cubic feet per minute",
}
"""What a limit or a doubt is written as -> how it is said."""
_FRACTION_NAMES = {2: "half", 4: "quarter", 8: "eighth", 16: "sixteenth"}
_PART_NAMES = {1: "tenth", 2: "hundredth", 3: "thousandth"}  # by decimal places
_WITH_UNIT = re.compile(
    r"(?<![\w.])(\d+(?:\.\d+)?) ?(psi/min|kPa/min|bar/min|psi|kPa|bar|min|mm|in|rpm|s|°C|°F|%)"
    r"(?![\w/.]\w|\w)"
)
_FRACTION = re.compile(r"(?<![\w./])(?:(\d+) )?(\d+)/(\d+)(?: ?(in|mm)\b)?(?![\w/])")
_DECIMAL = re.compile(r"(?<![\w.])(\d+)\.(\d+)(?![\w.]\d)(?!\w)")
_SECTION = re.compile(r"(?<![\d.])(\d+(?:\.\d+){2,})")
_WHOLE = re.compile(r"\d+")


def digit_by_digit(amount: Quantity, *, with_unit: bool = True) -> str:
    """The read-back of a reading: "one, zero, five P S I"; "one, point, seven, five inches"."""
    text = f"{_plain(amount.value):f}"
    said = [_digit(c) for c in text]
    unit = unit_name(amount) if with_unit else ""
    return f"{', '.join(said)} {unit}".strip()


def in_another_form(amount: Quantity, heard: str, *, with_unit: bool = True) -> str:
    """The read-back of a reading in another form than it was heard in, so that a word taken
    for its neighbour shows: "fifteen" comes back as "one, five", and "one oh five" or
    "one five" as a number in words. A single digit has no other form."""
    if not _was_spelled(amount, heard):
        return digit_by_digit(amount, with_unit=with_unit)
    said = _with_parts(_plain(amount.value))
    return f"{said} {unit_name(amount) if with_unit else ''}".strip()


def _was_spelled(amount: Quantity, heard: str) -> bool:
    """Whether the words heard hold the amount's digits one by one ("one oh five", "two point
    five"). The nought is said either way."""
    row = [_digit(c) for c in f"{_plain(amount.value):f}"]
    words = ["zero" if word == "oh" else word for word in heard.split()]
    places = range(len(words) - len(row) + 1)
    return len(row) > 1 and any(words[at : at + len(row)] == row for at in places)


def _with_parts(value: Decimal) -> str:
    """ "one hundred and five", "seven and two tenths", "one and seventy five hundredths"."""
    whole, _, places = f"{value:f}".partition(".")
    said = number_words(int(whole))
    if len(places) not in _PART_NAMES:
        return in_words(value)
    name, one = _PART_NAMES[len(places)], int(places) == 1
    part = f"{number_words(int(places))} {name}{'' if one else 's'}"
    return part if said == "zero" else f"{said} and {part}"


def _plain(value: Decimal) -> Decimal:
    """Without needless noughts behind the point, and never as 1E+2."""
    whole = value.to_integral_value()
    return whole if whole == value else value.normalize()


def _digit(sign: str) -> str:
    return {".": "point", "-": "minus"}.get(sign) or cardinals.digits(int(sign))


def unit_name(amount: Quantity) -> str:
    one, many = UNIT_NAMES[amount.unit]
    return one if amount.value == 1 else many


def in_words(value: Decimal) -> str:
    """A number as it is said in a sentence: "ninety six point two", "one hundred and twenty"."""
    whole, _, places = f"{value:f}".partition(".")
    sign = "minus " if whole.startswith("-") else ""
    said = sign + number_words(int(whole.lstrip("-")))
    return f"{said} point {cardinals_of(places)}" if places else said


def number_words(number: int) -> str:
    """A whole number in a sentence; beyond 9999 digit by digit."""
    if number > cardinals.LARGEST:
        return cardinals.digits(number)
    return cardinals.cardinal(number, "and")


def cardinals_of(places: str) -> str:
    return " ".join(cardinals.digits(int(d)) for d in places)


def separating(amount: Quantity) -> str:
    """Said twice over, so that fifteen and fifty cannot be taken for each other:
    "fifteen, one five"."""
    words, single = in_words(amount.value), f"{_plain(amount.value):f}"
    spelled = " ".join(_digit(c) for c in single)
    both = words if spelled == words else f"{words}, {spelled}"
    return f"{both} {unit_name(amount)}".strip()


def for_the_ear(text: str) -> str:
    """Running text with its numbers, units and abbreviations written as they are spoken."""
    for written, spoken in _WRITTEN.items():
        text = text.replace(written, spoken)
    said = _FRACTION.sub(_say_fraction, text)
    said = _SECTION.sub(lambda m: " point ".join(m[1].split(".")), said)
    said = _WITH_UNIT.sub(_say_with_unit, said)
    said = _DECIMAL.sub(lambda m: f"{number_words(int(m[1]))} point {cardinals_of(m[2])}", said)
    for short, spelled in _SPELLED.items():
        said = re.sub(rf"(?<!\w){short}(?!\w)", spelled, said)
    said = said.replace("§", "section ").replace("±", "plus or minus ")
    said = _WHOLE.sub(lambda m: f" {number_words(int(m[0]))} ", said)
    return re.sub(r"\s+([,.;:?!)])", r"\1", re.sub(r"\s{2,}", " ", said)).strip()


def _say_with_unit(found: re.Match[str]) -> str:
    amount = Quantity(Decimal(found[1]), Unit(found[2]))
    return f"{in_words(amount.value)} {unit_name(amount)}"


def _say_fraction(found: re.Match[str]) -> str:
    above, below = int(found[2]), int(found[3])
    if below not in _FRACTION_NAMES or not 0 < above < below:
        return found[0]
    name = _FRACTION_NAMES[below] + ("s" if above > 1 else "")
    part = f"{'a' if above == 1 else cardinals.cardinal(above)} {name}"
    unit = UNIT_NAMES[Unit(found[4])] if found[4] else ("", "")
    if found[1]:
        return f"{number_words(int(found[1]))} and {part} {unit[1]}".strip()
    return f"{part} of an {unit[0]}" if unit[0] else part
