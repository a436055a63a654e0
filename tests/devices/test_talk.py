"""A talk is no answer: the passes that judge answers are given up, and only "stop" counts in it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.devices.hearing import PRESSURE, YES_NO, ear_setup, grammar, hiss, spoken
from tests.speech.books import english, thresholds
from walkaround.devices.ear import FedEar
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.exchange import Because, Command, Meaning, Question, Said, Unclear
from walkaround.speech.ports import Transcript
from walkaround.speech.understand import understand

pytestmark = [pytest.mark.model, pytest.mark.voice]
PROSE = (
    "the weather this evening brings clouds over the hills and rain from the west and snow above"
    " the tree line while traffic is heavy at the bridge where a car has broken down"
)


@pytest.fixture(scope="module")
def ear() -> Iterator[FedEar]:
    ear = FedEar(ear_setup())
    yield ear
    ear.close()


@pytest.fixture(scope="module")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("voice")


def voiced(cache: Path, words: str, rate: int = 150) -> bytes:
    """The voice alone, with no quiet about it."""
    sound = np.frombuffer(Pyttsx3Voice(cache, rate=rate).sound_of(words), "<i2")
    loud = np.flatnonzero(np.abs(sound) > 300)
    return sound[loud[0] : loud[-1]].tobytes()


def seconds(sound: bytes) -> float:
    return len(sound) / 32_000


def meaning(heard: Transcript, question: Question) -> Meaning:
    return understand(heard, question, english(), thresholds()).meaning


@pytest.mark.parametrize("question", [PRESSURE, YES_NO])
def test_prose_is_given_up_after_five_seconds_and_is_no_answer(
    ear: FedEar, cache: Path, question: Question
) -> None:
    prose = voiced(cache, PROSE)
    assert seconds(prose) > 8
    heard = ear.hear(question, grammar(question), hiss(1.0) + prose + hiss(1.0), 0)
    assert [one.talk for one in heard][:1] == [True]
    assert heard[0].free is None
    assert all(meaning(one, question) == Unclear(Because.NOT_AN_ANSWER) for one in heard)


@pytest.mark.parametrize(("question", "after_s"), [(PRESSURE, 1.0), (YES_NO, 1.0), (YES_NO, 5.8)])
def test_stop_is_heard_inside_a_talk(
    ear: FedEar, cache: Path, question: Question, after_s: float
) -> None:
    """Before the passes are given up and after. At a number the grammar loses a "stop" in the
    middle of prose with these passes and without them, so that is not asked for here."""
    prose, stop = voiced(cache, PROSE), voiced(cache, "stop")
    at = int(after_s * 16_000) * 2
    sound = prose[:at] + hiss(0.15) + stop + hiss(0.15) + prose[at : at + 96_000]
    heard = ear.hear(question, grammar(question), hiss(1.0) + sound + hiss(1.0), 0)
    assert heard[0].talk == (after_s > 5)
    assert meaning(heard[0], question) == Said(Command.STOP)


def test_no_other_command_is_taken_from_a_talk(ear: FedEar, cache: Path) -> None:
    (heard,) = ear.hear(YES_NO, grammar(YES_NO), spoken(cache, "wait"), 0)
    assert meaning(heard, YES_NO) == Said(Command.WAIT)
    (talk,) = _as_talk([heard])
    assert meaning(talk, YES_NO) == Unclear(Because.NOT_AN_ANSWER)
    (stop,) = _as_talk(ear.hear(YES_NO, grammar(YES_NO), spoken(cache, "stop"), 0))
    assert meaning(stop, YES_NO) == Said(Command.STOP)


def _as_talk(heard: Sequence[Transcript]) -> list[Transcript]:
    return [replace(one, talk=True, free=None, free_others=()) for one in heard]


def test_the_turn_right_behind_a_talk_goes_on_with_it_and_after_a_pause_none_does(
    ear: FedEar, cache: Path
) -> None:
    prose = voiced(cache, PROSE)
    long = (prose * 2)[: 32_000 * 11]  # the cap cuts it at eight seconds
    quick = hiss(1.0) + long + hiss(1.5) + voiced(cache, "ninety five") + hiss(1.0)
    heard = ear.hear(PRESSURE, grammar(PRESSURE), quick, 0)
    assert [one.talk for one in heard] == [True, True, False]
    assert heard[-1].text == "ninety five"
    assert not isinstance(meaning(heard[-1], PRESSURE), Unclear)


def test_a_slow_long_answer_is_no_talk(ear: FedEar, cache: Path) -> None:
    """Ten words at the slowest that the voice speaks."""
    words = "one hundred and twenty five pounds per square inch"
    answer = voiced(cache, words, rate=85)
    assert seconds(answer) > 4.5
    (heard,) = ear.hear(PRESSURE, grammar(PRESSURE), hiss(1.0) + answer + hiss(1.0), 0)
    assert not heard.talk
    assert heard.free is not None
