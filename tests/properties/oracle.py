"""A second, naive implementation: readings and printed rows in, outcomes out.

It shares nothing with `air` and `rules` but the answers' types. No caching, no generality:
whoever doubts the program's verdict can follow this one with a pencil.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from tests.properties.printed import Row

# 1 psi = 0.45359237 kg x 9.80665 m/s2 / (0.0254 m)^2
PSI = Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2 / 1000
TO_KPA = {"psi": PSI, "kPa": Fraction(1), "bar": Fraction(100)}
MET, NOT_MET, OPEN = "met", "not met", "undetermined"

HIGHER = ("cut-out", "supply-valve-closes", "park-valve-closes")
"""What is judged on the higher of two gauges; everything else on the lower."""


@dataclass(frozen=True)
class Car:
    kind: str
    units: int
    built: date | None
    circuits: int
    cut_out: tuple[str, str] | None  # ("125", "psi")
    ratio: str | None


@dataclass(frozen=True)
class Situation:
    """`numbers` are as read, in `unit`: of one gauge or of two, primary first."""

    place: str
    car: Car
    reads: str
    unit: str
    numbers: dict[str, tuple[str, ...]]
    seconds: str = ""  # of a hold, or between two marks
    pace_s: str = ""  # of a straight climb: seconds for one of `unit`


def outcome(row: Row, s: Situation) -> str | None:
    """None: the row does not speak of this vehicle or of this reading."""
    if row.reads.partition(" ")[0] != s.reads or not _for_units(row, s.car.units):
        return None
    if row.kinds and s.car.kind not in row.kinds:
        return None
    if row.circuits and row.circuits != s.car.circuits:
        return None
    if (row.since or row.before) and s.car.built is not None:
        if row.since and s.car.built < row.since:
            return None
        if row.before and s.car.built >= row.before:
            return None
    if row.how == "about":
        return OPEN
    found = _measured(row, s)
    if found is None or ((row.since or row.before) and s.car.built is None):
        return OPEN
    results = {_compared(row, value, s) for value in found}
    if len(results) > 1 or None in results:
        return OPEN
    passes = results.pop()
    if not passes and (row.one_way or row.reads == "stroke-pressure"):
        return OPEN
    if not passes and _climbed_slower(row, s):
        return OPEN
    return MET if passes else NOT_MET


def _climbed_slower(row: Row, s: Situation) -> bool:
    """In Nevada one climb is made for the code's fast idle and the manual's operating rpm, at the
    slower of them; for a single circuit the manual itself means an idle, slower still."""
    slowest = "idle" if s.car.circuits == 1 else "fast idle"
    return s.place == "US-NV" and row.meant not in ("", slowest)


def _for_units(row: Row, units: int) -> bool:
    if row.units == "any":
        return True
    if row.units.endswith("+"):
        return units >= int(row.units[:-1])
    return units == int(row.units)


def _measured(row: Row, s: Situation) -> list[Fraction] | None:
    """In kPa, kPa/min, percent or seconds; two values where the text can be read two ways."""
    match s.reads:
        case "recovery":
            return [Fraction(s.seconds)] if Fraction(s.seconds) > 0 else None
        case "build-up":
            low, high = (_printed(edge, s.unit) for edge in row.window)
            return [(high - low) / TO_KPA[s.unit] * Fraction(s.pace_s)]
        case "reserve" | "reserve-five":
            left = min(b / a for a, b in zip(_kpa(s, "before"), _kpa(s, "after"), strict=True))
            remains = row.reads.endswith(" left")
            return None if _rose(s) else [100 * (left if remains else 1 - left)]
        case "loss-released" | "loss-applied":
            return _loss(row, s)
        case "stroke-pressure":
            low, high = (_printed(edge, s.unit) for edge in row.edges)
            return [max(_kpa(s, "reading"), key=lambda p: abs(p - (low + high) / 2))]
    pick = row.gauge or ("higher" if s.reads in HIGHER else "lower")
    return [max(_kpa(s, "reading")) if pick == "higher" else min(_kpa(s, "reading"))]


def _loss(row: Row, s: Situation) -> list[Fraction] | None:
    whole = Fraction(s.seconds) // 1
    if whole < row.least_s:
        return None
    start, end = _kpa(s, "start"), _kpa(s, "end")
    if any(
        last - first > 2 * Fraction("0.5") * PSI for first, last in zip(start, end, strict=True)
    ):
        return None
    settled = max(a - b for a, b in zip(start, end, strict=True)) * 60 / whole
    if row.reads == "loss-released" or row.first_fall == "not counted":
        return [settled]
    before = _kpa(s, "before")
    if min(before) < min(start):
        return None
    counted = max(a - b for a, b in zip(before, end, strict=True)) * 60 / whole
    return [settled, counted]


def _rose(s: Situation) -> bool:
    return any(b > a for a, b in zip(_kpa(s, "before"), _kpa(s, "after"), strict=True))


def _kpa(s: Situation, name: str) -> list[Fraction]:
    return [Fraction(number) * TO_KPA[s.unit] for number in s.numbers[name]]


def _compared(row: Row, value: Fraction, s: Situation) -> bool | None:
    """None where the limit is a share of something that is not known."""
    edges = [_edge(edge, s) for edge in row.edges if edge != "lesser"]
    if None in edges:
        return None
    known = [edge for edge in edges if edge is not None]
    limit = min(known) if row.edges[0] == "lesser" else known[0]
    match row.how:
        case "<=":
            return value <= limit
        case "<":
            return value < limit
        case ">=":
            return value >= limit
        case ">":
            return value > limit
    return known[0] <= value <= known[1]


def _edge(edge: str, s: Situation) -> Fraction | None:
    if edge == "half":
        if s.car.cut_out is None:
            return None
        return Fraction(s.car.cut_out[0]) * TO_KPA[s.car.cut_out[1]] / 2
    if edge.endswith(" x ratio"):
        return Fraction(edge.split(maxsplit=1)[0]) * Fraction(s.car.ratio) if s.car.ratio else None
    if edge.endswith((" s", " %")):
        return Fraction(edge.split(maxsplit=1)[0])
    return _printed(edge, s.unit)


def _printed(edge: str, unit: str) -> Fraction:
    """A printed pressure in kPa: a gauge in psi by what is printed in psi, one in kPa or bar by
    what is printed in kPa, and by the first where that is not printed."""
    parts = [part.split() for part in edge.split(" / ")]
    wanted = "psi" if unit == "psi" else "kPa"
    number, of = next((part for part in parts if part[1] == wanted), parts[0])
    return Fraction(number) * TO_KPA[of]
