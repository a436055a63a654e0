"""The way from the driver's words to a transcript: by letters only, or by real sound.

`Letters` hands the words over as they are.  `Throat` speaks them with a voice, lays the yard's
noise over them and lets an ear hear the result; what comes back is whatever the ear made of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from random import Random
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from walkaround.exchange import Question
from walkaround.simulated.noise import NOISES, Sound, loudness
from walkaround.speech.ports import SAMPLES_PER_SECOND, Alternative, Ear, Transcript, Voice, Word

LEAD_MS, TRAIL_MS = 500, 1000
TURN_MS = 500
"""What the end of a turn takes when nobody listens to sound."""

PAUSE, PAUSE_MS = "...", 900
"""Among the words: the driver falters so long. An ear takes what came before for all of it."""

_WORDS_PER_SECOND = 2.6
_KNOWN, _UNKNOWN = 6.0, -20.0
UNKNOWN = "[unk]"

_SNR_DB: Mapping[str, float] = {"diesel": 15, "wind": 25, "hiss": 15, "buzzer": 15}
"""Speech over each noise, dB, at a boom microphone a thumb's breadth from the mouth: estimates,
not measured in any yard. The caller may shift them all."""


class Mouth(Protocol):
    """Says words at a moment; returns what was heard and when the voice ended, in stage ms."""

    def say(
        self,
        words: str,
        onset_ms: int,
        question: Question,
        grammar: Sequence[str],
        noises: Sequence[str],
    ) -> tuple[tuple[Transcript, ...], int]: ...


def seconds_of(words: str) -> float:
    """How long words take at an ordinary pace."""
    return max(0.3, len(words.split()) / _WORDS_PER_SECOND)


@dataclass(frozen=True, slots=True)
class Letters:
    """No sound: each word of the grammar arrives as it was said, any other as unknown."""

    def say(
        self,
        words: str,
        onset_ms: int,
        question: Question,
        grammar: Sequence[str],
        noises: Sequence[str],
    ) -> tuple[tuple[Transcript, ...], int]:
        del noises
        first, paused, rest = (part.strip() for part in words.partition(PAUSE))
        heard, end_ms = self._said(first.split(), onset_ms, question, grammar)
        if not paused:
            return (heard,), end_ms
        piece, end_ms = self._said(rest.split(), end_ms + PAUSE_MS, question, grammar)
        both, _ = self._said([*first.split(), *rest.split()], onset_ms, question, grammar)
        spans = (*heard.words, *piece.words)
        whole = replace(both, words=spans, end_ms=end_ms, arrived_ms=piece.arrived_ms)
        return (heard, replace(piece, over_prompt=True, whole=whole)), end_ms

    def _said(
        self, said: Sequence[str], onset_ms: int, question: Question, grammar: Sequence[str]
    ) -> tuple[Transcript, int]:
        known = {word for phrase in grammar for word in phrase.split()}
        made_out = [word if word in known or not known else UNKNOWN for word in said]
        step = round(seconds_of(" ".join(said)) * 1000 / max(1, len(said)))
        end_ms = onset_ms + step * len(said)
        spans = [
            Word(word, onset_ms + step * place, onset_ms + step * (place + 1), 1.0)
            for place, word in enumerate(made_out)
        ]
        likelihood = _UNKNOWN if UNKNOWN in made_out else _KNOWN
        heard = Transcript(
            question=question.id,
            words=tuple(spans),
            alternatives=(Alternative(" ".join(made_out), likelihood),),
            free=Alternative(" ".join(said), 0.0),
            onset_ms=onset_ms,
            end_ms=end_ms,
            arrived_ms=end_ms + TURN_MS,
        )
        return heard, end_ms


class Throat:
    """Real sound: a voice, the yard's noise, and an ear that has to make something of it."""

    def __init__(self, voice: Voice, ear: Ear, seed: int, quieter_db: float = 0.0) -> None:
        self.voice, self.ear, self.seed, self.quieter_db = voice, ear, seed, quieter_db

    def say(
        self,
        words: str,
        onset_ms: int,
        question: Question,
        grammar: Sequence[str],
        noises: Sequence[str],
    ) -> tuple[tuple[Transcript, ...], int]:
        """Raises VoiceError and RecogniserError as the voice and the ear do."""
        speech = self._speech(words)
        sound = self._in_the_yard(speech, onset_ms, noises)
        heard = self.ear.hear(question, grammar, as_bytes(sound), onset_ms - LEAD_MS)
        return heard, onset_ms + round(speech.size * 1000 / SAMPLES_PER_SECOND)

    def _speech(self, words: str) -> Sound:
        pause = np.zeros(PAUSE_MS * SAMPLES_PER_SECOND // 1000)
        parts = [trimmed(self.voice.sound_of(part.strip())) for part in words.split(PAUSE)]
        pieces = [piece for part in parts for piece in (pause, part)]
        return np.concatenate(pieces[1:])

    def _in_the_yard(self, speech: Sound, onset_ms: int, noises: Sequence[str]) -> Sound:
        """No two moments in the yard sound the same, so neither does a word said again."""
        lead, trail = (ms * SAMPLES_PER_SECOND // 1000 for ms in (LEAD_MS, TRAIL_MS))
        sound = np.concatenate([np.zeros(lead), speech, np.zeros(trail)])
        seed = Random(f"{self.seed}|{onset_ms}|{'|'.join(noises)}").getrandbits(32)
        dice = np.random.default_rng(seed)
        for name in noises:
            level = loudness(speech, _SNR_DB.get(name, 20) + self.quieter_db)
            sound += level * NOISES[name](sound.size, dice)
        return sound


def as_sound(samples: bytes) -> Sound:
    """16-bit little-endian samples as numbers around ±1."""
    return np.frombuffer(samples, "<i2").astype(np.float64) / 32768


def as_bytes(sound: Sound) -> bytes:
    """Back to 16-bit samples, clipped rather than wrapped."""
    clipped: NDArray[np.int16] = np.clip(np.round(sound * 32768), -32768, 32767).astype("<i2")
    return clipped.tobytes()


def trimmed(samples: bytes) -> Sound:
    """Speech without the silence before and after it, so that its onset is where it is put."""
    sound = as_sound(samples)
    loud = np.flatnonzero(np.abs(sound) > 0.02 * max(1e-9, float(np.abs(sound).max(initial=0))))
    return sound[loud[0] : loud[-1] + 1] if loud.size else sound
