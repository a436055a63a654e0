"""The truck's behaviour: valves, governor, warning, braking, and no air made or lost."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from walkaround.simulated.controls import Controls
from walkaround.simulated.facts import (
    TABLE_V_IN3,
    Compressor,
    TruckFacts,
    bus,
    rated_m3,
    straight_truck,
    tractor,
)
from walkaround.simulated.flow import (
    CUBIC_FOOT_PER_MIN_M3_S,
    CUBIC_INCH_M3,
    gauge_psi,
    leak_area,
)
from walkaround.simulated.truck import FULL_PEDAL_PSI, Truck

SECOND = 20
VEHICLES = {
    "straight": straight_truck(),
    "bus": bus(),
    "one trailer": tractor(1),
    "two trailers": tractor(2),
}


def seconds_to(truck: Truck, psi: float, most_s: float = 900) -> float:
    """Seconds until the primary needle passes, in steps of 50 ms."""
    began = truck.steps
    while truck.true_psi("primary") < psi:
        assert truck.steps - began < most_s * SECOND, f"{psi} psi was not reached"
        truck.advance()
    return (truck.steps - began) / SECOND


def running(facts: TruckFacts, start_psi: float, rpm: float | None = None) -> Truck:
    truck = Truck(facts, start_psi)
    truck.controls.key_on = True
    truck.controls.engine_rpm = facts.idle_rpm if rpm is None else rpm
    return truck


def without_leaks(facts: TruckFacts) -> TruckFacts:
    return replace(facts, leaks_m2={})


# ---------------------------------------------------------------- sizes


@pytest.mark.parametrize(
    ("name", "chambers_in3", "reservoirs_in3"),
    [("straight", 270, 3240), ("one trailer", 464, 5568)],
)
def test_reservoirs_are_the_least_that_the_standard_asks(
    name: str, chambers_in3: float, reservoirs_in3: float
) -> None:
    """FMVSS 121 S5.1.2.1: 12 x the chambers' rated volumes of Table V."""
    facts = VEHICLES[name]
    chambers = rated_m3(facts.brakes, "primary", "secondary") / CUBIC_INCH_M3
    assert chambers == pytest.approx(chambers_in3)
    total = (facts.supply_m3 + facts.primary_m3 + facts.secondary_m3) / CUBIC_INCH_M3
    assert total == pytest.approx(reservoirs_in3)


def test_a_tandem_trailer_carries_eight_times_its_chambers() -> None:
    """FMVSS 121 S5.2.1.1: 8 x 4 x 89 in³ = 2848 in³."""
    assert tractor(1).trailer_m3[0] / CUBIC_INCH_M3 == pytest.approx(2848)
    assert TABLE_V_IN3[30] == 89


# ---------------------------------------------------------------- building up


def test_the_climb_takes_what_the_formula_says() -> None:
    """13.2 cfm of free air into 5568 in³: 85 to 100 psi in 14.95 s, 50 to 90 in 39.87 s (by hand,
    isothermal); the dryer's own volume comes on top. A compressor with no clearance delivers
    its swept volume at any pressure."""
    swept = 13.2 * CUBIC_FOOT_PER_MIN_M3_S / (1200 / 60)
    facts = replace(without_leaks(tractor(1)), compressor=Compressor(swept, clearance=0.0))
    truck = running(facts, 30, rpm=1200)
    dryer = 1 + truck.piping.volumes["dryer"] / (5568 * CUBIC_INCH_M3)
    seconds_to(truck, 50)
    assert seconds_to(truck, 90) == pytest.approx(39.87 * dryer, rel=0.003)
    truck = running(facts, 60, rpm=1200)
    seconds_to(truck, 85)
    assert seconds_to(truck, 100) == pytest.approx(14.95 * dryer, rel=0.005)


def test_a_sound_truck_builds_up_in_about_half_a_minute_at_idle() -> None:
    truck = running(straight_truck(), 40)
    seconds_to(truck, 85)
    assert 26 < seconds_to(truck, 100) < 34


def test_it_climbs_faster_at_more_turns() -> None:
    slow, fast = running(straight_truck(), 60, 700), running(straight_truck(), 60, 1400)
    assert seconds_to(slow, 100) == pytest.approx(2 * seconds_to(fast, 100), rel=0.05)


# ---------------------------------------------------------------- governor, dryer, safety valve


@pytest.mark.parametrize("name", VEHICLES)
def test_the_governor_switches_with_a_span(name: str) -> None:
    facts = VEHICLES[name]
    truck = running(facts, 95)
    while truck.loaded:
        truck.advance()
    assert truck.true_psi("supply") == pytest.approx(facts.cut_out_psi, abs=0.5)
    assert truck.heard_since("purge", 0)
    lowest = truck.true_psi("supply")
    while not truck.loaded:
        truck.controls.pedal_psi = 30.0 if truck.steps // 20 % 2 else 0.0
        truck.advance()
        if not truck.loaded:
            lowest = truck.true_psi("supply")
    assert lowest == pytest.approx(facts.cut_in_psi, abs=1.0)


def test_a_governor_that_never_unloads_ends_at_the_safety_valve() -> None:
    """Safety valves open at about 150 psi (US Army TM 9-2320-272-10; California: not over 150)."""
    truck = running(replace(straight_truck(), governor_unloads=False), 120)
    truck.advance(120 * SECOND)
    assert truck.true_psi("supply") == pytest.approx(150, abs=2)
    assert truck.heard_since("safety valve", truck.now_ms - 1000)


# ---------------------------------------------------------------- leaks and reserve


def test_a_sound_vehicle_loses_about_half_a_psi_a_minute() -> None:
    truck = Truck(straight_truck(), 120)
    truck.advance(60 * SECOND)
    assert 0.3 < 120 - truck.true_psi("primary") < 0.7


def test_a_leak_falls_as_it_was_made() -> None:
    """The area for 3 psi a minute at 120 psi gives that fall; choked, so it is nearly straight."""
    facts = straight_truck()
    leaks = {"primary": leak_area(3.0, facts.primary_m3)}
    truck = Truck(replace(facts, leaks_m2=leaks, primary_check_holds=True), 120)
    truck.pressure_pa["supply"] = truck.pressure_pa["primary"] / 2  # nothing comes after
    truck.advance(60 * SECOND)
    assert 120 - truck.true_psi("primary") == pytest.approx(3.0, rel=0.03)


@pytest.mark.parametrize("name", VEHICLES)
def test_one_full_application_costs_six_to_eleven_psi(name: str) -> None:
    """5 psi (chambers half filled) to 9.6 psi (rated volume) of 125 psi in minimum tanks, 11 with a
    trailer: chamber volume x pressure / tank volume, by hand."""
    truck = Truck(VEHICLES[name], 125, trailer_psi=125)
    if truck.piping.trailers:
        truck.controls.supply_held = truck.controls.supply_open = True
        truck.advance(60 * SECOND)
    before = truck.true_psi("primary")
    truck.controls.pedal_psi = FULL_PEDAL_PSI
    truck.advance(3 * SECOND)
    assert 5 < before - truck.true_psi("primary") < 11
    assert truck.true_psi("primary-chambers") == pytest.approx(truck.true_psi("primary"), abs=1)


def test_the_pedal_asks_for_no_more_than_it_asks() -> None:
    truck = Truck(straight_truck(), 120)
    truck.controls.pedal_psi = 40
    truck.advance(3 * SECOND)
    assert truck.true_psi("primary-chambers") == pytest.approx(40, abs=0.5)
    truck.controls.pedal_psi = 0
    truck.advance(3 * SECOND)
    assert truck.true_psi("primary-chambers") == pytest.approx(0, abs=0.5)


# ---------------------------------------------------------------- warning and knobs


def test_the_warning_comes_on_below_and_goes_off_above() -> None:
    truck = running(straight_truck(), 80, rpm=0)
    truck.advance()
    assert not truck.warning_lit
    while not truck.warning_lit:
        truck.controls.pedal_psi = 40.0 if truck.steps // 20 % 2 else 0.0
        truck.advance()
    assert 62 < truck.lower_needle() < 66
    truck.controls.pedal_psi, truck.controls.engine_rpm = 0.0, 1200.0
    while truck.warning_lit:
        truck.advance()
    assert truck.lower_needle() == pytest.approx(70, abs=0.5)


def test_the_warning_needs_the_key() -> None:
    truck = Truck(straight_truck(), 20)
    truck.advance()
    assert not truck.warning_lit
    truck.controls.key_on = True
    assert truck.warning_lit


def pumped_until_out(truck: Truck) -> None:
    for _ in range(80):
        truck.controls.pedal_psi = 60
        truck.advance(16)
        truck.controls.pedal_psi = 0
        truck.advance(24)


def test_the_yellow_knob_comes_out_and_the_springs_grip() -> None:
    truck = Truck(straight_truck(), 100)
    truck.controls.parking_released = True
    truck.advance(5 * SECOND)
    assert not truck.springs_on
    pumped_until_out(truck)
    assert not truck.controls.parking_released
    assert 26 < truck.popped_psi["parking knob"] < 32.1
    assert truck.springs_on


def test_the_red_knob_comes_out_before_the_yellow_one() -> None:
    truck = Truck(tractor(1), 110, trailer_psi=110)
    truck.controls.parking_released = True
    truck.controls.supply_held = truck.controls.supply_open = True
    truck.advance(20 * SECOND)
    truck.controls.supply_held = False
    pumped_until_out(truck)
    assert 20 <= truck.popped_psi["parking knob"] < truck.popped_psi["supply knob"] <= 45


# ---------------------------------------------------------------- reservoirs and trailer


def test_draining_the_wet_tank_leaves_the_service_tanks() -> None:
    truck = Truck(straight_truck(), 110)
    truck.controls.drains = ["supply"]
    truck.advance(60 * SECOND)
    assert truck.true_psi("supply") < 1
    assert truck.true_psi("primary") > 109
    leaky = Truck(replace(straight_truck(), primary_check_holds=False), 110)
    leaky.controls.drains = ["supply"]
    leaky.advance(60 * SECOND)
    assert leaky.true_psi("primary") < 20 < leaky.true_psi("secondary")


@pytest.mark.parametrize(("trailers", "psi"), [(1, 83), (2, 62)])
def test_an_empty_trailer_is_opened_on_a_full_tractor(trailers: int, psi: float) -> None:
    """Isothermal sharing, by hand: 125 psi in 5568 in³ with one tandem 83 psi, with two 62. Here
    the trailers' spring chambers (4 x 89 in³ each) fill as well, which takes the rest down."""
    facts = without_leaks(tractor(trailers))
    truck = Truck(facts, 125)
    truck.controls.supply_held = truck.controls.supply_open = True
    truck.advance(300 * SECOND)
    tanks = facts.supply_m3 + facts.primary_m3 + facts.secondary_m3
    bare = 125 * tanks / (tanks + sum(facts.trailer_m3))
    assert bare == pytest.approx(psi, abs=1)
    springs = sum(truck.piping.volumes[f"{unit}-springs"] for unit in truck.piping.trailers)
    lines = truck.piping.volumes["supply-line"]
    shared = 125 * tanks / (tanks + sum(facts.trailer_m3) + springs + lines)
    assert truck.true_psi("primary") == pytest.approx(shared, abs=1.0)


def test_a_parted_supply_line_brakes_the_trailer_and_spares_the_tractor() -> None:
    """Quebec C-24.2 r. 32 s. 38(7): the tractor must keep 420 kPa (61 psi)."""
    truck = Truck(tractor(1), 120, trailer_psi=120)
    truck.controls.supply_held = truck.controls.supply_open = True
    truck.advance(20 * SECOND)
    assert not truck.trailer_springs_on("trailer-1")
    truck.controls.supply_held, truck.controls.supply_joined = False, False
    truck.advance(30 * SECOND)
    assert not truck.controls.supply_open
    assert truck.trailer_springs_on("trailer-1")
    assert truck.true_psi("primary") > 61
    stuck = Truck(replace(tractor(1), supply_valve_closes=False), 120, trailer_psi=120)
    stuck.controls.supply_open, stuck.controls.supply_joined = True, False
    stuck.advance(60 * SECOND)
    assert stuck.true_psi("primary") < 40


def test_the_open_service_coupling_blows_only_without_protection() -> None:
    for closes, blows in ((True, False), (False, True)):
        truck = Truck(replace(tractor(1), protection_closes=closes), 110)
        truck.controls.service_joined = False
        truck.advance(SECOND)
        truck.controls.pedal_psi = 90
        truck.advance(3 * SECOND)
        assert truck.heard_since("service coupling", 0) is blows


def test_crossed_lines_keep_the_springs_on() -> None:
    """BC, Driving Commercial Vehicles, p. 182: springs stay on, service brakes dead."""
    truck = Truck(replace(tractor(1), lines_crossed=True), 120)
    truck.controls.supply_held = truck.controls.supply_open = True
    truck.advance(60 * SECOND)
    assert truck.trailer_springs_on("trailer-1")
    truck.controls.hand_valve_psi = 80
    truck.advance(2 * SECOND)
    assert truck.true_psi("trailer-1-chambers") < 5


# ---------------------------------------------------------------- laws

controls = st.builds(
    Controls,
    key_on=st.booleans(),
    engine_rpm=st.sampled_from([0.0, 700.0, 1800.0]),
    parking_released=st.booleans(),
    supply_open=st.booleans(),
    supply_held=st.booleans(),
    pedal_psi=st.sampled_from([0.0, 30.0, 200.0]),
    hand_valve_psi=st.sampled_from([0.0, 80.0]),
    drains=st.lists(st.sampled_from(["supply", "primary", "secondary"]), unique=True),
    supply_joined=st.booleans(),
    service_joined=st.booleans(),
    rear_supply_open=st.booleans(),
    rear_service_open=st.booleans(),
    accessory_open=st.booleans(),
)


@settings(max_examples=40, deadline=None)
@given(
    name=st.sampled_from(sorted(VEHICLES)),
    moves=st.lists(st.tuples(controls, st.integers(1, 60)), min_size=1, max_size=6),
    start=st.floats(0, 130),
)
def test_no_air_is_made_or_lost(name: str, moves: list[tuple[Controls, int]], start: float) -> None:
    """What is in the vessels = what was there + what the compressor took in - what went out."""
    truck = Truck(VEHICLES[name], start, trailer_psi=start)
    before = truck.content_j()
    for wanted, steps in moves:
        truck.controls = wanted
        truck.advance(steps)
        balance = before + truck.taken_in - truck.let_out
        assert truck.content_j() == pytest.approx(balance, rel=1e-9)
        assert all(gauge_psi(pressure) > -0.01 for pressure in truck.pressure_pa.values())
        assert all(gauge_psi(pressure) < 400 for pressure in truck.pressure_pa.values())


@settings(max_examples=25, deadline=None)
@given(name=st.sampled_from(sorted(VEHICLES)), wanted=controls, steps=st.integers(1, 80))
def test_a_kept_state_goes_on_as_the_truck_itself(name: str, wanted: Controls, steps: int) -> None:
    truck = Truck(VEHICLES[name], 110, trailer_psi=60)
    truck.controls = wanted
    truck.advance(steps)
    again = Truck.from_state(VEHICLES[name], json.loads(json.dumps(truck.to_state())))
    truck.advance(100)
    again.advance(100)
    assert again.to_state() == truck.to_state()
