"""Every ask of every plan has a behaviour, and whole walks run to their end."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import pytest

from tests.procedure import shipped
from tests.simulated.trial import WALKS, Trial, heard, walk
from walkaround.exchange import (
    AskKind,
    Held,
    Mark,
    Number,
    Pair,
    Question,
    Rise,
    StayedQuiet,
    Unclear,
    Wording,
    Yes,
)
from walkaround.simulated.behaviour import ROWS, row_for
from walkaround.simulated.doing import Build, Pump, Until
from walkaround.simulated.driver import Temperament
from walkaround.simulated.mouth import Letters
from walkaround.simulated.scene import SIGHTS
from walkaround.simulated.telling import TELLS
from walkaround.speech.ports import Transcript

VEHICLES = (
    ("straight-truck", "demo-truck"),
    ("straight-truck", "demo-truck-metric"),
    ("tractor-trailer", "demo-tractor"),
    ("tractor-trailer", "demo-doubles"),
    ("bus", "demo-bus"),
)
PLACES = ("US", "US-CA", "US-NC", "CA-ON", "CA-BC", "CA-AB", "CA-SK", "CA-NL", "CA-QC", "NZ")
WHILE_MOVING = (
    "mark at the number",
    "mark at once",
    "mark where it was",
    "called-out rise",
)


@pytest.mark.parametrize(("vehicle", "place"), tuple(itertools.product(VEHICLES, PLACES)))
def test_every_ask_has_a_behaviour(vehicle: tuple[str, str], place: str) -> None:
    plan = shipped.plan(*vehicle, (place,))
    asked = [
        f"{step.id}.{ask.id}"
        for step in (*plan.steps, *plan.acts)
        for ask in step.asks
        if ask.kind is not AskKind.HOLD
    ]
    assert [question for question in asked if row_for(question) is None] == []


def test_rows_name_only_what_there_is() -> None:
    for name, row in ROWS.items():
        assert row.tells in TELLS or row.tells in WHILE_MOVING, name
        for move in row.does:
            if isinstance(move, Until | Build):
                assert move.sight in SIGHTS, name
            if isinstance(move, Pump):
                assert move.until in SIGHTS, name


@pytest.mark.parametrize("which", WALKS, ids=lambda w: w[1])
def test_a_walk_ends_with_every_step_done(which: tuple[str, str, tuple[str, ...]]) -> None:
    """A driver who never slips, a vehicle in good order: nothing asked twice, nothing left out."""
    trial = walk(*which)
    assert trial.how == "complete"
    assert trial.state.not_done == {}
    assert [event for event in trial.events if isinstance(event, StayedQuiet)] == []
    assert [h.words for h in heard(trial) if isinstance(h.meaning, Unclear)] == []


def _pair(trial: Trial, question: str) -> tuple[float, float]:
    answer = trial.given[question].answer
    assert isinstance(answer, Pair)
    return float(answer.primary.value), float(answer.secondary.value)


@pytest.fixture(scope="module")
def straight() -> Trial:
    return walk("straight-truck", "demo-truck", ("US", "CA-ON"))


def test_a_sound_truck_reads_as_one_expects(straight: Trial) -> None:
    """Cut-out about 125, cut-in about 103, warning about 65, parking valve about 32: all psi."""
    assert _pair(straight, "cut-out-first.reading") == pytest.approx((124, 124), abs=2)
    assert min(_pair(straight, "cut-in.reading")) == pytest.approx(103, abs=2)
    assert min(_pair(straight, "warning-on-falling.reading")) == pytest.approx(65, abs=2)
    assert max(_pair(straight, "park-valve-closes.reading")) == pytest.approx(31, abs=2)
    start, end = _pair(straight, "leak-applied.start"), _pair(straight, "leak-applied.end")
    assert all(0 <= a - b <= 2 for a, b in zip(start, end, strict=True))
    assert isinstance(straight.given["leak-applied.hold"].answer, Held)
    assert isinstance(straight.given["first-climb.low"].answer, Mark)


def test_called_out_values_stand_where_the_needle_passed(straight: Trial) -> None:
    """85 to 100 psi at 700 turns in well over half a minute; calls follow each other evenly."""
    rise = straight.given["build-up-time.rise"].answer
    assert isinstance(rise, Rise)
    at = {int(point.value.value): point.at_ms for point in rise.points}
    assert {85, 95, 100} <= set(at)
    assert 31_000 < at[100] - at[85] < 44_000
    assert (at[95] - at[85]) / (at[100] - at[85]) == pytest.approx(2 / 3, abs=0.03)


def test_strokes_are_told_to_the_sixteenth(straight: Trial) -> None:
    strokes = [
        given.answer.value.value
        for question, given in straight.given.items()
        if question.startswith("stroke-applied.stroke@") and isinstance(given.answer, Number)
    ]
    assert [float(stroke) for stroke in strokes] == [1.25, 1.25, 1.5, 1.625]


def test_the_same_seed_is_the_same_walk(straight: Trial) -> None:
    again = walk("straight-truck", "demo-truck", ("US", "CA-ON"))
    assert again.events == straight.events
    other = walk("straight-truck", "demo-truck", ("US", "CA-ON"), seed=2)
    assert other.events != straight.events


def test_the_short_wording_is_quicker(straight: Trial) -> None:
    brief = walk("straight-truck", "demo-truck", ("US", "CA-ON"), wording=Wording.SHORT)
    assert brief.how == "complete"
    assert brief.stage.now_ms() < straight.stage.now_ms()


def test_a_driver_who_slips_gets_there_with_the_same_readings(straight: Trial) -> None:
    """Mumbling, talking aside, correcting himself, asking again: more events, the same answers."""
    slips = Temperament(0.1, 0.1, 0.3, 0.1, 0.1, 0.1)
    trial = walk("straight-truck", "demo-truck", ("US", "CA-ON"), temperament=slips)
    assert trial.how == "complete"
    said = [h.words for h in heard(trial)]
    assert {"repeat", "explain", "wait", "continue", "correction"} <= set(said)
    assert any(isinstance(h.meaning, Unclear) for h in heard(trial))
    assert trial.state.not_done == {}
    for question in ("cut-out-first.reading", "leak-applied.end", "warning-on-falling.reading"):
        assert _pair(trial, question) == pytest.approx(_pair(straight, question), abs=3)


def test_a_driver_who_cannot_do_a_step_says_so() -> None:
    trial = walk(
        "straight-truck",
        "demo-truck",
        ("CA-ON",),
        temperament=Temperament(unable_at=("leak-listened",)),
    )
    assert trial.how == "complete"
    assert set(trial.state.not_done) == {"leak-listened"}


def test_nobody_speaks_before_the_prompt_has_ended(straight: Trial) -> None:
    ends: list[int] = []
    for at_ms, who, words in straight.stage.said:
        if who == "prompt":
            ends.append(at_ms + round(max(0.3, len(words.split()) / 2.6) * 1000))
        elif who == "driver":
            assert at_ms >= ends[-1] - 1


class MishearsOnce:
    """Letters, but for one call of the rise, of which nothing is made out."""

    def __init__(self) -> None:
        self.letters, self.left = Letters(), 1

    def say(
        self,
        words: str,
        onset_ms: int,
        question: Question,
        grammar: Sequence[str],
        noises: Sequence[str],
    ) -> tuple[tuple[Transcript, ...], int]:
        if question.id == "build-up-time.rise" and words == "eighty five" and self.left:
            self.left, grammar = 0, ("mark",)
        return self.letters.say(words, onset_ms, question, grammar, noises)


def test_a_call_that_was_misheard_does_not_silence_the_driver(straight: Trial) -> None:
    """He tells which number it was and goes on calling: no waiting for the rise's time to end."""
    trial = walk("straight-truck", "demo-truck", ("US", "CA-ON"), mouth=MishearsOnce())
    assert trial.how == "complete"
    rise = trial.given["build-up-time.rise"].answer
    assert isinstance(rise, Rise)
    assert [int(point.value.value) for point in rise.points][-2:] == [95, 100]
    assert trial.stage.now_ms() < straight.stage.now_ms() + 120_000


def test_a_yes_is_a_yes(straight: Trial) -> None:
    assert straight.given["key-on-lamps.warning"].answer == Yes()
