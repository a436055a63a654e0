"""Wanted measures in, verdicts out: each measure formed as each place's rule asks for it.

Here `air` and `rules` meet; they do not know each other.  Nothing is raised for what
cannot be judged: it comes back undetermined, and why.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from walkaround.air.measured import GaugeFacts, Measured
from walkaround.air.measures import form
from walkaround.air.reservoir import chamber_volume, required_volume, volume_ratio
from walkaround.exchange import Given, Number, Outcome, Verdict, Wanted
from walkaround.procedure.profile import Profile
from walkaround.quantity import Kind, Quantity, Unit, from_base
from walkaround.rules.book import RuleBook
from walkaround.rules.judge import judge, shown
from walkaround.rules.model import Rule, Vehicle
from walkaround.rules.speed import one_speed_serves

NO_RULE = "no rule for this place in the rule book"
_NO_CHAMBER = "no rule of this place names a limit for this brake chamber"
_NO_BRAKE = "it is not known which brake, or which chamber, was measured"
_NOT_THESE_MARKS = "no window of this place lies between the pressures that were marked"
_TWO_SPEEDS = "the rules of this trip ask for different engine speeds: this one needs its own climb"
_MARKS = "build-up-marks"
_STROKE_PRESSURE = "stroke-pressure"
_OTHER_PRESSURE = "the strokes were measured at another pressure than this text asks for"
_TOWING = ("supply", "primary", "secondary")


@dataclass(frozen=True, slots=True)
class _Asked:
    """A wanted measure with its particulars taken out of its name and its answers."""

    wanted: Wanted
    measure: str  # as `air` knows it
    judged_as: str  # as rules name it
    shown: str  # as the verdict names it: "stroke@axle-2-left"
    brake: str
    window: tuple[str, str] | None  # of marks: ("85", "100") in psi


@dataclass(frozen=True, slots=True)
class _Trip:
    """What stays the same for a whole trip."""

    book: RuleBook
    vehicle: Vehicle
    gauge: GaugeFacts


def judge_all(
    wanted: Sequence[Wanted],
    book: RuleBook,
    places: Sequence[str],
    vehicle: Vehicle,
    gauge: GaugeFacts,
) -> tuple[Verdict, ...]:
    """Every wanted measure by every rule of every place, in that order.

    A measure that no rule of a place judges gives one undetermined verdict there, with
    the value where one can be formed.  Marks name their pressures in psi,
    `build-up-marks-85-100`, and are judged by the windows that begin and end there.
    Raises PlaceError for a place that the book does not know.
    """
    served = one_speed_serves([r for _, r in book.rules_for(places, "build-up", vehicle)])
    trip = _Trip(book, vehicle, gauge)
    verdicts: list[Verdict] = []
    for each in wanted:
        asked, drawn = _asked(each), dict[str, Verdict]()
        for place in places:
            verdicts += _at_place(asked, place.upper(), trip, drawn)
    return tuple(verdict if served else _needs_own_climb(verdict) for verdict in verdicts)


def _needs_own_climb(verdict: Verdict) -> Verdict:
    """A climb too slow at one speed shows nothing about a faster one; a quick one does."""
    if verdict.measure != "build-up" or verdict.outcome is not Outcome.NOT_MET:
        return verdict
    return replace(verdict, outcome=Outcome.UNDETERMINED, near=False, why=_TWO_SPEEDS)


def gauge_facts(book: RuleBook, accuracy: Quantity | None = None) -> GaugeFacts:
    """What readings are taken with, from the book's constants. Raises KeyError without them.

    `accuracy` is the gauge's own error where it is to be counted.
    """
    sizes = {name: constant.value for name, constant in book.constants.items()}
    return GaugeFacts(
        needle=sizes["needle-step"],
        timing=sizes["interval-timing"],
        accuracy=accuracy,
        length=sizes.get("length-step"),
        temperature=sizes.get("temperature-step"),
    )


def vehicle_of(profile: Profile, book: RuleBook) -> Vehicle:
    """The facts of a profile that decide which rule holds and what its limit is a share of.

    The reservoir ratio of FMVSS 121 S5.1.1 is formed from the power unit's supply and
    service reservoirs and its own chambers; not when a combination's profile does not say
    which brakes are the trailers'.
    """
    facts = dict(profile.sizes)
    ratio = _ratio(profile, book)
    if ratio is not None:
        facts["volume-ratio"] = ratio
    return Vehicle(
        kind=profile.kind,
        units=profile.units,
        built=profile.built,
        circuits=int(profile.chosen["circuits"]),
        facts=facts,
        chambers={brake.at: brake.chamber for brake in profile.brakes},
    )


def _ratio(profile: Profile, book: RuleBook) -> Quantity | None:
    tanks = [profile.reservoirs[name] for name in _TOWING if name in profile.reservoirs]
    chambers = [brake.chamber for brake in profile.brakes if brake.unit == 1]
    factor = book.constants.get("truck-reservoir-factor")
    mixed = profile.units > 1 and len(chambers) == len(profile.brakes)
    if mixed or len(tanks) < len(_TOWING) or factor is None:
        return None
    if any(chamber not in book.chamber_volumes for chamber in chambers):
        return None
    actual = from_base(sum((tank.base for tank in tanks), tanks[0].base * 0), Unit.CUBIC_INCH)
    required = required_volume(chamber_volume(chambers, book.chamber_volumes), factor.value)
    return volume_ratio(actual, required)


def _asked(wanted: Wanted) -> _Asked:
    name, _, brake = wanted.measure.partition("@")
    window = None
    if name.startswith(f"{_MARKS}-"):
        low, _, high = name.removeprefix(f"{_MARKS}-").partition("-")
        name, window = _MARKS, (low, high)
    brake = brake or _brake(wanted)
    judged_as = "build-up" if name == _MARKS else name
    shown = f"{judged_as}@{brake}" if brake else judged_as
    return _Asked(wanted, name, judged_as, shown, brake, window)


def _brake(wanted: Wanted) -> str:
    """`axle-2-left` of the question `stroke-applied.stroke@axle-2-left`."""
    for _, answer in wanted.inputs:
        if answer is not None and "@" in answer.question:
            return answer.question.partition("@")[2]
    return ""


def _at_place(asked: _Asked, place: str, trip: _Trip, drawn: dict[str, Verdict]) -> list[Verdict]:
    """`drawn` keeps each rule's verdict, since one rule may hold at many places of a trip."""
    inputs = dict(asked.wanted.inputs)
    known = _with_width(trip.vehicle, inputs)
    rules = [rule for _, rule in trip.book.rules_for((place,), asked.judged_as, known)]
    fitting = [rule for rule in rules if _fits(rule, asked, known)]
    if not fitting:
        return [_unjudged(asked, place, trip.gauge, _why_not(asked, rules, known))]
    for rule in fitting:
        if rule.id not in drawn:
            measured = form(asked.measure, inputs, rule.procedure, trip.gauge)
            verdict = _as_procedure(judge(rule, measured, known))
            drawn[rule.id] = replace(verdict, measure=asked.shown)
    return [replace(drawn[rule.id], place=place) for rule in fitting]


def _as_procedure(verdict: Verdict) -> Verdict:
    """A pressure at which a text wants the stroke measured is no fault of the vehicle's."""
    if verdict.measure != _STROKE_PRESSURE or verdict.outcome is not Outcome.NOT_MET:
        return verdict
    return replace(verdict, outcome=Outcome.UNDETERMINED, near=False, why=_OTHER_PRESSURE)


def _fits(rule: Rule, asked: _Asked, vehicle: Vehicle) -> bool:
    """A stroke rule is for one chamber, a window for the marks made at its edges."""
    if rule.holds_for.chamber and rule.holds_for.chamber != vehicle.chambers.get(asked.brake):
        return False
    return asked.measure != _MARKS or _window(rule) == asked.window


def _window(rule: Rule) -> tuple[str, str] | None:
    """Edges in psi where the text prints them so."""
    edges = []
    for key in ("from", "to"):
        in_psi = [
            part for part in rule.procedure.get(key, "").split(" / ") if part.endswith(" psi")
        ]
        if not in_psi:
            return None
        edges.append(in_psi[0].removesuffix(" psi"))
    return edges[0], edges[1]


def _why_not(asked: _Asked, rules: Sequence[Rule], vehicle: Vehicle) -> str:
    if not rules:
        return NO_RULE
    if asked.measure == _MARKS:
        return _NOT_THESE_MARKS
    return _NO_CHAMBER if asked.brake in vehicle.chambers else _NO_BRAKE


def _unjudged(asked: _Asked, place: str, gauge: GaugeFacts, why: str) -> Verdict:
    measured: Measured = form(asked.measure, dict(asked.wanted.inputs), {}, gauge)
    value = "" if measured.value is None else shown(measured.value)
    return Verdict(
        rule="",
        place=place,
        measure=asked.shown,
        outcome=Outcome.UNDETERMINED,
        value=value,
        limit="",
        citation="",
        standing="",
        why=why,
    )


def _with_width(vehicle: Vehicle, inputs: Mapping[str, Given | None]) -> Vehicle:
    """A belt's width read on the spot is a fact of the vehicle like one in its profile."""
    width = inputs.get("width")
    if width is None or not isinstance(width.answer, Number):
        return vehicle
    if width.answer.value.kind is not Kind.LENGTH:
        return vehicle
    return replace(vehicle, facts={**vehicle.facts, "belt-width": width.answer.value})
