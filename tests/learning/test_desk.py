"""The truck at the desk: steps in any order, and every fault that can be drawn shows itself."""

from __future__ import annotations

from functools import cache

import pytest

from tests.learning.drills import Practice, material_of
from walkaround.learning.drill import Stage
from walkaround.procedure.check import walk_on_paper
from walkaround.simulated.desk import Desk, DeskAnswer
from walkaround.simulated.faults import FAULTS, with_faults
from walkaround.simulated.vehicle import facts_of

HARD_TO_SEE = ("gauge-off",)


def trip(trailers: int, bus: bool = False) -> Practice:
    if bus:
        return Practice(Stage.TOLD, (), "bus", "demo-bus", ("US",))
    vehicle = {0: "demo-truck", 1: "demo-tractor", 2: "demo-doubles"}[trailers]
    script = "tractor-trailer" if trailers else "straight-truck"
    return Practice(Stage.TOLD, (), script, vehicle, ("US",))


def gone_through(practice: Practice, fault: str = "") -> tuple[tuple[str, str], ...]:
    """Everything that is told in the script's own order: question -> words and details."""
    material = material_of(practice)
    facts = with_faults(facts_of(material.profile), (fault,) if fault else ())
    desk = Desk(material.plan, facts, seed=1)
    told: list[tuple[str, str]] = []
    for step, acts in walk_on_paper(material.plan):
        for name in (*(acts or ()), step.id):
            told += [(f"{name}.{each.ask}", _words(each)) for each in desk.do(name)]
    return tuple(told)


def _words(answer: DeskAnswer) -> str:
    times = [f"{(at - answer.began_ms) // 2000}" for _, at in answer.words]
    said = " ".join(words for words, _ in answer.words)
    return f"{said} {answer.detail} {' '.join(times) if len(times) > 1 else ''}".strip()


@cache
def sound(practice: Practice) -> tuple[tuple[str, str], ...]:
    return gone_through(practice)


def practice_for(fault: str) -> Practice:
    return trip(FAULTS[fault].needs_trailers, bus=fault == "door-interlock-dead")


@pytest.mark.parametrize("fault", sorted(set(FAULTS) - set(HARD_TO_SEE)))
def test_every_fault_that_a_seed_draws_shows_somewhere(fault: str) -> None:
    practice = practice_for(fault)
    assert gone_through(practice, fault) != sound(practice)


def test_the_same_truck_tells_the_same_again() -> None:
    practice = trip(0)
    assert gone_through(practice) == sound(practice)


def test_a_hold_takes_the_trucks_minute() -> None:
    material = material_of(trip(0))
    desk = Desk(material.plan, facts_of(material.profile))
    for name in ("level-and-park", "wheels-chocked", "key-on", "release-parking"):
        desk.do(name)
    before = desk.now_ms
    hold = next(each for each in desk.do("leak-released") if each.ask == "hold")
    assert hold.ended_ms - hold.began_ms == 60_000
    assert desk.now_ms - before >= 60_000


def test_what_there_is_to_be_seen_is_told_where_it_is_looked_at() -> None:
    told = dict(gone_through(trip(0), "leaking-line"))
    assert "a chafed line" in told["air-lines-look.sound"]
    assert "chafed" not in told["compressor-look.sound"]
    assert "rear chamber" in dict(gone_through(trip(0), "leaking-chamber"))["leak-listened.heard"]
