"""Whatever the driver cannot do, nothing is asked of him in a dangerous state.

The hazards are those that the published procedures guard against (Ontario Air Brake
Handbook: never under a vehicle unless the springs are on or the wheels are blocked; wheels
blocked wherever the parking brake is let off; no coupling parted under supply pressure; no
start with open drains).  They are looked up on the simulated truck itself, not in what the
engine believes of it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from copy import copy
from dataclasses import replace

import pytest

from tests.walks.stories import STORIES, Story, tell
from walkaround.exchange import Event, Heard, Unclear
from walkaround.simulated.controls import Controls
from walkaround.simulated.driver import EVEN
from walkaround.simulated.stage import SimulatedStage

WALKS = (
    "straight-truck-in-ontario",
    "tractor-and-trailer-in-the-us",
    "doubles-in-saskatchewan",
    "bus-with-few-words",
)
_MOVING = ("park-hold-power-unit", "park-hold-trailer", "trailer-hand-valve-stop", "service-stop")
_HANDS_NEAR_WHEELS = ("wheel-brakes-look", "stroke-applied", "leak-listened", "tanks-drained")
_AFTER_MOVING = (*_MOVING, "sum-up", "chocks-away", "take-chocks-away", "set-parking")
_BEFORE_CHOCKS = ("level-and-park",)
"""The first thing said is to set the parking brake."""

Sound = Callable[[str, Controls], bool]

HAZARDS: Mapping[str, Sound] = {
    "wheels chocked and engine off where hands are near them": lambda step, c: (
        step not in _HANDS_NEAR_WHEELS or (c.chocks_in and not c.engine_rpm)
    ),
    "chocks in wherever the parking brake is off, but for the moving tests": lambda step, c: (
        step in _AFTER_MOVING or not c.parking_released or c.chocks_in or step in _BEFORE_CHOCKS
    ),
    "the supply closed while the service coupling is apart for a look": lambda step, c: (
        step != "service-coupling-closed" or not c.supply_open
    ),
    "the engine starts with drains closed and the parking brake set": lambda step, c: (
        step not in ("engine-start", "start-engine") or not (c.drains or c.parking_released)
    ),
    "nobody rolls against a chock or with lines apart": lambda step, c: (
        step not in _MOVING or (not c.chocks_in and c.supply_joined and c.service_joined)
    ),
}


def dangers(story: Story) -> list[str]:
    """Every answer that was given in a state that somebody could be hurt by."""
    found: list[str] = []

    def watch(event: Event, stage: SimulatedStage) -> None:
        if not isinstance(event, Heard) or isinstance(event.meaning, Unclear):
            return
        step, _, ask = event.question.rpartition(".")
        if not step or ask == "caution" or event.words in ("unable", "continue"):
            return
        controls = copy(stage.truck.controls)
        if step in _MOVING and stage.truck.warning_lit:
            found.append(f"{event.question}: rolling with the warning on")
        found.extend(
            f"{event.question}: not {name}"
            for name, sound in HAZARDS.items()
            if not sound(step, controls)
        )

    tell(story, watch)
    return found


@pytest.mark.parametrize("name", WALKS)
def test_a_plain_walk_is_never_in_danger(name: str) -> None:
    assert dangers(STORIES[name]) == []


@pytest.mark.parametrize("name", WALKS)
def test_nor_one_in_which_one_step_cannot_be_done(name: str) -> None:
    """A sample of the steps, and always those that the rest stand on."""
    steps = [step.id for step in tell(STORIES[name]).material.plan.steps]
    assert dangers_without(name, ["level-and-park", "wheels-chocked", *steps[4::8]]) == {}


@pytest.mark.slow
@pytest.mark.parametrize("name", WALKS)
def test_nor_one_in_which_any_step_cannot_be_done(name: str) -> None:
    steps = [step.id for step in tell(STORIES[name]).material.plan.steps]
    assert dangers_without(name, steps) == {}


def dangers_without(name: str, steps: Sequence[str]) -> dict[str, list[str]]:
    """For each step given up: the dangers that followed from it."""
    told = {
        step: dangers(replace(STORIES[name], temperament=replace(EVEN, unable_at=(step,))))
        for step in steps
    }
    return {step: found for step, found in told.items() if found}


@pytest.mark.parametrize(
    ("step", "controls"),
    [
        ("stroke-applied", Controls(chocks_in=False)),
        ("stroke-applied", Controls(chocks_in=True, engine_rpm=700)),
        ("leak-released", Controls(parking_released=True, chocks_in=False)),
        ("service-coupling-closed", Controls(chocks_in=True, supply_open=True)),
        ("engine-start", Controls(chocks_in=True, drains=["supply"])),
        ("start-engine", Controls(chocks_in=True, parking_released=True)),
        ("service-stop", Controls(chocks_in=True)),
        ("service-stop", Controls(service_joined=False)),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_each_danger_is_seen(step: str, controls: Controls) -> None:
    assert not all(sound(step, controls) for sound in HAZARDS.values())


def test_nothing_rolls_after_a_gate_that_was_not_passed() -> None:
    """A lamp is wrong, or the parking brake did not hold: the wheels stay where they are."""
    for faults in (("lamp-dead",), ("spring-brake-weak",)):
        told = tell(replace(STORIES["straight-truck-in-ontario"], faults=faults))
        assert "service-stop" in told.walk.state.not_done, faults
