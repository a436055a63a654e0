"""How a drill goes: what is said back in each stage, and what counts as known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.learning.drills import Drilled, Practice, drilled, in_order
from walkaround.learning.drill import Mark, Stage
from walkaround.records.journal import Ended
from walkaround.simulated.faults import FAULTS

SCRIPTS = {
    "straight-truck": ("demo-truck", ("CA-ON",)),
    "tractor-trailer": ("demo-tractor", ("US",)),
    "bus": ("demo-bus", ("US",)),
}
STARTS = ("park on level ground", "chock the wheels", "nobody near")


def recalled(*says: str, **more: object) -> Drilled:
    return drilled(replace(Practice(Stage.RECALLED, says), **more))  # type: ignore[arg-type]


def after(done: Drilled, answer: str) -> list[str]:
    """What was said after that answer, up to the next one."""
    start = done.lines.index(f"> {answer}") + 1
    rest = done.lines[start:]
    end = next((n for n, line in enumerate(rest) if line.startswith(">")), len(rest))
    return rest[:end]


@pytest.mark.parametrize("script", SCRIPTS)
@pytest.mark.parametrize("stage", [Stage.ASKED, Stage.RECALLED, Stage.EXAMINED])
def test_who_knows_the_order_is_never_put_right(script: str, stage: Stage) -> None:
    vehicle, places = SCRIPTS[script]
    practice = Practice(stage, (), script, vehicle, places)
    says = tuple(
        each
        for answer in in_order(practice)
        for each in ((answer, "yes") if stage is Stage.ASKED else (answer,))
    )
    done = drilled(replace(practice, says=(*says, "nothing wrong", "nothing wrong")))
    assert done.ended is Ended.COMPLETE
    known = {Mark.RIGHT, Mark.HELPED} if stage is Stage.ASKED else {Mark.RIGHT}
    assert set(done.drill.marks.values()) == known, {
        step: mark for step, mark in done.drill.marks.items() if mark not in known
    }
    assert set(done.drill.marks) == {step.id for step in done.material.plan.steps}
    assert not any("Almost" in line or "Not yet" in line for line in done.lines)


def test_a_hazard_is_named_as_one_and_says_what_first_and_why() -> None:
    done = recalled("park on level ground", "drain the tanks")
    told = " ".join(after(done, "drain the tanks"))
    assert "could hurt somebody" in told
    assert "the chocks in" in told
    assert "Nothing else holds the vehicle" in told
    assert done.drill.marks["tanks-drained"] is Mark.WRONG


def test_a_worthless_reading_is_called_that_and_no_hazard() -> None:
    done = recalled(*STARTS, "key on and look for the warning light")
    told = " ".join(after(done, "key on and look for the warning light"))
    assert "Almost." in told
    assert "silent at full pressure shows nothing" in told


def test_another_order_that_is_as_good_is_right_and_says_so() -> None:
    done = recalled(*STARTS, "look at the air lines", "look at the compressor")
    assert "your order is just as good" in " ".join(after(done, "look at the air lines"))
    assert done.drill.marks["air-lines-look"] is Mark.RIGHT


def test_help_comes_in_small_steps_and_is_noted() -> None:
    done = recalled("help", "help", "park level")
    assert done.drill.marks["level-and-park"] is Mark.WRONG
    first, second = (n for n, line in enumerate(done.lines) if line == "> help")
    assert "A hint." in done.lines[first + 1]
    assert "Park on level ground" not in done.lines[first + 1]
    assert "Park on level ground" in done.lines[second + 1]
    assert recalled("help", "park level").drill.marks["level-and-park"] is Mark.HELPED


def test_nobody_is_put_right_for_what_he_may_not_have_said() -> None:
    done = recalled("park level", "drums", "no", "drums", "yes")
    assert "wheel-brakes-look" not in done.drill.marks or (
        done.drill.marks["wheel-brakes-look"] is Mark.WRONG
    )
    unsure = recalled("park level", "measure rods maybe the other day somewhere", "no")
    assert "stroke-applied" not in unsure.drill.marks


def test_a_finding_is_shown_in_the_readings_and_must_be_called() -> None:
    start = (*STARTS, "turn the key on", "release the parking brake")
    leak, faults = "leak test with the brakes applied", ("leaking-chamber",)
    done = recalled(*start, leak, "that is a finding", faults=faults)
    told = " ".join(after(done, "that is a finding"))
    assert "psi/min, and the rule wants not more than" in told
    assert done.drill.marks["leak-applied"] is Mark.RIGHT
    passed = recalled(*start, leak, "set the parking brake", faults=("leaking-chamber",))
    assert "was a finding" in " ".join(after(passed, "set the parking brake"))
    assert passed.drill.marks["leak-applied"] is Mark.WRONG


def test_the_examination_keeps_silent_until_the_end() -> None:
    says = ("park level", "drain the tanks", "help me not", "finish", "nothing wrong")
    done = drilled(Practice(Stage.EXAMINED, says))
    before = done.lines[: done.lines.index("> finish")]
    assert not any("hurt" in line or "Almost" in line or "Yes:" in line for line in before)
    assert any("Drain the reservoirs: First: the chocks in" in line for line in done.lines)
    assert done.drill.marks["cut-in"] is Mark.FORGOTTEN
    assert done.ended is Ended.COMPLETE


@pytest.mark.parametrize("name", sorted(FAULTS))
def test_every_fault_is_named_right_by_its_own_name_and_wrong_by_another(name: str) -> None:
    practice = _with_fault(name)
    fault = next(each for each in drilled(practice).kit.book.faults if name in each.of)
    other = "loose belt" if fault.name != "belt-loose" else "water in the tanks"
    right = drilled(replace(practice, says=("next", fault.say[0])))
    assert f"Yes: {fault.say[0]}" in " ".join(after(right, fault.say[0]))
    wrong = drilled(replace(practice, says=("next", other)))
    assert f"It was this: {fault.say[0]}" in " ".join(after(wrong, other))


def _with_fault(name: str) -> Practice:
    script = {0: "straight-truck", 1: "tractor-trailer", 2: "tractor-trailer"}[
        FAULTS[name].needs_trailers
    ]
    vehicle = {0: "demo-truck", 1: "demo-tractor", 2: "demo-doubles"}[FAULTS[name].needs_trailers]
    return Practice(Stage.TOLD, (), script, vehicle, ("US",), faults=(name,), most=1)


def test_only_what_is_due_is_asked_for_and_the_rest_is_done() -> None:
    done = recalled("cut in", "nothing wrong", only=frozenset({"cut-in"}))
    assert done.ended is Ended.COMPLETE
    assert dict(done.drill.marks) == {"cut-in": Mark.RIGHT}


def test_a_short_session_forgets_nothing() -> None:
    done = recalled("park level", "nothing wrong", most=1)
    assert done.ended is Ended.COMPLETE
    assert Mark.FORGOTTEN not in done.drill.marks.values()


def test_the_end_comes_too_early_while_steps_are_open() -> None:
    done = recalled("park level", "sign off", "finish")
    for answer in ("sign off", "finish"):
        assert "still open" in " ".join(after(done, answer))
    assert done.drill.marks["wheels-chocked"] is Mark.HELPED


def test_stop_ends_it_and_what_was_done_counts() -> None:
    done = recalled("park level", "stop")
    assert done.ended is Ended.STOPPED
    assert done.drill.marks == {"level-and-park": Mark.RIGHT}


@settings(max_examples=25, deadline=None)
@given(st.lists(st.sampled_from(["yes", "no", "help", "explain", "repeat", "finish", "finding",
                                 "park level", "chocks in", "cut in", "leak test", "engine off",
                                 "start the engine", "the lines", "", "42 psi", "loose belt"]),
                max_size=8),
       st.sampled_from(list(Stage)))  # fmt: skip
def test_whatever_is_said_the_drill_goes_on_listening(says: list[str], stage: Stage) -> None:
    done = drilled(Practice(stage, tuple(says)))
    conditions: Mapping[str, str] = done.drill.course.conditions
    assert done.drill.ended or done.ended is Ended.STOPPED
    assert set(done.material.plan.start) <= set(conditions)
