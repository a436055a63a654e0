"""Amounts in words: every quantity that an answer can mean within a question's range.

Exactly one inside the range is an answer; several are asked again; none of them is
ever preferred because it was expected.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from walkaround.exchange import Question
from walkaround.quantity import Kind, Quantity, Unit, compare, kind_of
from walkaround.speech import cardinals

SAID_UNITS: dict[str, Unit] = {
    "p s i": Unit.PSI,
    "psi": Unit.PSI,
    "pounds": Unit.PSI,
    "k p a": Unit.KPA,
    "kpa": Unit.KPA,
    "kilopascals": Unit.KPA,
    "kilo pascal": Unit.KPA,
    "bar": Unit.BAR,
    "bars": Unit.BAR,
    "seconds": Unit.SECOND,
    "second": Unit.SECOND,
    "minutes": Unit.MINUTE,
    "minute": Unit.MINUTE,
    "inches": Unit.INCH,
    "inch": Unit.INCH,
    "of an inch": Unit.INCH,
    "an inch": Unit.INCH,
    "millimeters": Unit.MILLIMETRE,
    "millimeter": Unit.MILLIMETRE,
    "millimetres": Unit.MILLIMETRE,
    "degrees": Unit.CELSIUS,
    "degrees celsius": Unit.CELSIUS,
    "degrees fahrenheit": Unit.FAHRENHEIT,
    "percent": Unit.PERCENT,
    "r p m": Unit.RPM,
}
"""Units as they are said; "degrees" alone takes the question's own unit."""

PARTS: dict[str, int] = {
    "half": 2,
    "quarter": 4,
    "quarters": 4,
    "eighth": 8,
    "eighths": 8,
    "sixteenth": 16,
    "sixteenths": 16,
}
"""The fractions an inch rule is divided into."""

PRIMARY, SECONDARY, BOTH = "primary", "secondary", "both"

_UNIT_ROWS = sorted(
    ((tuple(said.split()), unit) for said, unit in SAID_UNITS.items()),
    key=lambda row: -len(row[0]),
)


@dataclass(frozen=True, slots=True)
class Readings:
    """What an answer can mean: inside the range and outside of it. An item is one quantity,
    or two for a pair. `bare` says that a unit was needed and not said, `single` that one
    number was said where two were asked for."""

    inside: tuple[tuple[Quantity, ...], ...] = ()
    outside: tuple[tuple[Quantity, ...], ...] = ()
    bare: bool = False
    single: bool = False

    def __bool__(self) -> bool:
        return bool(self.inside or self.outside or self.bare or self.single)


def readings(words: Sequence[str], question: Question) -> Readings:
    """Every single amount that the words can mean to this question."""
    amounts = [(value, said or default_unit(question)) for value, said in _amounts(words, question)]
    if any(unit is None for _, unit in amounts):
        return Readings(bare=True)
    whole = [(Quantity(v, u),) for v, u in amounts if u is not None]
    # a count has no parts
    return sorted_by_range(
        [q for q in whole if q[0].unit is not Unit.ONE or not q[0].value % 1], question
    )


def pair_readings(words: Sequence[str], question: Question) -> Readings:
    """Every pair, primary first, that the words can mean: "primary one ten secondary one oh
    five", "one ten and one oh five", "one ten one oh five", "both one ten"."""
    row = tuple(words)
    if row[:1] == (BOTH,):
        same = readings(row[1:], question)
        return Readings(
            tuple((q, q) for (q,) in same.inside),
            tuple((q, q) for (q,) in same.outside),
            same.bare,
        )
    found: list[tuple[Quantity, ...]] = []
    if _named_split(row) is None and readings(row, question).inside:
        # "one twenty" is one gauge's reading with the other forgotten, or 1 and 20: ask again.
        return Readings(single=True)
    for first, second in _pair_splits(row):
        for a, unit_a in _amounts(first, question):
            for b, unit_b in _amounts(second, question):
                # a unit said once counts for both
                one = unit_a or unit_b or default_unit(question)
                other = unit_b or unit_a or default_unit(question)
                if one is None or other is None:
                    return Readings(bare=True)
                found.append((Quantity(a, one), Quantity(b, other)))
    return sorted_by_range(found, question)


def default_unit(question: Question) -> Unit | None:
    """The unit of a number said without one; None where it has to be said."""
    if question.unit is None and question.quantity is None:
        return Unit.ONE
    return question.unit


def _pair_splits(row: tuple[str, ...]) -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
    named = _named_split(row)
    if named is not None:
        return [named]
    if PRIMARY in row or SECONDARY in row:
        return []
    splits = [(row[:at], row[at:]) for at in range(1, len(row))]
    splits += [(a, b[1:]) for a, b in splits if b[0] == "and" and len(b) > 1]
    return splits


def _named_split(row: tuple[str, ...]) -> tuple[tuple[str, ...], tuple[str, ...]] | None:
    """Both gauges named, in either order, the name before its number or behind it."""
    if row.count(PRIMARY) != 1 or row.count(SECONDARY) != 1:
        return None
    at, other = row.index(PRIMARY), row.index(SECONDARY)
    low, high = min(at, other), max(at, other)
    if low == 0:
        first, second = row[1:high], row[high + 1 :]
    elif high == len(row) - 1:
        first, second = row[:low], row[low + 1 : high]
    else:
        return None
    first = first[:-1] if first[-1:] == ("and",) else first
    second = second[1:] if second[:1] == ("and",) else second
    return (first, second) if at < other else (second, first)


def sorted_by_range(found: list[tuple[Quantity, ...]], question: Question) -> Readings:
    """Parted into what the question's gauge can show and what it cannot."""
    unique = list(dict.fromkeys(found))
    inside = tuple(item for item in unique if all(_within(q, question) for q in item))
    outside = tuple(item for item in unique if item not in inside)
    return Readings(inside, outside)


def _within(amount: Quantity, question: Question) -> bool:
    unit = question.unit or amount.unit
    if question.low is not None and compare(amount, Quantity(question.low, unit)) < 0:
        return False
    return question.high is None or compare(amount, Quantity(question.high, unit)) <= 0


def _amounts(words: Sequence[str], question: Question) -> set[tuple[Decimal, Unit | None]]:
    """Values with the unit that was said, or None."""
    row = tuple(words)
    kind = question.quantity or kind_of(default_unit(question) or Unit.ONE)
    plain = _values(row, kind)
    if default_unit(question) is Unit.MILLIMETRE:
        plain -= _fractions(row)  # "one and three quarters" on its own is of inches
    found: set[tuple[Decimal, Unit | None]] = {(v, None) for v in plain}
    for said, unit in _UNIT_ROWS:
        meant = None if said == ("degrees",) else unit
        if row[-len(said) :] == said and kind_of(unit) is kind:
            found |= {(v, meant) for v in _values(row[: -len(said)], kind)}
    if kind is Kind.TIME:
        found |= {(v, Unit.SECOND) for v in _minutes_and_seconds(row)}
    if kind is Kind.LENGTH:
        found |= {(v, Unit.INCH) for v in _inches_and_parts(row)}
    return found


def _values(row: tuple[str, ...], kind: Kind) -> frozenset[Decimal]:
    """Plain numbers, decimals with "point" and, for lengths only, fractions."""
    found = frozenset(Decimal(n) for n in cardinals.values(row))
    if "point" in row:
        found |= _decimals(row)
    if kind is Kind.LENGTH:
        found |= _fractions(row)
    return found


def _decimals(row: tuple[str, ...]) -> frozenset[Decimal]:
    at = row.index("point")
    whole = cardinals.values(row[:at]) if at else frozenset({0})
    tail = row[at + 1 :]
    if 1 <= len(tail) <= 3 and all(word in cardinals.DIGITS for word in tail):
        places = {"".join(str(cardinals.DIGITS[word]) for word in tail)}
    else:
        places = {str(n) for n in cardinals.values(tail) if 10 <= n <= 99 and len(tail) <= 2}
    return frozenset(Decimal(f"{n}.{p}") for n in whole for p in places)


def _fractions(row: tuple[str, ...]) -> frozenset[Decimal]:
    """ "three quarters", "a half", "one and three quarters", "two three eighths"."""
    found: set[Decimal] = set(_parts(row))
    for at in range(1, len(row)):
        tail = row[at + 1 :] if row[at] == "and" else row[at:]
        found |= {n + part for n in cardinals.values(row[:at]) for part in _parts(tail)}
    return frozenset(found)


def _parts(row: tuple[str, ...]) -> frozenset[Decimal]:
    """A fraction below one."""
    if row == ("half",):
        return frozenset({Decimal("0.5")})
    if len(row) != 2 or row[1] not in PARTS:
        return frozenset()
    above = 1 if row[0] == "a" else {**cardinals.UNITS, **cardinals.TEENS}.get(row[0], 0)
    size = Fraction(above, PARTS[row[1]])
    if not 0 < size < 1:
        return frozenset()
    return frozenset({Decimal(size.numerator) / Decimal(size.denominator)})


def _inches_and_parts(row: tuple[str, ...]) -> frozenset[Decimal]:
    """ "an inch and a half", "one inch and three quarters", "an inch"."""
    found: set[Decimal] = set()
    if row == ("an", "inch"):
        found.add(Decimal(1))
    for word in ("inch", "inches"):
        if word in row[:-1]:
            at = row.index(word)
            head = row[:at]
            whole = frozenset({1}) if head == ("an",) else cardinals.values(head)
            tail = row[at + 2 :] if row[at + 1] == "and" else row[at + 1 :]
            found |= {n + part for n in whole for part in _parts(tail)}
    return frozenset(found)


def _minutes_and_seconds(row: tuple[str, ...]) -> frozenset[Decimal]:
    """ "one minute and twenty seconds", "two minutes five"; also "a minute"."""
    found: set[Decimal] = set()
    for word in ("minute", "minutes"):
        if word in row:
            at = row.index(word)
            head = frozenset({1}) if row[:at] == ("a",) else cardinals.values(row[:at])
            tail = row[at + 1 :]
            tail = tail[1:] if tail[:1] == ("and",) else tail
            tail = tail[:-1] if tail[-1:] in (("seconds",), ("second",)) else tail
            rest = {n for n in cardinals.values(tail) if n < 60} if tail else {0}
            found |= {Decimal(60 * n + s) for n in head for s in rest}
    return frozenset(found)
