"""49 CFR 393.47(e), every row, as printed in the eCFR (as amended 14 October 2021).

The rows were typed here from the printed tables, inches as fractions, apart from the rule
file.  A stroke at the limit passes: "must not be greater than".
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from tests.rules.book_of_rules import the_book
from walkaround.exchange import Given, Number, Outcome, Wanted
from walkaround.procedure.judging import judge_all
from walkaround.procedure.measuring import gauge_facts
from walkaround.quantity import Quantity, Unit, quantity
from walkaround.rules.model import Vehicle

CLAMP = {
    "6": ("1 1/4", None),
    "9": ("1 3/8", None),
    "12": ("1 3/8", "1 3/4"),
    "16": ("1 3/4", "2"),
    "20": ("1 3/4", "2"),
    "24": ("1 3/4", "2"),
    "30": ("2", "2 1/2"),
    "36": ("2 1/2", None),
}
THREE_INCH = {"20": "2 1/2", "24": "2 1/2"}
DD3 = {"30": "2 1/4"}
BOLT = dict(
    zip("abcdefg", ("1 3/8", "1 3/4", "1 3/4", "1 1/4", "1 3/8", "2 1/4", "2"), strict=True)
)
ROTO = {
    "9": "1 1/2",
    "12": "1 1/2",
    "16": "2",
    "20": "2",
    "24": "2",
    "30": "2 1/4",
    "36": "2 3/4",
    "50": "3",
}
TABLE = {
    **{f"clamp {size}": row[0] for size, row in CLAMP.items()},
    **{f"clamp {size} long": row[1] for size, row in CLAMP.items() if row[1]},
    **{f"clamp {size} long 3 inch": limit for size, limit in THREE_INCH.items()},
    **{f"dd-3 {size}": limit for size, limit in DD3.items()},
    **{f"bolt {size}": limit for size, limit in BOLT.items()},
    **{f"rotochamber {size}": limit for size, limit in ROTO.items()},
}
A_HAIR = Decimal("0.0001")


def _inches(printed: str) -> Decimal:
    total = sum((Fraction(part) for part in printed.split()), Fraction(0))
    return Decimal(total.numerator) / Decimal(total.denominator)


def _judged(chamber: str, stroke: Quantity) -> Outcome:
    book = the_book()
    vehicle = Vehicle("truck", 1, date(2016, 5, 31), 2, chambers={"axle-2-left": chamber})
    question = "stroke-applied.stroke@axle-2-left"
    wanted = Wanted("stroke", (("reading", Given(question, Number(stroke), 1, 0)),))
    (verdict,) = judge_all([wanted], book, ["US-OH"], vehicle, gauge_facts(book))
    assert verdict.measure == "stroke@axle-2-left"
    assert verdict.rule == f"us-federal.stroke-{chamber.replace(' ', '-')}"
    return verdict.outcome


@pytest.mark.parametrize(("chamber", "printed"), TABLE.items())
def test_at_the_limit_passes_and_a_hair_more_does_not(chamber: str, printed: str) -> None:
    limit = _inches(printed)
    assert _judged(chamber, Quantity(limit, Unit.INCH)) is Outcome.MET
    assert _judged(chamber, Quantity(limit + A_HAIR, Unit.INCH)) is Outcome.NOT_MET
    in_mm = limit * Decimal("25.4")
    assert _judged(chamber, Quantity(in_mm, Unit.MILLIMETRE)) is Outcome.MET
    assert _judged(chamber, Quantity(in_mm + A_HAIR, Unit.MILLIMETRE)) is Outcome.NOT_MET


def test_the_rule_file_has_these_rows_and_no_others() -> None:
    rows = {
        rule.holds_for.chamber for rule in the_book().rules if rule.id.startswith("us-federal.str")
    }
    assert rows - {""} == set(TABLE)


def test_a_chamber_that_is_in_no_table_is_left_open() -> None:
    book = the_book()
    vehicle = Vehicle("truck", 1, chambers={"axle-1-left": "clamp 99"})
    given = Given("s.stroke@axle-1-left", Number(quantity("1 in")), 1, 0)
    (verdict,) = judge_all(
        [Wanted("stroke", (("reading", given),))], book, ["US-OH"], vehicle, gauge_facts(book)
    )
    assert verdict.outcome is Outcome.UNDETERMINED
    assert "chamber" in verdict.why


@pytest.mark.parametrize(
    ("place", "rule"),
    [
        ("US-OH", "us-federal.scribe-mark-wedge"),
        ("US-NH", "us-nh.wedge-travel-wedge"),
        ("US-VA", "us-va.wedge-travel-wedge"),
    ],
)
def test_a_wedge_brake_moves_a_sixteenth_of_an_inch_and_no_more(place: str, rule: str) -> None:
    """49 CFR 393.47(f): 1/16 in (1.6 mm); Saf-C 3226.04(b): more than 1/16 in; 19VAC30-70-440 D 2:
    greater than 1/16". Equal passes in all three; a cam brake at its limit fails Virginia."""
    book = the_book()
    vehicle = Vehicle("truck", 1, date(2016, 5, 31), 2, chambers={"axle-1-left": "wedge"})

    def judged(moved: str) -> Outcome:
        given = Given("s.stroke@axle-1-left", Number(quantity(moved)), 1, 0)
        wanted = Wanted("stroke", (("reading", given),))
        found = judge_all([wanted], book, [place], vehicle, gauge_facts(book))
        return next(verdict.outcome for verdict in found if verdict.rule == rule)

    assert judged("0.06 in") is Outcome.MET
    assert judged("0.0625 in") is Outcome.MET
    assert judged("0.0626 in") is Outcome.NOT_MET
    # 1/16 in is 1.5875 mm; the printed 1.6 mm is rounded up and would pass a hair too much
    assert judged("1.6 mm") is Outcome.NOT_MET
    assert judged("1.5875 mm") is Outcome.MET
