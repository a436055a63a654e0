"""The fed ear with the real model: numbers, marks in time, any block size, a child that dies."""

from __future__ import annotations

import contextlib
import os
import signal
import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.devices.hearing import PRESSURE, YES_NO, ear_setup, grammar, hiss, spoken
from walkaround.devices.ear import FedEar
from walkaround.errors import RecogniserError

pytestmark = [pytest.mark.model, pytest.mark.voice]


@pytest.fixture(scope="module")
def ear() -> Iterator[FedEar]:
    ear = FedEar(ear_setup())
    ear.start()
    yield ear
    ear.close()


@pytest.fixture(scope="module")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("voice")


@pytest.mark.parametrize(
    "words", ["one hundred and five", "ninety five", "one twenty", "sixty", "one one zero"]
)
def test_spoken_numbers_are_heard(ear: FedEar, cache: Path, words: str) -> None:
    (heard,) = ear.hear(PRESSURE, grammar(PRESSURE), spoken(cache, words), 0)
    assert heard.text == words
    assert heard.question == PRESSURE.id
    assert heard.free is not None
    assert heard.alternatives[0].words == words
    assert min(word.confidence for word in heard.words) > 0.5


def test_two_answers_are_two_utterances_and_times_are_of_the_sitting(
    ear: FedEar, cache: Path
) -> None:
    sound = spoken(cache, "yes", "no")
    first, second = ear.hear(YES_NO, grammar(YES_NO), sound, 50_000)
    assert (first.text, second.text) == ("yes", "no")
    assert 50_950 < first.onset_ms < 51_200
    assert first.onset_ms < first.end_ms < first.arrived_ms < second.onset_ms
    assert first.words[0].start_ms == pytest.approx(first.onset_ms, abs=250)


def test_the_onset_follows_the_sound(ear: FedEar, cache: Path) -> None:
    sound = spoken(cache, "yes")
    (at_once,) = ear.hear(YES_NO, grammar(YES_NO), sound, 0)
    for later_ms in (7, 100, 333, 1000):
        (later,) = ear.hear(YES_NO, grammar(YES_NO), hiss(later_ms / 1000, 2) + sound, 0)
        assert later.onset_ms - at_once.onset_ms == pytest.approx(later_ms, abs=12)


def test_quiet_and_noise_are_no_utterances(ear: FedEar) -> None:
    assert ear.hear(YES_NO, grammar(YES_NO), hiss(3.0), 0) == ()
    assert ear.hear(YES_NO, grammar(YES_NO), b"", 0) == ()
    assert ear.hear(YES_NO, grammar(YES_NO), hiss(3.0, loudness=3000), 0) == ()


def test_speech_that_the_sound_cuts_off_is_still_heard(ear: FedEar, cache: Path) -> None:
    whole = spoken(cache, "ninety five")
    (heard,) = ear.hear(PRESSURE, grammar(PRESSURE), whole[: len(whole) - 2 * 15_000], 0)
    assert heard.text == "ninety five"


def test_an_odd_byte_is_no_harm(ear: FedEar, cache: Path) -> None:
    (heard,) = ear.hear(YES_NO, grammar(YES_NO), spoken(cache, "yes") + b"\1", 0)
    assert heard.text == "yes"


def test_the_same_sound_is_heard_the_same_again(ear: FedEar, cache: Path) -> None:
    sound = spoken(cache, "one hundred and five", "stop", "ninety")
    once = ear.hear(PRESSURE, grammar(PRESSURE), sound, 0)
    assert once == ear.hear(PRESSURE, grammar(PRESSURE), sound, 0)
    assert [heard.text for heard in once] == ["one hundred and five", "stop", "ninety"]


def test_words_the_model_does_not_know_are_named(ear: FedEar) -> None:
    assert ear.unknown_words(["governor", "gladhand", "psi", "slackadjuster"]) == (
        "gladhand",
        "slackadjuster",
    )
    assert ear.unknown_words(" ".join((*grammar(PRESSURE), *grammar(YES_NO))).split()) == ()


def test_a_child_killed_between_two_answers_is_replaced(cache: Path) -> None:
    ear = FedEar(ear_setup())
    ear.wait_until_ready()
    first = ear.pid
    assert first is not None
    os.kill(first, signal.SIGKILL)
    with contextlib.suppress(RecogniserError):  # told once at most, if the death was not seen yet
        ear.hear(YES_NO, grammar(YES_NO), hiss(1.0), 0)
    (heard,) = ear.hear(YES_NO, grammar(YES_NO), spoken(cache, "yes"), 0)
    assert heard.text == "yes"
    assert ear.pid not in (None, first)
    ear.close()


def test_a_child_that_dies_while_it_hears_is_told_once(cache: Path) -> None:
    ear = FedEar(ear_setup())
    ear.wait_until_ready()
    pid = ear.pid
    assert pid is not None
    os.kill(pid, signal.SIGSTOP)  # it cannot answer, and then dies in the middle of the call
    killer = threading.Timer(0.3, os.kill, (pid, signal.SIGKILL))
    killer.start()
    with pytest.raises(RecogniserError, match="say that again"):
        ear.hear(YES_NO, grammar(YES_NO), hiss(1.0), 0)
    killer.join()
    (heard,) = ear.hear(YES_NO, grammar(YES_NO), spoken(cache, "no"), 0)
    assert heard.text == "no"
    ear.close()


def test_the_child_ends_when_the_ear_is_closed() -> None:
    ear = FedEar(ear_setup())
    ear.wait_until_ready()
    pid = ear.pid
    assert pid is not None
    ear.close()
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)


def test_a_damaged_model_is_a_plain_error(tmp_path: Path) -> None:
    (tmp_path / "conf").mkdir()
    (tmp_path / "conf" / "model.conf").write_text("--beam=10\n", encoding="ascii")
    ear = FedEar(replace(ear_setup(), model=tmp_path))
    with pytest.raises(RecogniserError):
        ear.wait_until_ready()
    ear.close()


def test_sound_is_heard_the_same_in_any_volume_that_does_not_clip(ear: FedEar, cache: Path) -> None:
    sound = np.frombuffer(spoken(cache, "one twenty"), dtype="<i2")
    for part in (0.25, 0.5, 1.0):
        quiet = np.rint(sound * part).astype("<i2").tobytes()
        (heard,) = ear.hear(PRESSURE, grammar(PRESSURE), quiet, 0)
        assert heard.text == "one twenty"
