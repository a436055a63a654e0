"""A script cut to one vehicle and one trip."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.procedure.shipped import plan, profile, script
from walkaround.errors import UsageError
from walkaround.exchange import AskKind
from walkaround.procedure.expand import plan_for
from walkaround.quantity import Unit


def test_every_brake_is_asked_and_judged_by_its_own_name() -> None:
    step = plan("straight-truck", "demo-truck").step("stroke-applied")
    asked = [ask.id for ask in step.asks if ask.id.startswith("stroke@")]
    assert asked == [f"stroke@{brake.at}" for brake in profile("demo-truck").brakes]
    judged = [spec.inputs for spec in step.judges if spec.measure == "stroke"]
    assert judged == [(("reading", f"stroke-applied.{name}"),) for name in asked]


def test_a_reading_has_the_gauges_unit_and_range() -> None:
    ask = plan("straight-truck", "demo-truck").step("cut-out").asks[0]
    assert (ask.kind, ask.unit, ask.low, ask.high) == (
        AskKind.PAIR,
        Unit.PSI,
        Decimal(0),
        Decimal(150),
    )


def test_what_a_reading_sets_is_expected_and_not_left() -> None:
    step = plan("straight-truck", "demo-truck").step("leak-applied")
    assert "pressure" not in step.leaves
    assert step.expects == {"pressure": "over-100"}


def test_a_script_for_another_kind_of_vehicle_is_refused() -> None:
    bus = plan_for  # the truck's script asked for a bus
    truck = profile("demo-truck")
    other = type(truck)(
        name="b", kind="bus", gauge=truck.gauge, gauge_most=truck.gauge_most,
        brakes=truck.brakes, chosen=truck.chosen,
    )  # fmt: skip
    with pytest.raises(UsageError, match="straight-truck"):
        bus(script("straight-truck"), other, ["US"])


def test_a_place_decides_the_calls_of_the_build_up() -> None:
    # Ontario times 85-100 from below 80 psi; British Columbia 50-90 (Driving Commercial
    # Vehicles p. 218), so that a trip through both needs a start below 50.
    for places, first in ((["CA-ON"], 75), (["CA-BC"], 50), (["CA-ON", "CA-BC"], 50), (["US"], 50)):
        step = plan("straight-truck", "demo-truck", places).step("build-up-time")
        assert step.asks[-1].calls[0] == first
        assert step.asks[-1].calls[-1] == 100
