"""Laws of judging, and conversions held against pint."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.rules.book_of_rules import the_book
from walkaround.air.measured import Measured
from walkaround.exchange import Outcome
from walkaround.quantity import Kind, Quantity, Unit, quantity, units_of
from walkaround.rules.judge import judge
from walkaround.rules.model import Comparison, Rule, Vehicle

VEHICLE = Vehicle("truck", 1, date(2016, 5, 31), 2, facts={"cut-out": quantity("125 psi")})

# Units whose sizes are exact decimals of each other: (unit, other, other per unit).
EXACT = (
    (Unit.KPA, Unit.BAR, Decimal("0.01")),
    (Unit.KPA, Unit.PA, Decimal(1000)),
    (Unit.INCH, Unit.MILLIMETRE, Decimal("25.4")),
    (Unit.MINUTE, Unit.SECOND, Decimal(60)),
    (Unit.KPA_PER_MIN, Unit.BAR_PER_MIN, Decimal("0.01")),
)


def _numbered() -> list[Rule]:
    rules = [r for r in the_book().rules if r.limit.comparison is not Comparison.IS]
    return sorted(rules, key=lambda rule: rule.id)


@settings(max_examples=300, deadline=None)
@given(
    rule=st.sampled_from(_numbered()),
    pair=st.sampled_from(EXACT),
    size=st.decimals(0, 2000, places=3),
)
def test_no_verdict_changes_with_the_unit_of_the_reading(
    rule: Rule, pair: tuple[Unit, Unit, Decimal], size: Decimal
) -> None:
    unit, other, factor = pair
    _same(rule, Quantity(size, unit), Quantity(size * factor, other))


@pytest.mark.parametrize("rule", _numbered(), ids=lambda rule: rule.id)
def test_no_verdict_changes_with_the_unit_next_to_a_limit(rule: Rule) -> None:
    """Printed conversions are rounded, so between 551.58 kPa (80 psi) and a printed 552 kPa the
    gauge's system decides; within a system the unit never does."""
    printed = {
        amount.printed.to(unit).value
        for bound in rule.limit.bounds
        for amounts in bound.lesser
        for amount in amounts
        for unit, _, _ in EXACT
        if unit in units_of(amount.printed.kind)
    }
    for edge in printed:
        for nudge in ("0", "0.2", "-0.2", "0.001", "-0.001"):
            size = (edge + Decimal(nudge)).quantize(Decimal("0.001"))
            for unit, other, factor in EXACT:
                _same(rule, Quantity(size, unit), Quantity(size * factor, other))


def _same(rule: Rule, one: Quantity, two: Quantity) -> None:
    verdicts = [judge(rule, Measured(each, _UNSURE.get(each.kind)), VEHICLE) for each in (one, two)]
    first, second = ((v.outcome, v.near, v.why, v.conformity, v.repeats) for v in verdicts)
    assert first == second


_UNSURE = {
    Kind.PRESSURE: quantity("0.3 kPa"),
    Kind.RATE: quantity("1.4 kPa/min"),
    Kind.TIME: quantity("1.2 s"),
    Kind.LENGTH: quantity("1.1 mm"),
}


@settings(max_examples=200, deadline=None)
@given(rule=st.sampled_from(_numbered()), size=st.decimals(0, 400, places=2))
def test_a_value_is_met_on_one_side_only(rule: Rule, size: Decimal) -> None:
    """Where a value passes, one further from the limit on the same side passes too."""
    if rule.limit.comparison is Comparison.BETWEEN or not rule.limit.bounds:
        return
    unit = rule.limit.bounds[0].lesser[0][0].printed.unit
    further = size / 2 if rule.limit.comparison in _LOW else size * 2
    if judge(rule, Measured(Quantity(size, unit)), VEHICLE).outcome is Outcome.MET:
        assert judge(rule, Measured(Quantity(further, unit)), VEHICLE).outcome is Outcome.MET


_LOW = (Comparison.AT_MOST, Comparison.LESS_THAN)


@pytest.mark.parametrize(
    ("value", "uncertainty", "near"),
    [
        ("118 s", "1 s", False),
        ("119 s", "1 s", True),
        ("121 s", "1 s", True),
        ("122 s", "1 s", False),
    ],
)
def test_near_is_within_the_guard_band_and_alike_on_both_sides(
    value: str, uncertainty: str, near: bool
) -> None:
    """ILAC-G8:09/2019 4.1, w = U; its intervals are closed, so w itself is inside."""
    rule = the_book().rule("ca-on.build-up")
    verdict = judge(rule, Measured(quantity(value), quantity(uncertainty)), VEHICLE)
    assert verdict.near is near
    assert verdict.uncertainty == "± 1 s (k = 2)"


def test_nothing_is_decided_without_a_reading() -> None:
    for rule in the_book().rules:
        verdict = judge(rule, Measured(None, why="the needle was hidden"), VEHICLE)
        assert verdict.outcome is Outcome.UNDETERMINED
        assert "the needle was hidden" in verdict.why


@pytest.mark.parametrize("size", ["20", "45", "55", "60", "85", "89.92", "100", "125", "145"])
def test_psi_to_kilopascal_agrees_with_pint(size: str) -> None:
    """pint derives the psi from the same definitions by another path."""
    registry = pint.UnitRegistry(non_int_type=Decimal)
    theirs = registry.Quantity(Decimal(size), "psi").to("kilopascal").magnitude
    ours = Quantity(Decimal(size), Unit.PSI).to(Unit.KPA).value
    assert abs(ours - Decimal(theirs)) < Decimal("1e-18")


@pytest.mark.parametrize(
    ("psi", "printed_kpa"),
    [("85 psi", "587 kPa"), ("4 psi/min", "28 kPa/min"), ("120 psi", "828 kPa")],
)
def test_printed_conversions_are_not_exact(psi: str, printed_kpa: str) -> None:
    """Ontario prints 587 kPa for 85 psi (586.05); SGI prints 828 kPa for 120 psi (827.37)."""
    assert quantity(psi).base != quantity(printed_kpa).base
