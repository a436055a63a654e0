"""Reservoirs against FMVSS 121 and a published receiver example."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.rules.book_of_rules import the_book
from walkaround.air.reservoir import (
    build_up_limit,
    chamber_volume,
    fill_time,
    leak_flow,
    receiver_volume,
    required_volume,
    volume_ratio,
)
from walkaround.quantity import Quantity, Unit, quantity

ATMOSPHERE = quantity("14.7 psi")
TRUCK_FACTOR = the_book().constants["truck-reservoir-factor"].value
TRAILER_FACTOR = the_book().constants["trailer-reservoir-factor"].value
TIME_FACTOR = the_book().constants["build-up-factor"].value

# 49 CFR 571.121, Table V, typed here from the printed table.
TABLE_V = {"9": 25, "12": 30, "14": 40, "16": 46, "18": 50, "20": 54, "24": 67, "30": 89, "36": 135}


def test_table_v_as_printed() -> None:
    book = the_book().chamber_volumes
    for size, volume in TABLE_V.items():
        assert book[f"clamp {size}"] == Quantity(Decimal(volume), Unit.CUBIC_INCH)


@pytest.mark.parametrize(
    ("chambers", "factor", "chamber_in3", "required_in3"),
    [
        (["clamp 20"] * 2 + ["clamp 30"] * 4, TRUCK_FACTOR, "464", "5568"),
        (["clamp 16"] * 2 + ["clamp 30"] * 2, TRUCK_FACTOR, "270", "3240"),
        (["clamp 30"] * 4, TRAILER_FACTOR, "356", "2848"),
        (["clamp 30"] * 6, TRAILER_FACTOR, "534", "4272"),
    ],
)
def test_required_volume(
    chambers: list[str], factor: Quantity, chamber_in3: str, required_in3: str
) -> None:
    """S5.1.2.1 (12 times) and S5.2.1.1 (8 times); computed from Table V."""
    volume = chamber_volume(chambers, the_book().chamber_volumes)
    assert volume == Quantity(Decimal(chamber_in3), Unit.CUBIC_INCH)
    assert required_volume(volume, factor) == Quantity(Decimal(required_in3), Unit.CUBIC_INCH)


@pytest.mark.parametrize(
    ("actual", "required", "seconds"),
    [
        ("5568", "5568", "25"),
        ("10022.4", "5568", "45"),
        ("7000", "5568", "31.43"),
        ("4000", "3240", "30.86"),
    ],
)
def test_build_up_limit_scales_with_the_volume(actual: str, required: str, seconds: str) -> None:
    """S5.1.1: (actual x 25)/required; 1.8 times the volume is the licence manual's 45 s."""
    limit = build_up_limit(quantity(f"{actual} in3"), quantity(f"{required} in3"), TIME_FACTOR)
    assert limit.value.quantize(Decimal(seconds)) == Decimal(seconds)


def test_the_ratio_of_volumes_is_a_number() -> None:
    assert volume_ratio(quantity("9 ft3"), quantity("5 ft3")) == Quantity(Decimal("1.8"), Unit.ONE)


def test_the_published_receiver_example() -> None:
    """V = t (q_out - q_in) p_a/(p_1 - p_2): 5 min, 350 - 250 cfm, 14.7 psi, 100 to 60 psi:
    183.75 ft3 (a public spreadsheet on air receiver sizing)."""
    volume = receiver_volume(
        quantity("5 min"), quantity("100 ft3/min"), ATMOSPHERE, quantity("40 psi"), Unit.CUBIC_FOOT
    )
    assert volume == Quantity(Decimal("183.75"), Unit.CUBIC_FOOT)


@pytest.mark.parametrize(("rise", "seconds"), [("15 psi", "14.95"), ("40 psi", "39.87")])
def test_fill_time(rise: str, seconds: str) -> None:
    """5568 in3 at 13.2 cfm of free air at 101.325 kPa: computed, t = V dp/(q p_a)."""
    free_air = quantity("101.325 kPa")
    time = fill_time(quantity("5568 in3"), quantity(rise), quantity("13.2 ft3/min"), free_air)
    assert time.value.quantize(Decimal("0.01")) == Decimal(seconds)


def test_a_leak_as_flow() -> None:
    """3 psi a minute out of 5568 in3 is 18.6 L/min of free air: computed, q = (dp/dt) V/p_a."""
    flow = leak_flow(quantity("5568 in3"), quantity("3 psi/min"), ATMOSPHERE)
    assert flow.value.quantize(Decimal("0.1")) == Decimal("18.6")
    with pytest.raises(ValueError, match="not a rate"):
        leak_flow(quantity("5568 in3"), quantity("3 psi"), ATMOSPHERE)


def test_a_chamber_outside_the_table_is_refused() -> None:
    with pytest.raises(KeyError):
        chamber_volume(["clamp 20 long 3 inch"], the_book().chamber_volumes)
