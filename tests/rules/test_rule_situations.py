"""Readings -> verdict, from `tests/situations`; the source of each case stands beside it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path

import pytest

from tests.rules.book_of_rules import the_book
from walkaround.air.measured import Measured
from walkaround.errors import SheetError
from walkaround.exchange import (
    Answer,
    Choice,
    Given,
    Held,
    Mark,
    No,
    Number,
    Pair,
    Point,
    Rise,
    Wanted,
    Yes,
)
from walkaround.procedure.judging import judge_all
from walkaround.procedure.measuring import gauge_facts
from walkaround.quantity import quantity
from walkaround.rules.judge import judge
from walkaround.rules.model import Comparison, Vehicle
from walkaround.sheet import Reader, Table, read_sheet

FOLDER = Path(__file__).parent.parent / "situations"
USUAL = "truck 1 2016-05-31 2"


def _cases(name: str) -> tuple[Table, ...]:
    table = read_sheet((FOLDER / name).read_bytes(), name)
    return Reader(table, SheetError).rows("cases")


def _texts(table: Table, key: str) -> tuple[str, ...]:
    return Reader(table, SheetError).texts(key)


def _text(table: Table, key: str, default: str = "") -> str:
    found = _texts(table, key)
    return found[0] if found else default


def _vehicle(text: str) -> Vehicle:
    kind, units, built, circuits, *facts = text.split()
    sizes = {}
    for fact in facts:
        name, _, size = fact.partition("=")
        spaced = re.sub(r"(?<=\d)(?=[a-z])", " ", size)
        sizes[name] = quantity(spaced if " " in spaced else f"{spaced} 1")
    when = None if built == "-" else date.fromisoformat(built)
    return Vehicle(kind, int(units), when, int(circuits), sizes)


def _ms(text: str) -> int:
    return int(quantity(text).base * 1000)


def _answer(text: str) -> tuple[Answer, int]:
    first, _, rest = text.partition(" ")
    if text in ("yes", "no"):
        return (Yes() if text == "yes" else No()), 0
    match first:
        case "hold":
            return Held(0, _ms(rest)), 0
        case "mark":
            return Mark(), _ms(rest)
        case "choice":
            return Choice(rest), 0
        case "rise":
            calls = [call.split(": ") for call in rest.split(", ")]
            return Rise(tuple(Point(_ms(at), quantity(value)) for at, value in calls)), 0
    if " | " in text:
        primary, secondary = text.split(" | ")
        return Pair(quantity(primary), quantity(secondary)), 0
    return Number(quantity(text)), 0


def _wanted(case: Table) -> Wanted:
    answers = case.items["answers"]
    assert isinstance(answers, Table)
    inputs = []
    for name in answers.items:
        answer, at_ms = _answer(_text(answers, name))
        inputs.append((name, Given(f"step.{name}", answer, 1, at_ms)))
    return Wanted(_text(case, "measure"), tuple(inputs))


LIMITS = _cases("limits.yaml")
READINGS = _cases("readings.yaml")


@pytest.mark.parametrize("case", LIMITS, ids=[_text(case, "rule") for case in LIMITS])
def test_a_value_at_inside_and_outside_the_limit(case: Table) -> None:
    rule = the_book().rule(_text(case, "rule"))
    vehicle = _vehicle(_text(case, "vehicle", USUAL))
    assert _text(case, "source")
    for outcome in ("met", "not met"):
        for value in _texts(case, outcome):
            verdict = judge(rule, Measured(quantity(value)), vehicle)
            assert (value, verdict.outcome.value, verdict.why) == (value, outcome, verdict.why)


@pytest.mark.parametrize("case", READINGS, ids=[_text(case, "name") for case in READINGS])
def test_readings_lead_to_the_verdict(case: Table) -> None:
    book = the_book()
    vehicle = _vehicle(_text(case, "vehicle", USUAL))
    verdicts = judge_all([_wanted(case)], book, _texts(case, "places"), vehicle, gauge_facts(book))
    expected = case.items["verdicts"]
    assert isinstance(expected, Table)
    found: Mapping[str, set[str]] = {
        rule: {v.outcome.value for v in verdicts if v.rule == rule} for rule in expected.items
    }
    assert found == {rule: {_text(expected, rule)} for rule in expected.items}
    assert not {v.rule for v in verdicts} & set(_texts(case, "absent"))


def test_every_rule_with_a_number_has_its_limits_tried() -> None:
    tried = {_text(case, "rule") for case in LIMITS}
    numbered = {
        rule.id
        for rule in the_book().rules
        if rule.limit.comparison not in (Comparison.ABOUT, Comparison.IS)
        and not rule.holds_for.chamber
    }
    assert numbered - tried == set()
