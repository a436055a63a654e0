"""The ear that is fed: sound in, transcripts out, through the same listener as the live one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from walkaround.devices.ear.child import EarChild, EarSetup
from walkaround.devices.ear.messages import question_to_json, transcript_from_json
from walkaround.devices.ear.recent import Recent
from walkaround.exchange import Question
from walkaround.speech.ports import SAMPLES_PER_SECOND, Transcript

_START_S = 30.0  # a slow disk; half a second is usual
_BYTES_PER_SECOND = SAMPLES_PER_SECOND * 2


class FedEar:
    """Hears utterances in sound that it is given (the port `speech.ports.Ear`).

    The child starts with `start` or with the first call.  RecogniserError is raised once
    when it died; the next call starts a new one.
    """

    def __init__(self, setup: EarSetup) -> None:
        self._child = EarChild(setup)
        self._hand_over = False

    def hand_over(self) -> None:
        """Every utterance brings its own sound along from now on."""
        self._hand_over = True

    @property
    def pid(self) -> int | None:
        """The child's process number, for measuring."""
        return self._child.pid

    def start(self) -> None:
        """Begin to load the model; returns at once."""
        self._child.start()

    def wait_until_ready(self) -> None:
        """Until the model is loaded. Raises RecogniserError."""
        self._child.ask({"do": "are you there"}, b"", _START_S)

    def unknown_words(self, words: Iterable[str]) -> tuple[str, ...]:
        """Those words that the model does not know: it would never hear them."""
        message = {"do": "unknown words", "words": sorted(set(words))}
        return tuple(self._child.ask(message, b"", _START_S)["words"])

    def hear(
        self, question: Question, grammar: Sequence[str], sound: bytes, begins_ms: int
    ) -> tuple[Transcript, ...]:
        """Every utterance in the sound, in order, heard under one question.

        `sound` is 16 kHz, mono, signed 16-bit; `begins_ms` is when its first sample was,
        in the sitting.  An utterance that the sound cuts off is closed where it stops.
        """
        message = {
            "do": "hear",
            "question": question_to_json(question),
            "grammar": list(grammar),
        }
        patience_s = _START_S + len(sound) / _BYTES_PER_SECOND
        answer = self._child.ask(message, sound, patience_s)
        heard = tuple(transcript_from_json(row, begins_ms) for row in answer["transcripts"])
        if not self._hand_over:
            return heard
        recent = Recent()
        recent.take(sound)
        return tuple(_with_sound(one, recent, begins_ms) for one in heard)

    def close(self) -> None:
        """End the child."""
        self._child.stop()


def _with_sound(heard: Transcript, recent: Recent, begins_ms: int) -> Transcript:
    per_ms = SAMPLES_PER_SECOND // 1000
    begin, end = ((at - begins_ms) * per_ms for at in (heard.onset_ms, heard.end_ms))
    first, sound = recent.cut(begin, end)
    return replace(heard, sound=sound, sound_from_ms=begins_ms + first // per_ms)
