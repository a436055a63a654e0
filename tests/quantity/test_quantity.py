"""Units are exact: against the definitions and against a reference library."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from walkaround.quantity import Kind, Quantity, Unit, compare, from_base, quantity, units_of

# Reference: pint's own unit definitions (pint 0.24 or later), used here only.
PINT = {
    Unit.PSI: "psi",
    Unit.KPA: "kPa",
    Unit.BAR: "bar",
    Unit.PA: "Pa",
    Unit.PSI_PER_MIN: "psi/min",
    Unit.KPA_PER_MIN: "kPa/min",
    Unit.BAR_PER_MIN: "bar/min",
    Unit.SECOND: "s",
    Unit.MINUTE: "min",
    Unit.INCH: "inch",
    Unit.MILLIMETRE: "mm",
    Unit.CUBIC_INCH: "inch**3",
    Unit.LITRE: "liter",
    Unit.CUBIC_FOOT: "foot**3",
    Unit.LITRE_PER_MIN: "liter/min",
    Unit.CUBIC_FOOT_PER_MIN: "foot**3/min",
}


def test_a_psi_is_exact() -> None:
    """1 psi = 0.45359237 × 9.80665 / 0.0254² Pa: the pound and inch of 1959, standard gravity."""
    exact = Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2
    assert quantity("1 psi").base == exact == Fraction(8896443230521, 1290320000)


@pytest.mark.parametrize("unit", PINT, ids=str)
def test_every_linear_unit_agrees_with_the_reference_library(unit: Unit) -> None:
    registry = pint.UnitRegistry()
    theirs = registry.Quantity(1.0, PINT[unit]).to_base_units().magnitude
    assert float(Quantity(Decimal(1), unit).base) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [("32 °F", "0 °C"), ("212 °F", "100 °C"), ("-40 °F", "-40 °C")]
)
def test_temperatures_by_definition(fahrenheit: str, celsius: str) -> None:
    assert compare(quantity(fahrenheit), quantity(celsius)) == 0


_VALUES = st.decimals(min_value=-9999, max_value=9999, places=3)


@given(_VALUES, st.sampled_from(list(Unit)))
def test_writing_and_reading_is_the_same(value: Decimal, unit: Unit) -> None:
    written = Quantity(value, unit)
    assert quantity(str(written)).base == written.base


@given(_VALUES, st.sampled_from(list(Kind)), st.data())
def test_there_and_back_is_the_same_to_twenty_digits(
    value: Decimal, kind: Kind, data: st.DataObject
) -> None:
    one, other = (data.draw(st.sampled_from(units_of(kind))) for _ in range(2))
    start = Quantity(value, one)
    back = start.to(other).to(one)
    assert abs(back.value - start.value) < Decimal("1e-18")


@given(_VALUES, _VALUES)
def test_comparison_does_not_round(left: Decimal, right: Decimal) -> None:
    psi, kpa = Quantity(left, Unit.PSI), Quantity(right, Unit.KPA)
    assert compare(psi, kpa) == (psi.base > kpa.base) - (psi.base < kpa.base)
    assert compare(psi, from_base(psi.base, Unit.PSI)) == 0


@pytest.mark.parametrize("text", ["", "psi", "105", "1e99999999 psi", "NaN psi", "9 furlong", "٣"])
def test_what_is_no_quantity_is_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(ValueError, match="not a number"):
        quantity(text)


def test_kinds_are_not_compared() -> None:
    with pytest.raises(ValueError, match="not of one kind"):
        compare(quantity("1 psi"), quantity("1 s"))
