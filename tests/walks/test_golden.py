"""Golden dialogues: a change of what is said, heard or judged shows here, line by line."""

from __future__ import annotations

import json

import pytest

from tests.walks.stories import GOLDEN, STORIES, Told, dialogue, tell
from walkaround.exchange import Event, Heard, Outcome, Said
from walkaround.records.codec import decode
from walkaround.records.journal import Ended
from walkaround.simulated.mouth import PAUSE
from walkaround.walk import replay


@pytest.fixture(scope="module", params=STORIES)
def named(request: pytest.FixtureRequest) -> tuple[str, Told]:
    name: str = request.param
    return name, tell(STORIES[name])


def test_the_dialogue_is_the_golden_one(named: tuple[str, Told]) -> None:
    name, told = named
    golden = (GOLDEN / f"{name}.txt").read_text(encoding="utf-8")
    assert dialogue(told).splitlines() == golden.splitlines()


LEFT_OUT = {
    # Nobody rolls on a brake that gave way, nor with a last unit that may have none.
    "a-parking-brake-gives-way": ["service-stop"],
    "no-air-at-the-last-trailer": ["trailer-hand-valve-stop", "service-stop"],
}


def test_it_ends_complete_with_every_step_done(named: tuple[str, Told]) -> None:
    name, told = named
    assert told.walk.ended is Ended.COMPLETE
    assert list(told.walk.state.not_done) == LEFT_OUT.get(name, [])
    assert list(told.walk.state.done) == [
        step.id for step in told.material.plan.steps if step.id not in told.walk.state.not_done
    ]


def test_a_vehicle_whose_brake_gave_way_stands_on_chocks_at_the_end() -> None:
    told = tell(STORIES["a-parking-brake-gives-way"])
    at_the_end = told.walk.state.conditions
    assert (at_the_end["chocks"], at_the_end["parking"], at_the_end["holds"]) == (
        "in",
        "set",
        "unknown",
    )


def test_the_journal_replays_to_the_same_state(named: tuple[str, Told]) -> None:
    """With no recogniser, from the written lines alone."""
    _, told = named
    assert replay(told.material.plan, _events(told.journal)) == told.walk.state


def test_every_answer_is_in_the_journal_in_the_order_given(named: tuple[str, Told]) -> None:
    _, told = named
    heard = [event for event in _events(told.journal) if isinstance(event, Heard)]
    spoken = [words for _, who, words in told.stage.said if who == "driver"]
    at_once = [event for event in heard if not event.went_on]
    assert len(at_once) == len(spoken)
    for event, words in zip(at_once, spoken, strict=True):
        assert event.words == words.partition(f" {PAUSE}")[0] or "[unk]" in event.words
    faltered = [words.replace(f"{PAUSE} ", "") for words in spoken if PAUSE in words]
    assert [event.words for event in heard if event.went_on] == faltered


def _events(journal: bytes) -> list[Event]:
    bodies = [json.loads(line)["body"] for line in journal.splitlines()]
    return [decode(body["event"]) for body in bodies if "event" in body]


def test_a_leak_fails_where_it_leaks_and_nowhere_else() -> None:
    told = tell(STORIES["a-chamber-leaks"])
    failed = {
        (v.place, v.measure)
        for verdicts in told.walk.state.verdicts.values()
        for v in verdicts
        if v.outcome is Outcome.NOT_MET
    }
    assert {("US", "loss-applied"), ("CA-ON", "loss-applied")} <= failed
    assert not any(measure == "loss-released" for _, measure in failed)


def test_a_driver_who_slips_still_comes_to_the_end() -> None:
    """Corrections, repeats, pauses and mumbling leave no step undone."""
    slips = tell(STORIES["a-driver-who-slips"])
    commands = [
        event.meaning.command
        for event in _events(slips.journal)
        if isinstance(event, Heard) and isinstance(event.meaning, Said)
    ]
    assert len(commands) >= 3
    assert not slips.walk.state.not_done
