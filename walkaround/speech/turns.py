"""Where an utterance begins and where it ends, counted in samples.

Pure: frames of voice activity go in, with what the recogniser makes of it so far,
and edges come out.  Silence wanted depends on the question and on what was heard:
short when the answer cannot go on, longer when it can.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from walkaround.exchange import AskKind, Question
from walkaround.speech.completeness import Completeness
from walkaround.speech.ports import SAMPLES_PER_SECOND
from walkaround.speech.thresholds import TurnTimings

FRAME = 512
"""Samples in a frame: 32 ms at 16 kHz, what the voice-activity model takes."""
_BYTES_PER_SAMPLE = 2


class Framer:
    """Cuts blocks of any size into frames of 512 samples; a rest waits for the next block."""

    def __init__(self) -> None:
        self._rest = b""

    def cut(self, block: bytes) -> list[bytes]:
        """The frames (1024 bytes each) that this block completes, in order."""
        sound = self._rest + block
        size = FRAME * _BYTES_PER_SAMPLE
        whole = len(sound) - len(sound) % size
        self._rest = sound[whole:]
        return [sound[at : at + size] for at in range(0, whole, size)]


class Why(StrEnum):
    SILENCE = "silence"
    CAP = "cap"  # the noise never let it go quiet


@dataclass(frozen=True, slots=True)
class Began:
    """A voice has set in. `sample` is the first of the frame, to be refined by `onset_of`."""

    sample: int


@dataclass(frozen=True, slots=True)
class Ended:
    """A turn is over: voice from `begin` to `end`, decided after the frame ending at `decided`."""

    begin: int
    end: int
    decided: int
    why: Why


@dataclass(frozen=True, slots=True)
class Paused:
    """The voice has paused behind something that may be the whole answer: a tone may say so.
    The turn is still open, and speech that goes on is part of it. Told once in a turn."""

    decided: int


Edge = Began | Paused | Ended


@dataclass(slots=True)
class _Voice:
    begin: int
    end: int
    began_told: bool = False
    pause_told: bool = False


@dataclass(slots=True)
class TurnTaker:
    """Feed it every frame; tell it what the recogniser makes of the turn whenever that changes."""

    question: Question
    timings: TurnTimings
    first_sample: int = 0
    _at: int = field(init=False)
    _voice: _Voice | None = field(init=False, default=None)
    _so_far: Completeness = field(init=False, default=Completeness.NOTHING)

    def __post_init__(self) -> None:
        self._at = self.first_sample

    @property
    def in_turn(self) -> bool:
        return self._voice is not None and self._voice.began_told

    @property
    def lasts(self) -> int:
        """Samples from the beginning of the present turn to its last voice; 0 between turns."""
        return 0 if self._voice is None else self._voice.end - self._voice.begin

    def note(self, so_far: Completeness) -> None:
        """What the partial result amounts to; `Completeness.NOTHING` until told otherwise."""
        self._so_far = so_far

    def feed(self, probability: float) -> tuple[Edge, ...]:
        """One frame's probability of voice, from 0 to 1."""
        begin, self._at = self._at, self._at + FRAME
        if self._voice is None:
            if probability >= self.timings.voice_on:
                self._voice = _Voice(begin, self._at)
            return self._began()
        if probability >= self.timings.voice_off:
            self._voice.end = self._at
        return (*self._began(), *self._ended())

    def finish(self) -> tuple[Edge, ...]:
        """No more sound will come: close a turn that is open."""
        voice, self._voice = self._voice, None
        if voice is None or not voice.began_told:
            return ()
        return self._close(voice, Why.SILENCE)

    def _began(self) -> tuple[Edge, ...]:
        voice = self._voice
        if voice is None or voice.began_told:
            return ()
        if voice.end - voice.begin < _samples(self.timings.least_voice_ms):
            return ()
        voice.began_told = True
        return (Began(voice.begin),)

    def _ended(self) -> tuple[Edge, ...]:
        voice = self._voice
        if voice is None:
            return ()
        silence = self._at - voice.end
        if not voice.began_told:
            # a click: too short for a voice
            if silence >= _samples(self.timings.least_voice_ms):
                self._voice = None
            return ()
        if silence >= _samples(self.silence_wanted_ms):
            return self._close(voice, Why.SILENCE)
        if self._at - voice.begin >= _samples(self._cap_ms):
            return self._close(voice, Why.CAP)
        return self._paused(voice, silence)

    def _paused(self, voice: _Voice, silence: int) -> tuple[Edge, ...]:
        if voice.pause_told or self._so_far is Completeness.NOTHING:
            return ()
        if silence < _samples(self.timings.tone_ms):
            return ()
        voice.pause_told = True
        return (Paused(self._at),)

    @property
    def silence_wanted_ms(self) -> int:
        """By what was made out so far."""
        return {
            Completeness.NOTHING: self.timings.nothing_ms,
            Completeness.COULD_GROW: self.timings.could_grow_ms,
            Completeness.COMPLETE: self.timings.complete_ms,
        }[self._so_far]

    @property
    def _cap_ms(self) -> int:
        pair = self.question.kind is AskKind.PAIR
        return self.timings.cap_pair_ms if pair else self.timings.cap_ms

    def _close(self, voice: _Voice, why: Why) -> tuple[Edge, ...]:
        self._voice, self._so_far = None, Completeness.NOTHING
        return (Ended(voice.begin, voice.end, self._at, why),)


def _samples(milliseconds: int) -> int:
    return milliseconds * SAMPLES_PER_SECOND // 1000
