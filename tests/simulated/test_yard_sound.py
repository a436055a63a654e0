"""Made-up noise and the driver's mouth: seeded, at the level asked, heard by the real ear."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

from tests.devices.hearing import ear_setup
from tests.simulated.trial import phrases, thresholds
from walkaround.devices.ear import FedEar
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.exchange import AskKind, Number, Pair, Question, Stake
from walkaround.quantity import Kind, Quantity, Unit
from walkaround.simulated.mouth import (
    LEAD_MS,
    TRAIL_MS,
    Letters,
    Throat,
    as_bytes,
    as_sound,
    trimmed,
)
from walkaround.simulated.noise import FIRING_HZ, NOISES, Sound, mixed, speech_level
from walkaround.speech.grammar import grammar_for
from walkaround.speech.ports import SAMPLES_PER_SECOND, Transcript
from walkaround.speech.understand import understand

PAIR = Question(
    "cut-out.reading",
    AskKind.PAIR,
    Stake.READING,
    Kind.PRESSURE,
    Unit.PSI,
    Decimal(0),
    Decimal(150),
)


def tone(seconds: float = 1.0, hertz: float = 440.0) -> Sound:
    times = np.arange(round(seconds * SAMPLES_PER_SECOND)) / SAMPLES_PER_SECOND
    made: Sound = 0.3 * np.sin(2 * np.pi * hertz * times)
    return made


@pytest.mark.parametrize("name", NOISES)
def test_a_noise_is_its_seed_s_own_and_of_unit_level(name: str) -> None:
    one, same, other = (NOISES[name](16_000, np.random.default_rng(s)) for s in (1, 1, 2))
    assert np.array_equal(one, same)
    assert not np.array_equal(one, other)
    assert np.sqrt(np.mean(one**2)) == pytest.approx(1.0)
    assert np.isfinite(one).all()


def test_a_diesel_hums_at_its_firing_frequency() -> None:
    """32.5 Hz = 650 turns a minute, three firings a turn: six cylinders, four strokes."""
    assert pytest.approx(650 / 60 * 6 / 2) == FIRING_HZ
    sound = NOISES["diesel"](SAMPLES_PER_SECOND * 4, np.random.default_rng(3))
    power = np.abs(np.fft.rfft(sound)) ** 2
    hertz = np.fft.rfftfreq(sound.size, 1 / SAMPLES_PER_SECOND)
    loudest = hertz[20 * 4 :][np.argmax(power[20 * 4 :])]
    assert loudest == pytest.approx(FIRING_HZ, abs=1.0)


@pytest.mark.parametrize("snr_db", [0.0, 10.0, 20.0])
def test_noise_is_mixed_at_the_ratio_asked(snr_db: float) -> None:
    speech = np.concatenate([np.zeros(8000), tone(), np.zeros(8000)])
    noise = NOISES["wind"](speech.size, np.random.default_rng(4))
    added = mixed(speech, noise, snr_db) - speech
    ratio = 20 * np.log10(speech_level(speech) / np.sqrt(np.mean(added**2)))
    assert ratio == pytest.approx(snr_db, abs=0.01)
    # silence round the speech does not count: a tone of amplitude 0.3 has 0.3 / √2
    assert speech_level(speech) == pytest.approx(0.3 / np.sqrt(2), rel=0.02)


def test_samples_go_there_and_back_and_are_clipped() -> None:
    sound = tone()
    assert np.abs(as_sound(as_bytes(sound)) - sound).max() < 1 / 32768
    assert as_sound(as_bytes(sound * 10)).max() == pytest.approx(1.0, abs=1e-4)


def test_silence_about_speech_is_taken_off() -> None:
    padded = np.concatenate([np.zeros(3000), tone(0.5), np.zeros(5000)])
    assert trimmed(as_bytes(padded)).size == pytest.approx(8000, abs=40)
    assert trimmed(b"").size == 0


class Recorder:
    """An ear that keeps the sound it was given and hears what it is told to."""

    def __init__(self, hears: tuple[Transcript, ...] = ()) -> None:
        self.hears, self.sounds, self.begins = hears, [b""], [0]

    def hear(
        self, question: Question, grammar: object, sound: bytes, begins_ms: int
    ) -> tuple[Transcript, ...]:
        del question, grammar
        self.sounds.append(sound)
        self.begins.append(begins_ms)
        return self.hears

    def close(self) -> None:
        pass


class Whistle:
    """A voice that whistles for 400 ms after 200 ms of silence, whatever the words."""

    def sound_of(self, sentence: str) -> bytes:
        del sentence
        return as_bytes(np.concatenate([np.zeros(3200), tone(0.4), np.zeros(1600)]))


def test_the_voice_sets_in_where_it_was_meant_to() -> None:
    ear = Recorder()
    heard, end_ms = Throat(Whistle(), ear, seed=1).say("yes", 10_000, PAIR, (), ("wind",))
    assert heard == ()
    assert ear.begins[-1] == 10_000 - LEAD_MS
    assert end_ms == pytest.approx(10_400, abs=5)
    sound = as_sound(ear.sounds[-1])
    assert sound.size * 1000 / SAMPLES_PER_SECOND == pytest.approx(LEAD_MS + 400 + TRAIL_MS, abs=5)
    lead = LEAD_MS * SAMPLES_PER_SECOND // 1000
    assert np.abs(sound[:lead]).max() < 0.1 < np.abs(sound[lead : lead + 400]).max()


def test_the_same_words_in_the_same_noise_sound_the_same() -> None:
    sounds = []
    for seed in (1, 1, 2):
        ear = Recorder()
        Throat(Whistle(), ear, seed).say("yes", 0, PAIR, (), ("diesel",))
        sounds.append(ear.sounds[-1])
    assert sounds[0] == sounds[1] != sounds[2]


def test_letters_take_their_time() -> None:
    (heard,), end_ms = Letters().say("one oh five", 5_000, PAIR, ("one oh five",), ())
    assert heard.text == "one oh five"
    assert heard.onset_ms == 5_000 < heard.end_ms == end_ms < heard.arrived_ms
    assert [word.start_ms for word in heard.words] == sorted(w.start_ms for w in heard.words)


# ---------------------------------------------------------------- the real ear


@pytest.fixture(scope="module")
def ear() -> Iterator[FedEar]:
    ear = FedEar(ear_setup())
    ear.start()
    yield ear
    ear.close()


@pytest.mark.model
@pytest.mark.voice
@pytest.mark.parametrize(
    ("noises", "least"), [(("wind",), 3), (("diesel",), 2), (("diesel", "buzzer"), 1)]
)
def test_a_pair_is_heard_in_the_yard_or_asked_again_never_wrong(
    ear: FedEar, tmp_path: Path, noises: tuple[str, ...], least: int
) -> None:
    """How many of three must be right falls with the noise; that none is wrong does not."""
    throat = Throat(Pyttsx3Voice(tmp_path, rate=150), ear, seed=1)
    book, strict = phrases(), thresholds()
    right = 0
    for primary, secondary, words in (
        (105, 112, "primary one oh five secondary one twelve"),
        (64, 72, "primary sixty four secondary seventy two"),
        (124, 124, "primary one twenty four secondary one twenty four"),
    ):
        heard, _ = throat.say(words, 10_000, PAIR, grammar_for(PAIR, book), noises)
        wanted = Pair(Quantity(Decimal(primary), Unit.PSI), Quantity(Decimal(secondary), Unit.PSI))
        for one in heard:
            meaning = understand(one, PAIR, book, strict).meaning
            assert meaning == wanted or not isinstance(meaning, Number | Pair)
            right += meaning == wanted
            assert one.onset_ms == pytest.approx(10_000, abs=150)
    assert right >= least
