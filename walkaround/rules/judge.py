"""One rule applied to one measure: met, not met or undetermined.

The default is undetermined; met and not met are decided only by an exact comparison,
in a unit that the text prints.  Beside the outcome stands how near it was, from the
expanded uncertainty U (k = 2) handed over with the value: see `nearness`.  It never
changes the outcome.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Context
from fractions import Fraction

from walkaround.exchange import Outcome, Verdict
from walkaround.quantity import Kind, Quantity, Unit, kind_of, one_system
from walkaround.rules.model import (
    Amount,
    Bound,
    Comparison,
    HoldsFor,
    Measured,
    Rule,
    Vehicle,
    holds,
)
from walkaround.rules.nearness import Nearness, away, in_words, nearness

_COVERAGE = "(k = 2)"
_READABLE = Context(prec=6)
_NOTHING = Fraction(0)


class _UnknownError(Exception):
    """Why nothing can be decided: one clause."""


def judge(
    rule: Rule,
    measured: Measured,
    vehicle: Vehicle,
    place: str = "",
    *,
    shown_as: str = "",
    doubts: tuple[str, ...] = (),
) -> Verdict:
    """The verdict at a place. Never raises: what cannot be judged is undetermined, and why.

    `shown_as` is the measure's name with its particulars, `stroke@axle-1-left`; `doubts` are
    handed on as they are.
    """
    how: Nearness | None = None
    try:
        outcome, how, why = _decide(rule, measured, vehicle)
    except _UnknownError as unknown:
        outcome, why = Outcome.UNDETERMINED, str(unknown)
    value, uncertainty = measured.value, measured.uncertainty
    return Verdict(
        rule=rule.id,
        place=place,
        measure=shown_as or rule.measure,
        outcome=outcome,
        value="" if value is None else shown(value),
        limit=rule.limit_shown,
        citation=rule.citation_shown,
        standing=rule.standing.value,
        severity=rule.severity,
        uncertainty="" if uncertainty is None else f"± {uncertainty} {_COVERAGE}",
        near=how is not None and how.near,
        why="; ".join(part for part in (why, rule.note) if part),
        conformity="" if how is None else in_words(how.probability),
        guard=how.statement.value if how is not None and how.near else "",
        repeats=0 if how is None else how.repeats,
        doubts=doubts,
    )


@dataclass(frozen=True, slots=True)
class _Read:
    """A value as read, with nothing known of how surely."""

    value: Quantity | str | None
    uncertainty: Quantity | None = None
    why: str = ""
    other: Quantity | None = None
    shared: Quantity | None = None


def judge_alone(rule: Rule, value: Quantity, vehicle: Vehicle) -> Verdict:
    """The value by the rule's limit, whether or not the rule is for this vehicle: for looking
    things up. Only the vehicle's facts are used."""
    anyone = replace(rule, holds_for=HoldsFor())
    return judge(anyone, _Read(value), vehicle)


def _decide(
    rule: Rule, measured: Measured, vehicle: Vehicle
) -> tuple[Outcome, Nearness | None, str]:
    value = measured.value
    if value is None:
        raise _UnknownError(measured.why or "there is no reading")
    held = holds(rule, vehicle)
    if held is False:
        raise _UnknownError("the rule is not for this vehicle")
    if held is None:
        raise _UnknownError("a fact that decides whether the rule holds is not known")
    if rule.limit.comparison is Comparison.ABOUT:
        raise _UnknownError(f"the text says '{rule.limit.worded}' and draws no line")
    if isinstance(value, str):
        return _in_words(rule, value), None, measured.why
    if rule.limit.comparison is Comparison.IS:
        raise _UnknownError("the rule asks for an answer in words")
    size = value.base
    edges = [_edge(bound, value, vehicle) for bound in rule.limit.bounds]
    met = _met(rule.limit.comparison, size, edges)
    if measured.other is not None:
        _must_agree(rule, met, measured, vehicle)
    if not met and rule.one_way:
        raise _UnknownError(rule.one_way)
    how = _how_near(rule.limit.comparison, measured, (size, edges), met)
    return (Outcome.MET if met else Outcome.NOT_MET), how, measured.why


def _how_near(
    comparison: Comparison, measured: Measured, at: tuple[Fraction, list[Fraction]], met: bool
) -> Nearness | None:
    """Of a text that can be read two ways, by the value that lies nearer to the edge."""
    guard = _width(measured.uncertainty)
    if not guard:
        return None
    shared = _NOTHING if measured.shared is None else min(measured.shared.width, guard)
    size, edges = at
    other = measured.other
    if other is not None and away(other.base, edges) < away(size, edges):
        size = other.base
    return nearness(comparison, size, edges, guard, met=met, shared=shared)


def _in_words(rule: Rule, value: str) -> Outcome:
    if value in rule.limit.words:
        return Outcome.MET
    if value in rule.limit.fails:
        return Outcome.NOT_MET
    raise _UnknownError(f"the rule does not say what '{value}' means")


def _must_agree(rule: Rule, met: bool, measured: Measured, vehicle: Vehicle) -> None:
    """A text that can be read two ways decides only where both ways agree."""
    other = measured.other
    if other is None:
        return
    edges = [_edge(bound, other, vehicle) for bound in rule.limit.bounds]
    if _met(rule.limit.comparison, other.base, edges) is not met:
        raise _UnknownError(
            "the text can be read two ways and they differ: "
            f"{measured.why or f'{shown(other)} the other way'}"
        )


def _met(comparison: Comparison, size: Fraction, edges: list[Fraction]) -> bool:
    match comparison:
        case Comparison.AT_MOST:
            return size <= edges[0]
        case Comparison.LESS_THAN:
            return size < edges[0]
        case Comparison.AT_LEAST:
            return size >= edges[0]
        case Comparison.MORE_THAN:
            return size > edges[0]
        case Comparison.BETWEEN:
            return min(edges) <= size <= max(edges)
    raise _UnknownError("the comparison decides nothing")


def _edge(bound: Bound, value: Quantity, vehicle: Vehicle) -> Fraction:
    return min(_size(_printed_for(amounts, value.unit), value, vehicle) for amounts in bound.lesser)


def _printed_for(amounts: tuple[Amount, ...], unit: Unit) -> Amount:
    """The amount printed in the reading's own unit, else in its system (a reading in bar is
    judged by the printed kilopascals, as the same one in kilopascals is), else the first."""
    if len(amounts) > 1:
        for amount in amounts:
            if amount.printed.unit is unit:
                return amount
        for amount in amounts:
            if one_system(amount.printed.unit, unit):
                return amount
    return amounts[0]


def _size(amount: Amount, value: Quantity, vehicle: Vehicle) -> Fraction:
    kind, size = amount.printed.kind, amount.base
    if amount.of:
        fact = vehicle.facts.get(amount.of)
        if fact is None:
            raise _UnknownError(
                f"the limit is a share of the vehicle's {amount.of}, which is not known"
            )
        size *= fact.base
        kind = fact.kind if kind is Kind.RATIO else kind
    if kind is not value.kind:
        raise _UnknownError(f"the reading is a {value.kind} and the limit a {kind}")
    return size


def _width(uncertainty: Quantity | None) -> Fraction:
    return _NOTHING if uncertainty is None else uncertainty.width


def shown(value: Quantity | str) -> str:
    """Short enough to read; judging never uses it."""
    if isinstance(value, str):
        return value
    return f"{_READABLE.plus(value.value).normalize():f} {value.unit}"


def printed_units(rule: Rule) -> tuple[Unit, ...]:
    """The units a rule can be judged in, as printed; for asking and for showing."""
    return tuple(
        dict.fromkeys(
            amount.printed.unit
            for bound in rule.limit.bounds
            for amounts in bound.lesser
            for amount in amounts
            if kind_of(amount.printed.unit) is not Kind.RATIO or not amount.of
        )
    )
