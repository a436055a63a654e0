"""What the walk needs of the outside world, as shapes: ears, voices and the stage.

`devices` has the real ones, `simulated` the ones on a clock that jumps; neither
imports the other, and the walk is handed whichever it is to use.  Sound is 16 kHz,
one channel, signed 16-bit little-endian; times are whole milliseconds of the sitting.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol

from walkaround.exchange import (
    MicrophoneBack,
    MicrophoneLost,
    Prompt,
    Question,
    SamplesLost,
    StayedQuiet,
    TimeReached,
    ToneKind,
)

SAMPLES_PER_SECOND = 16_000
"""Hertz; the model refuses less."""


@dataclass(frozen=True, slots=True)
class Word:
    text: str
    start_ms: int
    end_ms: int
    confidence: float  # between rivals inside the grammar only; says nothing about other words


@dataclass(frozen=True, slots=True)
class Alternative:
    """A whole reading of the utterance with the decoder's unnormalised log-likelihood."""

    words: str
    likelihood: float


@dataclass(frozen=True, slots=True)
class Transcript:
    """One utterance, as heard under the question then open."""

    question: str
    words: tuple[Word, ...]  # the best under the grammar; empty when nothing was made out
    alternatives: tuple[Alternative, ...]  # under the grammar, best first
    free: Alternative | None  # best with no grammar; None when that pass did not run
    onset_ms: int  # voice onset
    end_ms: int  # voice end
    arrived_ms: int
    over_prompt: bool = False  # spoken while a prompt was playing
    typed: bool = False
    free_others: tuple[Alternative, ...] = ()  # behind `free` in the pass with no grammar
    sound: bytes = field(default=b"", repr=False, compare=False)
    """Its own sound, from `sound_from_ms` on; empty unless somebody asked to keep it."""
    sound_from_ms: int = field(default=0, compare=False)
    talk: bool = False  # longer than any answer is: a radio, or words with somebody else
    whole: Transcript | None = None  # the utterance before and this one, heard as one: see below

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)

    # `whole` is there when this voice set in within a second of the tone that closed the last
    # answer: under that answer's question and grammar, from its own onset to this end.


@dataclass(frozen=True, slots=True)
class Closed:
    """No more input will come: the terminal was closed or the simulated driver left."""

    arrived_ms: int


Arrival = (
    Transcript | TimeReached | StayedQuiet | SamplesLost | MicrophoneLost | MicrophoneBack | Closed
)


class Ear(Protocol):
    """Hears whole utterances in sound that it is fed: the recogniser behind one call.

    Raises RecogniserError when the recogniser's process died; the next call starts a new one.
    """

    def hear(
        self, question: Question, grammar: Sequence[str], sound: bytes, begins_ms: int
    ) -> tuple[Transcript, ...]: ...

    def close(self) -> None: ...


class Voice(Protocol):
    """Makes sound of a sentence. Raises VoiceError."""

    def sound_of(self, sentence: str) -> bytes: ...


class Stage(Protocol):
    """Where a walk takes place: everything it can do to the world, and all that comes back."""

    def now_ms(self) -> int:
        """Milliseconds of the present sitting."""
        ...

    def say(self, prompts: Sequence[Prompt], sentences: Sequence[str]) -> None:
        """Begin to say the sentences, in order, after whatever is being said."""
        ...

    def tone(self, kind: ToneKind) -> None: ...

    def hush(self) -> None:
        """Leave unsaid what has not been said yet: it no longer holds."""
        ...

    def listen(
        self, question: Question, grammar: Sequence[str], quiet_after_ms: int | None
    ) -> None:
        """From the end of what is being said, listen for this question and no other."""
        ...

    def wake_at(self, at_ms: int, timer: str) -> None: ...

    def cancel_wake(self, timer: str) -> None: ...

    def next(self) -> Arrival:
        """Wait until something happens."""
        ...

    def close(self) -> None: ...
