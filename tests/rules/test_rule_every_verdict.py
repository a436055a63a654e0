"""Every field of a verdict, and every reason for which none is drawn, to the letter.

Written against small changes of the code that no other test noticed (tests/mutation).
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

import pytest

from tests.rules.test_rule_every_part import WHOLE
from walkaround.air.measured import Measured
from walkaround.exchange import Outcome
from walkaround.quantity import Quantity, quantity
from walkaround.rules.judge import judge
from walkaround.rules.load import load_rules
from walkaround.rules.model import Vehicle

MORE = (
    WHOLE
    + b"""
  - id: band
    statement: Between 20 and 30.
    measure: governor-band
    comparison: between
    limit: 20 psi / 140 kPa and 30 psi / 210 kPa
    document: book
    section: governor
    standing: published
  - id: share
    statement: At least half.
    measure: cut-in
    comparison: at least
    limit: 50 % x cut-out
    document: book
    section: half
    standing: published
  - id: roughly
    statement: About 125.
    measure: cut-out
    comparison: about
    limit: 125 psi
    document: talk
    section: cut-out
    standing: common practice
"""
)
BOOK = load_rules({"xx.yaml": MORE})
TRUCK = Vehicle("truck", 1, date(1995, 1, 1), 2, {"cut-out": quantity("120 psi")})


def _judged(rule: str, value: Quantity | str | None, vehicle: Vehicle = TRUCK, **more: Any) -> Any:
    return judge(BOOK.rule(rule), Measured(value, **more), vehicle, "CA-ON")


def _fields(verdict: Any) -> dict[str, Any]:
    return {name: getattr(verdict, name) for name in verdict.__slots__}


def test_every_field_of_a_verdict() -> None:
    verdict = _judged("xx.leak-single", quantity("1.5 psi/min"))
    assert _fields(verdict) == {
        "rule": "xx.leak-single", "place": "CA-ON", "measure": "loss-released",
        "outcome": Outcome.MET, "value": "1.5 psi/min", "limit": "less than 2 psi/min",
        "citation": "A Book, first part, second, 2020", "standing": "published",
        "severity": "minor", "uncertainty": "", "near": False, "why": "", "conformity": "",
        "guard": "", "repeats": 0, "doubts": (),
    }  # fmt: skip


def test_notes_and_reasons_stand_together() -> None:
    stroke = _judged("xx.stroke-clamp-16", quantity("1.5 in"), why="measured twice")
    assert (stroke.outcome, stroke.why) == (Outcome.MET, "measured twice; adjusted strokes")
    assert _judged("xx.stroke-clamp-16", quantity("1.5 in")).why == "adjusted strokes"
    sure = _judged("xx.leak-single", quantity("1.5 psi/min"), uncertainty=quantity("0.1 psi/min"))
    assert (sure.uncertainty, sure.near) == ("± 0.1 psi/min (k = 2)", False)
    near = _judged("xx.leak-single", quantity("1.95 psi/min"), uncertainty=quantity("0.4 psi/min"))
    assert near.near
    assert near.guard
    assert near.conformity
    assert near.repeats > 1


EDGES: tuple[tuple[str, str, Outcome], ...] = (
    ("xx.leak-single", "2 psi/min", Outcome.NOT_MET),  # less than
    ("xx.leak-single", "1.999 psi/min", Outcome.MET),
    ("xx.band", "20 psi", Outcome.MET),
    ("xx.band", "19.99 psi", Outcome.NOT_MET),
    ("xx.band", "30 psi", Outcome.MET),
    ("xx.band", "30.01 psi", Outcome.NOT_MET),
    ("xx.band", "140 kPa", Outcome.MET),  # in the unit that is printed: 20 psi is 137.9 kPa
    ("xx.band", "139.9 kPa", Outcome.NOT_MET),
    ("xx.share", "60 psi", Outcome.MET),
    ("xx.share", "59.9 psi", Outcome.NOT_MET),
    ("xx.stroke-clamp-16", "1.75 in", Outcome.MET),  # not more than
    ("xx.stroke-clamp-16", "1.76 in", Outcome.NOT_MET),
)


@pytest.mark.parametrize(("rule", "value", "outcome"), EDGES)
def test_at_the_very_edge(rule: str, value: str, outcome: Outcome) -> None:
    verdict = _judged(rule, quantity(value))
    assert (verdict.outcome, verdict.value) == (outcome, value)


@pytest.mark.parametrize(
    ("value", "outcome", "why"),
    [
        ("light", Outcome.MET, ""),
        ("both", Outcome.MET, ""),
        ("none", Outcome.NOT_MET, ""),
        ("maybe", Outcome.UNDETERMINED, "the rule does not say what 'maybe' means"),
    ],
)
def test_answers_in_words(value: str, outcome: Outcome, why: str) -> None:
    verdict = _judged("xx.lamp", value)
    assert (verdict.outcome, verdict.why, verdict.value) == (outcome, why, value)


BUS = Vehicle("bus", 1, date(1995, 1, 1), 2)
REASONS: tuple[tuple[str, Vehicle, Mapping[str, Any], str], ...] = (
    ("xx.leak-single", TRUCK, {"value": None}, "there is no reading"),
    ("xx.leak-single", TRUCK, {"value": None, "why": "no hold"}, "no hold"),
    ("xx.leak", TRUCK, {"value": quantity("1 psi/min")}, "the rule is not for this vehicle"),
    ("xx.stroke-clamp-16", Vehicle("truck", 1), {"value": quantity("1 in")},
     "a fact that decides whether the rule holds is not known; adjusted strokes"),
    ("xx.roughly", TRUCK, {"value": quantity("125 psi")},
     "the text says 'about' and draws no line"),
    ("xx.lamp", TRUCK, {"value": quantity("125 psi")}, "the rule asks for an answer in words"),
    ("xx.share", BUS, {"value": quantity("125 psi")},
     "the limit is a share of the vehicle's cut-out, which is not known"),
    ("xx.band", TRUCK, {"value": quantity("2 in")},
     "the reading is a length and the limit a pressure"),
    ("xx.band", TRUCK, {"value": quantity("25 psi"), "other": quantity("35 psi")},
     "the text can be read two ways and they differ: 35 psi the other way"),
    ("xx.band", TRUCK, {"value": quantity("25 psi"), "other": quantity("35 psi"), "why": "so"},
     "the text can be read two ways and they differ: so"),
    ("xx.leak", Vehicle("truck", 2), {"value": quantity("4 psi/min")},
     "a shorter hold shows nothing"),
)  # fmt: skip


@pytest.mark.parametrize("number", range(len(REASONS)))
def test_why_nothing_is_decided(number: int) -> None:
    rule, vehicle, read, why = REASONS[number]
    verdict = _judged(
        rule, read["value"], vehicle, **{k: v for k, v in read.items() if k != "value"}
    )
    assert (verdict.outcome, verdict.why) == (Outcome.UNDETERMINED, why)


def test_two_readings_of_a_text_that_agree_decide() -> None:
    verdict = _judged("xx.band", quantity("25 psi"), other=quantity("28 psi"), why="so")
    assert (verdict.outcome, verdict.why) == (Outcome.MET, "so")
    missed = _judged("xx.band", quantity("35 psi"), other=quantity("38 psi"))
    assert missed.outcome is Outcome.NOT_MET


# ---------------------------------------------------------------- what a procedure says

OTHER = b"""
authority: yy
name: Elsewhere
places: [CA-QC]
place_names: {CA-QC: Quebec}
documents:
  - id: book
    title: Another Book
    edition: 2019
    read: 2026-11-25
    standing: published
rules:
  - id: leak
    statement: At most 2 in a minute.
    measure: loss-released
    procedure: {hold_s: 60, settling: included}
    comparison: not more than
    limit: 2 psi/min
    document: book
    section: all
    standing: published
"""


def test_what_the_places_ask_of_the_procedure() -> None:
    book = load_rules({"xx.yaml": MORE, "yy.yaml": OTHER})
    said = book.procedure_values(["ca-on", "CA-QC", "CA-ON"], "loss-released")
    assert said["hold_s"] == "60"
    assert said["settling"] == "CA-ON: excluded; CA-QC: included"
    assert said["rpm"] == "600-900"
    # Of rules that are not for this vehicle nothing is asked: a single truck has no 'xx.leak'.
    single = book.procedure_values(["CA-ON"], "loss-released", TRUCK)
    assert single == {}
    double = book.procedure_values(["CA-ON"], "loss-released", Vehicle("truck", 2))
    assert double["settling"] == "excluded"
