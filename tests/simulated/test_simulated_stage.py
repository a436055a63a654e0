"""The stage as a port: its clock, its timers, its listening, and taking up a broken-off walk."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.procedure import shipped
from tests.simulated.trial import Trial, go_on, stage_for, walk
from walkaround.engine.state import State
from walkaround.errors import RecordError
from walkaround.exchange import (
    AskKind,
    Event,
    Given,
    Heard,
    Held,
    Mark,
    Pair,
    Question,
    Rise,
    SittingOpened,
    StayedQuiet,
    TimeReached,
)
from walkaround.procedure.model import Plan
from walkaround.simulated.stage import SimulatedStage
from walkaround.speech.ports import Closed, Transcript

YES_NO = Question("nobody-near.clear", AskKind.YES_NO)
SILENT = Question("commands", AskKind.COMMAND, armed=True)
GRAMMAR = ("yes", "no", "affirmative", "negative")


@pytest.fixture
def plan() -> Plan:
    return shipped.plan("straight-truck", "demo-truck")


@pytest.fixture
def stage(plan: Plan) -> SimulatedStage:
    return stage_for(plan, "demo-truck")


def test_the_clock_moves_only_in_next(stage: SimulatedStage) -> None:
    stage.say((), ("one two three four five six seven eight",))
    stage.listen(YES_NO, GRAMMAR, 60_000)
    assert stage.now_ms() == 0
    arrival = stage.next()
    assert isinstance(arrival, Transcript)
    assert stage.now_ms() == arrival.arrived_ms > arrival.end_ms > arrival.onset_ms


def test_an_answer_comes_after_the_prompt(stage: SimulatedStage) -> None:
    """8 words at 2.6 a second last 3.08 s; the walk round takes about 20 s more."""
    stage.say((), ("one two three four five six seven eight",))
    stage.listen(YES_NO, GRAMMAR, 60_000)
    arrival = stage.next()
    assert isinstance(arrival, Transcript)
    assert arrival.onset_ms > 3_077 + 10_000
    assert arrival.question == YES_NO.id
    assert not arrival.over_prompt
    assert not arrival.typed


def test_quiet_is_told_once_and_from_the_prompt_s_end(stage: SimulatedStage) -> None:
    stage.say((), ("one two three four five six seven eight",))
    stage.listen(YES_NO, GRAMMAR, 5_000)
    quiet = stage.next()
    assert isinstance(quiet, StayedQuiet)
    assert quiet.occurred_ms == pytest.approx(3_100 + 5_000, abs=60)
    assert isinstance(stage.next(), Transcript)


def test_timers_come_in_order_and_can_be_taken_back(stage: SimulatedStage) -> None:
    stage.listen(SILENT, (), None)
    stage.wake_at(2_000, "second")
    stage.wake_at(1_234, "first")
    stage.wake_at(1_500, "never")
    stage.cancel_wake("never")
    assert stage.next() == TimeReached("first", 1_234, 1_234)
    assert stage.next() == TimeReached("second", 2_000, 2_000)
    assert stage.now_ms() == 2_000


def test_a_timer_that_has_passed_comes_at_once(stage: SimulatedStage) -> None:
    stage.listen(SILENT, (), None)
    stage.wake_at(1_000, "one")
    stage.next()
    stage.wake_at(400, "late")
    assert stage.next() == TimeReached("late", 400, 1_000)


def test_the_driver_is_silent_in_a_hold_and_goes_on_from_a_pause(stage: SimulatedStage) -> None:
    stage.listen(SILENT, ("continue",), None)
    stage.wake_at(120_000, "hold")
    assert isinstance(stage.next(), TimeReached)
    stage.listen(Question("commands", AskKind.COMMAND), ("continue",), None)
    arrival = stage.next()
    assert isinstance(arrival, Transcript)
    assert arrival.text == "continue"


def test_the_same_answer_in_the_longer_word_when_asked_again(stage: SimulatedStage) -> None:
    stage.listen(YES_NO, GRAMMAR, 60_000)
    first = stage.next()
    stage.say((), ("please say that again",))
    stage.listen(YES_NO, GRAMMAR, 60_000)
    again = stage.next()
    assert isinstance(first, Transcript)
    assert isinstance(again, Transcript)
    assert first.text == "yes"
    assert again.text == "affirmative"
    assert again.onset_ms - first.arrived_ms < 5_000  # he does not walk round once more


def test_words_outside_the_grammar_are_not_made_out(stage: SimulatedStage) -> None:
    stage.listen(YES_NO, ("no",), 60_000)
    arrival = stage.next()
    assert isinstance(arrival, Transcript)
    assert arrival.text == "[unk]"
    assert arrival.free is not None
    assert arrival.alternatives[0].likelihood < arrival.free.likelihood


def test_it_closes(stage: SimulatedStage) -> None:
    stage.close()
    assert isinstance(stage.next(), Closed)


def test_a_stage_without_a_question_does_not_go_on_for_ever(stage: SimulatedStage) -> None:
    stage.listen(SILENT, (), None)
    assert isinstance(stage.next(), Closed)


# ---------------------------------------------------------------- taking up again


def readings(given: dict[str, Given]) -> dict[str, object]:
    """What was told at each question of the script; instants left out, calls kept."""
    told: dict[str, object] = {}
    for question, one in given.items():
        if question.endswith(".done"):
            continue
        match one.answer:
            case Held() | Mark():
                told[question] = type(one.answer).__name__
            case Rise(points):
                told[question] = tuple(str(point.value) for point in points)
            case other:
                told[question] = str(other)
    return told


def broken_off_at(place: int) -> tuple[dict[str, Any], State]:
    """The stage's snapshot, through JSON, and the engine's state at the event of that number."""
    kept: list[tuple[dict[str, Any], State]] = []

    def watch(trial: Trial, _event: Event) -> None:
        if len(trial.events) == place:
            kept.append((json.loads(json.dumps(trial.stage.snapshot())), trial.state))
            trial.stage.close()

    walk("straight-truck", "demo-truck", ("CA-ON",), watch=watch)
    return kept[0]


def numbered(trial: Trial, question: str) -> int:
    """The number of the event at which that question was first answered."""
    return next(
        number
        for number, event in enumerate(trial.events, 1)
        if isinstance(event, Heard) and event.question == question
    )


@pytest.fixture(scope="module")
def undisturbed() -> Trial:
    return walk("straight-truck", "demo-truck", ("CA-ON",))


@pytest.mark.parametrize(
    "question",
    ["warning-off-rising.reading", "leak-applied.start", "leak-applied.end", "cut-out.reading"],
)
def test_a_question_put_again_is_answered_as_before(question: str, undisturbed: Trial) -> None:
    """Broken off as that answer came: the truck goes back to where the question was put."""
    plan = shipped.plan("straight-truck", "demo-truck")
    kept, _ = broken_off_at(numbered(undisturbed, question))
    stage = stage_for(plan, "demo-truck")
    stage.restore(kept)
    assert stage.now_ms() == 0
    asked = next(
        asked for step in plan.steps for asked in step.asks if f"{step.id}.{asked.id}" == question
    )
    stage.say((), ("The walk was interrupted and is taken up again here.",))
    stage.listen(
        Question(question, asked.kind, unit=asked.unit, low=asked.low, high=asked.high), (), None
    )
    arrival = stage.next()
    assert isinstance(arrival, Transcript)
    before = next(e for e in undisturbed.events if isinstance(e, Heard) and e.question == question)
    assert arrival.text == before.words


@pytest.mark.parametrize(
    "question", ["compressor-look.deflection", "cut-in.reading", "warning-on-falling.reading"]
)
def test_a_walk_taken_up_again_ends_with_the_step_s_readings(
    question: str, undisturbed: Trial
) -> None:
    """Whatever of that step was told before or is told again is what would have been told."""
    plan = shipped.plan("straight-truck", "demo-truck")
    kept, state = broken_off_at(numbered(undisturbed, question))
    trial = Trial(plan, stage_for(plan, "demo-truck"), state, [])
    trial.stage.restore(kept)
    go_on(trial, SittingOpened(2, "", "", 0))
    assert trial.how == "complete"
    step = question.partition(".")[0]
    before, after = readings(undisturbed.given), readings(trial.given)
    told = [q for q in before if q.partition(".")[0] == step]
    assert told
    assert {q: after.get(q) for q in told} == {q: before[q] for q in told}


def test_a_snapshot_of_another_kind_is_refused(stage: SimulatedStage) -> None:
    for damaged in ({}, {"version": 99}, {"version": 1, "truck": {}}, {"version": 1, "truck": 3}):
        with pytest.raises(RecordError, match="start the demo afresh"):
            stage.restore(damaged)


def test_a_snapshot_is_plain_and_small(undisturbed: Trial) -> None:
    text = json.dumps(undisturbed.stage.snapshot())
    assert len(text) < 60_000
    assert Pair.__name__ not in text
