"""Wanted measures in, verdicts out: each measure formed as each place's rule asks for it.

Here `air` and `rules` meet; they do not know each other.  Nothing is raised for what
cannot be judged: it comes back undetermined, and why.  Places under the same authorities
are judged once and told apart afterwards.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, make_dataclass, replace
from operator import attrgetter
from typing import Any, cast

from walkaround.air.buildup import STRAIGHT
from walkaround.air.measured import GaugeFacts, Measured
from walkaround.air.measures import form
from walkaround.air.plausible import Bounds, doubts
from walkaround.air.procedure import Procedure
from walkaround.exchange import Given, Number, Outcome, Verdict, Wanted, Yes
from walkaround.procedure.beyond import beyond
from walkaround.procedure.measuring import bounds_of
from walkaround.procedure.windows import in_sizes, marked_only, window_of
from walkaround.quantity import Kind
from walkaround.rules.book import RuleBook, rules_of
from walkaround.rules.judge import judge, shown
from walkaround.rules.model import Authority, Rule, Vehicle, holds
from walkaround.rules.speed import Speed, climb_speed, first_climb_speed, slower, speed_of

NO_RULE = "no rule for this place in the rule book"
_NO_CHAMBER = "no rule of this place names a limit for this brake chamber"
_NO_BRAKE = "it is not known which brake, or which chamber, was measured"
_NOT_THESE_MARKS = "no window of this place lies between the pressures that were marked"
_WEAK = "it climbed evenly and slowly: look at the compressor, its intake and its drive"
_OTHER_PRESSURE = "the strokes were measured at another pressure than this text asks for"
_RESTS_ON = "it rests on something that was not shown, and without that a pass shows nothing"
_OUTSIDE_WINDOW = "the needles are outside the window for the stroke"
_MARKS = "build-up-marks"
_BUILD_UP = "build-up"
_STROKE, _STROKE_PRESSURE, _BEYOND = "stroke", "stroke-pressure", "strokes-beyond"


@dataclass(frozen=True, slots=True)
class _Asked:
    """A wanted measure with its particulars taken out of its name and its answers."""

    inputs: Mapping[str, Given | None]
    measure: str  # as `air` knows it
    judged_as: str  # as rules name it
    shown: str  # as the verdict names it: "stroke@axle-2-left"
    brake: str
    window: tuple[str, str] | None  # of marks: ("85", "100") in psi
    doubts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Trip:
    """What stays the same for a whole trip."""

    book: RuleBook
    vehicle: Vehicle
    gauge: GaugeFacts
    bounds: Bounds
    speed: Speed | None  # at which the timed build-up of the trip is asked
    first_speed: Speed | None  # and the first climb


_At = Sequence[tuple[str, Mapping[str, tuple[Authority, ...]]]]
"""Places, each with its authorities by measure: what is the same is one object."""
_Placeless = tuple[Any, ...]
"""A verdict's fields in order, without its place."""
_FIELDS = tuple(each.name for each in fields(Verdict) if each.name != "place")
_RULE = _FIELDS.index("rule")
_fields_of = attrgetter(*_FIELDS)
_Loose: Any = make_dataclass("_Loose", (*_FIELDS, "place"), slots=True)


def _at(place: str, placeless: _Placeless) -> Verdict:
    """The verdict at a place.

    A walk that is judged everywhere has thousands of verdicts, and writing a frozen object is
    most of its cost: so it is written into a loose one of the same slots, which then becomes a
    verdict, frozen like any other, in a quarter of the time.
    """
    made = _Loose(*placeless, place)
    made.__class__ = Verdict
    return cast(Verdict, made)


@dataclass(frozen=True, slots=True)
class _Part:
    """One authority's share: the verdicts of its rules that hold and fit what was measured, and
    the rules of others that its rules take the place of."""

    verdicts: tuple[_Placeless, ...]
    replaced: tuple[str, ...]
    fitting: bool  # whether any rule fits, though it may be another climb that it judges


@dataclass(slots=True)
class _Drawn:
    """What was worked out already for one wanted measure: an authority's rules may hold at many
    places, and many rules may want a measure formed in one way."""

    parts: dict[str, _Part] = field(default_factory=dict)  # by authority
    formed: dict[tuple[str, ...], Measured] = field(default_factory=dict)


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
    `build-up-marks-85-100`, and are judged by the windows that begin and end there.  Where
    strokes are wanted, rules on how many of them are beyond the limit are judged too.
    Raises PlaceError for a place that the book does not know.
    """
    at = [(place, book.by_measure(place)) for place in map(str.upper, places)]
    bounds = bounds_of(book, vehicle, gauge)
    climbs: list[Rule] = []
    if any(each.measure.startswith(_BUILD_UP) for each in wanted):
        climbs = [rule for _, rule in book.rules_for(places, _BUILD_UP, vehicle)]
    speeds = climb_speed(climbs), first_climb_speed(climbs)
    trip = _Trip(book, vehicle, gauge, bounds, *speeds)
    verdicts: list[Verdict] = []
    for each in wanted:
        found = _everywhere(_asked(each, bounds), _within(each, at), trip)
        verdicts += found if _rests_on_a_yes(each) else map(_unfounded, found)
    strokes = _strokes(wanted)
    if strokes and vehicle.chambers:
        verdicts += _all_strokes(strokes, _strokes_at(wanted, at), trip)
    return tuple(verdicts)


def _within(wanted: Wanted, at: _At) -> _At:
    """The places it is judged for: each texts' own window may have a measurement of its own."""
    if not wanted.only:
        return at
    within = tuple(f"{each}-" for each in wanted.only)
    return [here for here in at if here[0] in wanted.only or here[0].startswith(within)]


def _strokes_at(wanted: Sequence[Wanted], at: _At) -> _At:
    first = next(each for each in wanted if each.measure.partition("@")[0] == _STROKE)
    return _within(first, at)


def _rests_on_a_yes(wanted: Wanted) -> bool:
    return all(given is not None and isinstance(given.answer, Yes) for given in wanted.rests_on)


def _unfounded(verdict: Verdict) -> Verdict:
    """A part that was not shown to be joined to the rest passes by being cut off; what did not
    pass did not, joined or not."""
    met = verdict.outcome is Outcome.MET
    return _left_open(verdict, _RESTS_ON) if met else verdict


def _everywhere(asked: _Asked, at: _At, trip: _Trip) -> list[Verdict]:
    """Judged once for each set of authorities that say anything of the measure."""
    known = _with_width(trip.vehicle, asked.inputs)
    drawn, told, by_set = _Drawn(), dict[int, list[_Placeless]](), dict[int, list[_Placeless]]()
    verdicts: list[Verdict] = []
    for place, by_measure in at:
        here = told.get(id(by_measure))
        if here is None:
            authorities = by_measure.get(asked.judged_as, ())
            if id(authorities) not in by_set:
                by_set[id(authorities)] = _by_authorities(asked, authorities, known, trip, drawn)
            here = told[id(by_measure)] = by_set[id(authorities)]
        verdicts += [_at(place, each) for each in here]
    return verdicts


def _by_authorities(
    asked: _Asked, authorities: Sequence[Authority], known: Vehicle, trip: _Trip, drawn: _Drawn
) -> list[_Placeless]:
    known_parts = drawn.parts
    parts = [
        known_parts.get(each.id) or _by_authority(asked, each, known, trip, drawn)
        for each in authorities
    ]
    verdicts = [verdict for part in parts for verdict in part.verdicts]
    if any(part.replaced for part in parts):
        gone = {old for part in parts for old in part.replaced}
        verdicts = [verdict for verdict in verdicts if verdict[_RULE] not in gone]
    if verdicts or any(part.fitting for part in parts):
        return verdicts
    rules = rules_of(authorities, asked.judged_as, known)
    measured = _formed((), {}, asked, trip, drawn)
    return [_fields_of(_unjudged(asked, measured, _why_not(asked, rules, known)))]


def _by_authority(
    asked: _Asked, authority: Authority, known: Vehicle, trip: _Trip, drawn: _Drawn
) -> _Part:
    named = authority.by_measure.get(asked.judged_as, ())
    # a stroke's chamber leaves one of dozens of rules: look at that first
    fitting = [r for r in named if _fits(r, asked, known) and holds(r, known) is not False]
    drawn_here = (_by_rule(rule, asked, known, trip, drawn) for rule in fitting)
    found = drawn.parts[authority.id] = _Part(
        tuple(_fields_of(verdict) for verdict in drawn_here if verdict is not None),
        tuple(
            old
            for rule in named
            if rule.replaces and holds(rule, known) is not False
            for old in rule.replaces
        ),
        bool(fitting),
    )
    return found


def _by_rule(
    rule: Rule, asked: _Asked, known: Vehicle, trip: _Trip, drawn: _Drawn
) -> Verdict | None:
    """None where the rule is for the other climb of this walk."""
    procedure, untold = in_sizes(rule, known) if asked.judged_as == _BUILD_UP else ({}, "")
    if asked.measure == _BUILD_UP and marked_only(rule) and not untold:
        return None
    if untold:
        measured = Measured(None, why=untold)
    else:
        measured = _formed(rule.way, procedure or rule.procedure, asked, trip, drawn)
    verdict = judge(rule, measured, known, shown_as=asked.shown, doubts=asked.doubts)
    if asked.judged_as == _STROKE_PRESSURE:
        return _as_procedure(verdict)
    if asked.measure == _MARKS:
        climbed = _as_climbed(verdict, rule, measured, trip.first_speed)
        its_own = slower(trip.first_speed, rule) and not slower(trip.speed, rule)
        return None if its_own and climbed.outcome is Outcome.UNDETERMINED else climbed
    if asked.judged_as == _BUILD_UP:
        return _as_climbed(verdict, rule, measured, trip.speed)
    return verdict


def _formed(
    way: tuple[str, ...], procedure: Procedure, asked: _Asked, trip: _Trip, drawn: _Drawn
) -> Measured:
    measured = drawn.formed.get(way)
    if measured is None:
        measured = drawn.formed[way] = form(asked.measure, asked.inputs, procedure, trip.gauge)
    return measured


def _as_procedure(verdict: Verdict) -> Verdict:
    """A pressure at which a text wants the stroke measured is no fault of the vehicle's."""
    if verdict.outcome is not Outcome.NOT_MET:
        return verdict
    open_now = _left_open(verdict, _OTHER_PRESSURE)
    return replace(open_now, doubts=(*verdict.doubts, _OUTSIDE_WINDOW))


def _as_climbed(verdict: Verdict, rule: Rule, measured: Measured, asked: Speed | None) -> Verdict:
    """Each text judges the climb that was made. One too slow at a slower engine than the text
    means shows nothing of a faster one, nor one quick enough at a faster engine of a slower."""
    if verdict.outcome is Outcome.UNDETERMINED:
        return verdict
    not_met = verdict.outcome is Outcome.NOT_MET
    than_meant = slower(asked, rule)
    if than_meant and asked is not None:
        said = f"the climb was asked at {asked.words}; this text means {_words_of(rule)}"
        if not_met is (than_meant < 0):
            return _left_open(verdict, f"{said}, and needs a climb of its own")
        return _with_why(verdict, said)
    if not_met and measured.shape == STRAIGHT:
        return _with_why(verdict, _WEAK)
    return verdict


def _with_why(verdict: Verdict, more: str) -> Verdict:
    return replace(verdict, why="; ".join(part for part in (verdict.why, more) if part))


def _words_of(rule: Rule) -> str:
    speed = speed_of(rule)
    return "no speed" if speed is None else speed.words


def _left_open(verdict: Verdict, why: str) -> Verdict:
    return replace(
        verdict,
        outcome=Outcome.UNDETERMINED,
        near=False,
        why=why,
        conformity="",
        guard="",
        repeats=0,
    )


# ---------------------------------------------------------------- which strokes are beyond


def _strokes(wanted: Sequence[Wanted]) -> dict[str, Given | None]:
    """Brake -> its stroke as answered, of those wanted."""
    found: dict[str, Given | None] = {}
    for each in wanted:
        name, _, brake = each.measure.partition("@")
        if name == _STROKE:
            found[brake or _brake(each)] = dict(each.inputs).get("reading")
    return found


def _all_strokes(
    strokes: Mapping[str, Given | None],
    at: _At,
    trip: _Trip,
) -> list[Verdict]:
    """How many brakes are beyond their limit, where a text judges that."""
    verdicts: list[Verdict] = []
    for place, by_measure in at:
        for rule in rules_of(by_measure.get(_BEYOND, ()), _BEYOND, trip.vehicle):
            authorities = by_measure.get(_STROKE, ())
            measured = beyond(rule, strokes, authorities, trip.vehicle, trip.gauge)
            verdicts.append(judge(rule, measured, trip.vehicle, place))
    return verdicts


# ---------------------------------------------------------------- what is asked


def _asked(wanted: Wanted, bounds: Bounds) -> _Asked:
    name, _, brake = wanted.measure.partition("@")
    window = None
    if name.startswith(f"{_MARKS}-"):
        low, _, high = name.removeprefix(f"{_MARKS}-").partition("-")
        name, window = _MARKS, (low, high)
    brake = brake or _brake(wanted)
    judged_as = _BUILD_UP if name == _MARKS else name
    shown = f"{judged_as}@{brake}" if brake else judged_as
    inputs = dict(wanted.inputs)
    return _Asked(inputs, name, judged_as, shown, brake, window, doubts(name, inputs, bounds))


def _brake(wanted: Wanted) -> str:
    """`axle-2-left` of the question `stroke-applied.stroke@axle-2-left`."""
    for _, answer in wanted.inputs:
        if answer is not None and "@" in answer.question:
            return answer.question.partition("@")[2]
    return ""


def _fits(rule: Rule, asked: _Asked, vehicle: Vehicle) -> bool:
    """A stroke rule is for one chamber, a window for the marks made at its edges."""
    if rule.holds_for.chamber and rule.holds_for.chamber != vehicle.chambers.get(asked.brake):
        return False
    return asked.measure != _MARKS or window_of(rule) == asked.window


def _why_not(asked: _Asked, rules: Sequence[Rule], vehicle: Vehicle) -> str:
    if not rules:
        return NO_RULE
    if asked.measure == _MARKS:
        return _NOT_THESE_MARKS
    return _NO_CHAMBER if asked.brake in vehicle.chambers else _NO_BRAKE


def _unjudged(asked: _Asked, measured: Measured, why: str) -> Verdict:
    value = "" if measured.value is None else shown(measured.value)
    return Verdict(
        rule="",
        place="",
        measure=asked.shown,
        outcome=Outcome.UNDETERMINED,
        value=value,
        limit="",
        citation="",
        standing="",
        why=why,
        doubts=asked.doubts,
    )


def _with_width(vehicle: Vehicle, inputs: Mapping[str, Given | None]) -> Vehicle:
    """A belt's width read on the spot is a fact of the vehicle like one in its profile."""
    width = inputs.get("width")
    if width is None or not isinstance(width.answer, Number):
        return vehicle
    if width.answer.value.kind is not Kind.LENGTH:
        return vehicle
    return replace(vehicle, facts={**vehicle.facts, "belt-width": width.answer.value})
