"""Time: what cannot be, what is quick, and what says nothing."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.audit.fleets import key_of, material_of, walked
from tests.procedure.shipped import plan, profile
from walkaround.audit.states import shortest_seconds
from walkaround.audit.steptimes import times_of
from walkaround.audit.timing import (
    clock,
    hurried_steps,
    impossible_rise,
    litres,
    short_holds,
    whole_walk,
)
from walkaround.records.journal import read_journal

TRUCK = plan("straight-truck", "demo-truck", ["CA-ON"])
VOLUME = litres(profile("demo-truck").reservoirs)
SHORTEST = shortest_seconds(TRUCK)
STEPS = [step.id for step in TRUCK.steps]


def test_the_volume_is_that_of_the_service_reservoirs() -> None:
    """1944 and 1296 cubic inches (the profile), 16.387064 mL each (the inch is 25.4 mm)."""
    assert pytest.approx((1944 + 1296) * 0.016387064, rel=1e-9) == VOLUME
    assert litres({}) is None


def test_a_rise_faster_than_air_allows() -> None:
    """25 psi in 53 L is 90 L of free air (Boyle): at 1100 L a minute 4.9 s."""
    found = impossible_rise([(0, "75 psi"), (4000, "100 psi")], VOLUME)
    assert found is not None
    assert found[0] == 4.0
    assert found[1] == pytest.approx(25 * 6894.757 / 101325 * 53.094 / 1100 * 60, rel=1e-4)
    assert impossible_rise([(0, "75 psi"), (5500, "100 psi")], VOLUME) is None


@given(
    st.lists(st.tuples(st.integers(0, 10**7), st.sampled_from(["75 psi", "7 bar", "x", "3 s"]))),
    st.sampled_from([None, 0.0, 53.0]),
)
def test_odd_rises_raise_nothing(points: list[tuple[int, str]], volume: float | None) -> None:
    impossible_rise(points, volume)


@pytest.mark.parametrize(("held_ms", "short"), [(12_000, True), (59_500, False), (60_000, False)])
def test_a_minute_in_twelve_seconds(held_ms: int, short: bool) -> None:
    found = short_holds(TRUCK, {"leak-applied.hold": held_ms, "no.such": 1})
    assert bool(found) is short
    if found:
        assert (found[0].step, found[0].says) == (
            "leak-applied", "a hold of 60 s lasted 12 s"
        )  # fmt: skip


def test_a_walk_quicker_than_its_steps() -> None:
    least = sum(SHORTEST[step] for step in STEPS)
    assert whole_walk(SHORTEST, STEPS, least - 1) is not None
    assert whole_walk(SHORTEST, STEPS, least) is None
    assert whole_walk(SHORTEST, STEPS, -1.0) is None  # nobody knows how long it took


def test_one_short_step_says_nothing_and_many_do() -> None:
    usual = {step: 10_000 + SHORTEST[step] * 1000 for step in STEPS}
    assert hurried_steps(SHORTEST, STEPS, usual) is None
    assert hurried_steps(SHORTEST, STEPS, {**usual, STEPS[0]: 10}) is None
    many = {**usual, **dict.fromkeys(STEPS[: len(STEPS) // 2], 10)}
    assert hurried_steps(SHORTEST, STEPS, many) is not None


def test_a_simulated_walk_has_time_enough() -> None:
    """Out of its journal: the holds are a minute, no step is under its shortest."""
    journal, _ = walked(material_of("straight-truck", "demo-truck", ("US",)), key_of(0))
    reading = read_journal(journal)
    of = plan("straight-truck", "demo-truck", ["US"])
    times = times_of(reading, of)
    assert set(times.held_ms) == {"leak-released.hold", "leak-applied.hold"}
    assert all(60_000 <= held < 62_000 for held in times.held_ms.values())
    assert short_holds(of, times.held_ms) == ()
    own = [step.id for step in of.steps]
    assert hurried_steps(shortest_seconds(of), own, times.took_ms) is None
    assert len(times.took_ms) >= len(own)


def test_clock_faces() -> None:
    assert (clock(65.9), clock(3661)) == ("1:05", "1:01:01")
