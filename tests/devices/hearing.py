"""What tests of the ear share: the installed model, a warm ear, a spoken sound, questions."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

from walkaround.devices.ear.child import EarSetup
from walkaround.devices.library import Library
from walkaround.devices.model import present_model
from walkaround.devices.model.install import pinned_model
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.exchange import AskKind, Question, Stake
from walkaround.quantity import Kind, Unit
from walkaround.speech.grammar import grammar_for
from walkaround.speech.phrases import Phrasebook, load_phrases

PRESSURE = Question(
    "level.reading",
    AskKind.NUMBER,
    Stake.READING,
    Kind.PRESSURE,
    Unit.PSI,
    Decimal(0),
    Decimal(150),
)
YES_NO = Question("leak.settled", AskKind.YES_NO, Stake.CAUTION)


def ear_setup() -> EarSetup:
    """For the installed model; skips, saying so, where there is none."""
    model = present_model(pinned_model())
    if model is None:
        pytest.skip("the speech model is not installed (python3 tests fetches it)")
    return EarSetup.of(Library(), model)


def phrasebook() -> Phrasebook:
    found = Library().read("phrases", "en")
    return load_phrases(found.content, found.file)


def grammar(question: Question) -> tuple[str, ...]:
    return grammar_for(question, phrasebook())


def hiss(seconds: float, seed: int = 1, loudness: float = 8.0) -> bytes:
    """A quiet room: seeded white noise, 16-bit at 16 kHz."""
    samples = np.random.default_rng(seed).normal(0, loudness, int(seconds * 16_000))
    return np.rint(samples).astype("<i2").tobytes()


def spoken(cache: Path, *sentences: str, rate: int = 150) -> bytes:
    """The sentences by the program's own voice, a second of quiet about each."""
    voice = Pyttsx3Voice(cache, rate=rate)
    return hiss(1.0) + b"".join(voice.sound_of(one) + hiss(1.0) for one in sentences)
