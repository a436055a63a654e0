"""The yard's noises alone give no answer at all, and none keeps a turn from ending.

Synthetic noises (tests/benchmarks/yard.py): no recording of a real yard.  A few seconds of
each here, a whole minute of each with --slow.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from tests.benchmarks.noise import active_rms
from tests.benchmarks.yard import ALONE, VOICE_RMS, as_sound, noise, radio
from tests.devices.hearing import PRESSURE, YES_NO, ear_setup, grammar, spoken
from tests.speech.books import english, thresholds
from walkaround.devices.ear import FedEar
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.exchange import AskKind, Meaning, Question, Unclear
from walkaround.speech.ports import SAMPLES_PER_SECOND
from walkaround.speech.understand import understand

pytestmark = [pytest.mark.model, pytest.mark.voice]
MARK = Question("rise.mark", AskKind.MARK, armed=True)
QUESTIONS = (PRESSURE, YES_NO, MARK)
SHORT_S, WHOLE_S = 8.0, 60.0
REPORT = (
    "The weather this evening: clouds over the hills, rain from the west, and snow above the"
    " tree line.",
    "Traffic is heavy at the bridge, where a car has broken down in the middle lane.",
    "After the news we play music, and you may call us with your wishes.",
)


@pytest.fixture(scope="module")
def ear() -> Iterator[FedEar]:
    ear = FedEar(ear_setup())
    yield ear
    ear.close()


def answers(ear: FedEar, question: Question, sound: bytes) -> list[tuple[str, Meaning]]:
    heard = ear.hear(question, grammar(question), sound, 0)
    taken = [(t.text, understand(t, question, english(), thresholds()).meaning) for t in heard]
    return [(text, meaning) for text, meaning in taken if not isinstance(meaning, Unclear)]


@pytest.fixture(params=[SHORT_S, pytest.param(WHOLE_S, marks=pytest.mark.slow)])
def seconds(request: pytest.FixtureRequest) -> float:
    return float(request.param)


@pytest.mark.parametrize("name", ALONE)
def test_a_noise_alone_is_no_answer(ear: FedEar, name: str, seconds: float) -> None:
    sound = as_sound(noise(name, seconds)).tobytes()
    assert [answers(ear, question, sound) for question in QUESTIONS] == [[], [], []]


def test_radio_speech_is_no_answer(ear: FedEar, tmp_path: Path, seconds: float) -> None:
    voice = Pyttsx3Voice(tmp_path, rate=170)
    report = np.frombuffer(b"".join(voice.sound_of(one) for one in REPORT), "<i2")
    sound = as_sound(radio(report, seconds) + noise("idle", seconds) / 8).tobytes()
    assert [answers(ear, question, sound) for question in QUESTIONS] == [[], [], []]


@pytest.mark.parametrize("name", ALONE)
def test_no_noise_keeps_a_turn_from_ending(ear: FedEar, tmp_path: Path, name: str) -> None:
    """A voice in the noise, 10 dB above it: decided, and not at the cap."""
    words = np.frombuffer(spoken(tmp_path, "ninety five"), "<i2").astype(np.float64)
    words *= VOICE_RMS / active_rms(words)
    whole = np.concatenate([words, np.zeros(4 * SAMPLES_PER_SECOND)])
    made = noise(name, len(whole) / SAMPLES_PER_SECOND, zlib.crc32(name.encode()))
    made *= VOICE_RMS / 10**0.5 / np.sqrt(np.mean(made**2))
    heard = ear.hear(PRESSURE, grammar(PRESSURE), as_sound(whole + made).tobytes(), 0)
    assert heard, "the voice was not noticed"
    # what was made out is hearing's matter (tests/benchmarks/hearing.py), not this test's
    assert heard[-1].end_ms < 1000 * len(words) / SAMPLES_PER_SECOND
    for turn in heard:
        assert turn.arrived_ms - turn.end_ms < 1000
