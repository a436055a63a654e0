"""Questions out of the rule book of a place and out of the parts, with what is right.

A limit is asked for as a number with its unit, or as its two edges; or it is asked whether
a value at, just under or just over an edge is inside, which the rule itself decides.
Chance is handed in as a number below n.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from walkaround.air.measured import Measured
from walkaround.exchange import AskKind, Outcome, Question
from walkaround.learning.memory import Key
from walkaround.learning.parts import PartQuestion, PartsBook
from walkaround.quantity import Kind, Quantity, Unit, compare
from walkaround.rules.book import RuleBook
from walkaround.rules.judge import judge
from walkaround.rules.model import Bound, Comparison, Rule, Vehicle
from walkaround.speech import typed

Dice = Callable[[int], int]
"""A number from 0 below n."""

_HOLE = re.compile(r"\{(from|to)\}")
_LEAD = re.compile(
    r"\b(at most|at least|not more than|no more than|not less than|no less than|less than|"
    r"more than|not over|not higher than|not lower than|maximum|minimum|up to|about|exactly|"
    r"between|within|from|over|under|above|below|it is|around|roughly|the limit is|at|is|by)\b"
)
_A_MINUTE = re.compile(r"\b(per minute|a minute|in a minute|in one minute|each minute)\b|/min")
_PLAIN_UNIT = {Unit.PSI_PER_MIN: Unit.PSI, Unit.KPA_PER_MIN: Unit.KPA, Unit.BAR_PER_MIN: Unit.BAR}
"""A fall in one minute is said as a pressure."""
_STEPS: dict[Unit, Decimal] = {
    Unit.KPA: Decimal(10),
    Unit.BAR: Decimal("0.1"),
    Unit.INCH: Decimal("0.125"),
}
"""How far beside an edge a value is put; 1 in other units."""


@dataclass(frozen=True, slots=True)
class LimitQuestion:
    """Asks for the rule's limit: one of `edges` for each bound, as printed, in any unit."""

    key: Key
    text: str
    rule: Rule
    edges: tuple[tuple[Quantity, ...], ...]


@dataclass(frozen=True, slots=True)
class EdgeQuestion:
    """Asks whether a value is inside; the rule has decided."""

    key: Key
    text: str
    rule: Rule
    value: Quantity
    inside: bool


@dataclass(frozen=True, slots=True)
class PartAsked:
    """Asks about a part."""

    key: Key
    text: str
    part: PartQuestion


QuizQuestion = LimitQuestion | EdgeQuestion | PartAsked


def questions_for(
    book: RuleBook, parts: PartsBook, place: str, vehicle: Vehicle, dice: Dice
) -> tuple[QuizQuestion, ...]:
    """One question for each rule that a number can answer, and each about a part.

    Raises PlaceError for a place that the book does not know.
    """
    found: list[QuizQuestion] = []
    for measure in book.measures([place]):
        rules = [rule for _, rule in book.rules_for([place], measure, vehicle)]
        for rule in _differing(rules, vehicle):
            asked = _of_rule(rule, parts, place, vehicle, dice)
            if asked is not None:
                found.append(_with_source(asked, _rivals(rule, rules)))
    here = place.upper()
    return (*found, *(PartAsked(Key(f"part:{p.name}", here), p.ask, p) for p in parts.parts))


def _differing(rules: Sequence[Rule], vehicle: Vehicle) -> list[Rule]:
    """Of rules that set the same limit in the same way only the first; of chambers the
    vehicle's own."""
    chambers = {"", *vehicle.chambers.values()}
    kept: dict[tuple[str, str, str], Rule] = {}
    for rule in rules:
        if rule.holds_for.chamber in chambers:
            key = (rule.holds_for.chamber, str(rule.limit.comparison), str(rule.limit.bounds))
            kept.setdefault(key, rule)
    return list(kept.values())


def _rivals(rule: Rule, rules: Sequence[Rule]) -> bool:
    """Whether another text at this place limits the same thing of the same vehicle."""
    return any(
        other.id != rule.id
        and other.holds_for.chamber == rule.holds_for.chamber
        and other.limit != rule.limit
        for other in rules
    )


def _with_source(asked: LimitQuestion | EdgeQuestion, needed: bool) -> LimitQuestion | EdgeQuestion:
    """Where texts differ the question says whose limit is meant."""
    if not needed:
        return asked
    document, section = asked.rule.citation.document.title, asked.rule.citation.section
    return replace(asked, text=f"By {document}, {section}: {asked.text}")


def _of_rule(
    rule: Rule, parts: PartsBook, place: str, vehicle: Vehicle, dice: Dice
) -> LimitQuestion | EdgeQuestion | None:
    bounds = rule.limit.bounds
    if not bounds or rule.limit.comparison in (Comparison.ABOUT, Comparison.IS):
        return None
    if any(amount.of for bound in bounds for amounts in bound.lesser for amount in amounts):
        return None
    key = Key(f"rule:{rule.id}", place.upper())
    for make in (_edge, _limit) if dice(2) else (_limit, _edge):
        asked = make(key, rule, parts, vehicle, dice)
        if asked is not None:
            return asked
    return None


def _limit(
    key: Key, rule: Rule, parts: PartsBook, _vehicle: Vehicle, _dice: Dice
) -> LimitQuestion | None:
    way = "at least" if rule.limit.comparison in _LOWER else "at most"
    text = parts.measures.get(f"{rule.measure}/{way}", parts.measures.get(rule.measure, ""))
    printed = tuple(_printed(bound) for bound in rule.limit.bounds)
    asked = _filled(text, rule)
    return LimitQuestion(key, f"{asked}{_of_chamber(rule)}", rule, printed) if asked else None


def _filled(text: str, rule: Rule) -> str:
    """With the rule's own window put in; "" where it has none or there is no text."""
    if any(hole[1] not in rule.procedure for hole in _HOLE.finditer(text)):
        return ""
    return _HOLE.sub(lambda hole: rule.procedure[hole[1]], text)


_LOWER = (Comparison.AT_LEAST, Comparison.MORE_THAN)


def _printed(bound: Bound) -> tuple[Quantity, ...]:
    """Every printed amount of an edge: of "the lesser of", the first."""
    return tuple(amount.printed for amount in bound.lesser[0])


def _of_chamber(rule: Rule) -> str:
    return f" Chamber: {rule.holds_for.chamber}." if rule.holds_for.chamber else ""


def _edge(
    key: Key, rule: Rule, parts: PartsBook, vehicle: Vehicle, dice: Dice
) -> EdgeQuestion | None:
    text = _filled(parts.edges.get(rule.measure, ""), rule)
    if not text or rule.one_way:
        return None
    edges = [_printed(bound)[0] for bound in rule.limit.bounds]
    edge = edges[dice(len(edges))]
    step = _STEPS.get(edge.unit, Decimal(1))
    value = Quantity(edge.value + (dice(3) - 1) * step, edge.unit)
    decided = judge(rule, Measured(value), vehicle).outcome
    if decided is Outcome.UNDETERMINED:
        return None
    asked = f"{text.replace('{value}', str(value))}{_of_chamber(rule)}"
    return EdgeQuestion(key, asked, rule, value, decided is Outcome.MET)


# ---------------------------------------------------------------- judging a number


class NoUnitError(Exception):
    """A number was said and its unit was not."""


class OneNumberError(Exception):
    """One number was said where the limit has two edges."""


def limit_is_right(asked: LimitQuestion, answer: str) -> bool | None:
    """Whether the numbers said are the limit's edges; None when there is no number in it.

    Compared exactly, in any unit; in a unit that is not printed to what a gauge can show.
    Raises NoUnitError, OneNumberError.
    """
    said = _numbers(answer, asked.edges)
    if said is None:
        return None
    if len(said) != len(asked.edges):
        raise OneNumberError
    orders = (said, said[::-1])
    return any(
        all(_same(number, edge) for number, edge in zip(order, asked.edges, strict=True))
        for order in orders
    )


def _numbers(answer: str, edges: Sequence[Sequence[Quantity]]) -> tuple[Quantity, ...] | None:
    unit = edges[0][0].unit
    kind = edges[0][0].kind
    if kind is Kind.RATE:
        answer, kind = _A_MINUTE.sub(" ", answer.lower()), Kind.PRESSURE
    plain = _LEAD.sub(" ", answer.lower()).replace(" to ", " and ")
    row = tuple(plain.replace("?", " ").replace(".", ". ").replace(". ", ".").split())
    known = Unit.PERCENT if unit is Unit.PERCENT else None
    if len(edges) > 1:
        pair = typed.pair_readings(row, Question("", AskKind.PAIR, quantity=kind, unit=known))
        if pair.bare:
            raise NoUnitError
        if pair.inside:
            return pair.inside[0]
    one = typed.readings(row, Question("", AskKind.NUMBER, quantity=kind, unit=known))
    if one.bare:
        raise NoUnitError
    return one.inside[0] if one.inside else None


def _same(said: Quantity, printed: Sequence[Quantity]) -> bool:
    plain = [Quantity(p.value, _PLAIN_UNIT.get(p.unit, p.unit)) for p in printed]
    if any(compare(said, amount) == 0 for amount in plain):
        return True
    if said.unit in [amount.unit for amount in plain]:
        return False
    step = _STEPS.get(said.unit, Decimal(1))
    return any(abs(amount.to(said.unit).value - said.value) * 2 <= step for amount in plain)
