"""One question's hearing: blocks of any size in, utterances out. Fed and live both use it.

Every frame of 512 samples goes through voice activity and the turn-taker.  When a voice
has set in, decoding begins half a second before it, so that the recogniser has adapted to
the noise; between utterances nothing is decoded.  All is counted in samples.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from walkaround.devices.ear.recogniser import Decoded, Decoding, Recogniser
from walkaround.exchange import AskKind, Question, Stake
from walkaround.speech.completeness import completeness
from walkaround.speech.onset import onset_of
from walkaround.speech.phrases import Phrasebook
from walkaround.speech.ports import SAMPLES_PER_SECOND
from walkaround.speech.thresholds import TurnTimings
from walkaround.speech.turns import FRAME, Began, Edge, Ended, Framer, Paused, TurnTaker

_LEAD_IN = SAMPLES_PER_SECOND // 2 // FRAME * FRAME
"""Sound before the voice that the recogniser is given, in samples: about half a second."""
_JUDGED_EACH = SAMPLES_PER_SECOND // FRAME * FRAME
"""Samples between two looks at whether a long turn is a talk: about a second."""
_NUMERIC = (AskKind.NUMBER, AskKind.PAIR, AskKind.RISE, AskKind.COUNT)

Activity = Callable[[bytes], float]
"""The probability, 0 to 1, that a frame of 1024 bytes holds a voice; keeps a state of its own."""


@dataclass(frozen=True, slots=True)
class Senses:
    """What hearing needs besides the question; made once for a child's life."""

    recogniser: Recogniser
    activity: Activity
    phrases: Phrasebook
    timings: TurnTimings


@dataclass(frozen=True, slots=True)
class VoiceBegan:
    """A voice has set in at this sample (to the frame)."""

    sample: int


@dataclass(frozen=True, slots=True)
class Utterance:
    """A whole utterance; all places are samples counted from the stream's first."""

    question: str
    decoded: Decoded
    decoded_from: int  # the sample that the decoder's times are counted from
    onset: int
    begin: int
    end: int
    decided: int


Sign = VoiceBegan | Paused | Utterance


def wants_free(question: Question) -> bool:
    """Whether the pass without a grammar is worth its cost: where a wrong answer would count."""
    return question.stake in (Stake.CAUTION, Stake.READING) or question.kind in _NUMERIC


class Listener:
    """Hears one question from the stream's sample `first` on."""

    def __init__(
        self,
        senses: Senses,
        question: Question,
        grammar: Sequence[str],
        first: int = 0,
        before: bytes = b"",
    ) -> None:
        """`before` is what was heard up to the sample `first`, for a voice that sets in at once."""
        earlier = len(before) // (FRAME * 2)
        kept = before[len(before) - earlier * FRAME * 2 :]
        self._senses = senses
        self._question, self._grammar = question, tuple(grammar)
        self._turns = TurnTaker(question, senses.timings, first)
        self._framer = Framer()
        self._at = first
        self._kept: deque[bytes] = deque(Framer().cut(kept))  # frames from `_kept_from` on
        self._kept_from = first - earlier * FRAME
        self._free_after = self._kept_from  # where the utterance before ended
        self._decoding: Decoding | None = None
        self._decoded_from = first
        self._made_out: tuple[str, ...] = ()
        self._judge_at = 0  # when the turn lasts so long, it is asked whether it is a talk
        self._going_on = False  # the turn goes on with a talk
        self._talked_until: int | None = None  # where a talk ended that may go on

    @property
    def question(self) -> Question:
        return self._question

    @property
    def grammar(self) -> tuple[str, ...]:
        return self._grammar

    @property
    def in_turn(self) -> bool:
        """Whether somebody is speaking."""
        return self._decoding is not None

    def feed(self, block: bytes) -> list[Sign]:
        """Takes sound of any length; gives what became certain, in order."""
        signs: list[Sign] = []
        for frame in self._framer.cut(block):
            signs += self._frame(frame)
        return signs

    def finish(self) -> list[Sign]:
        """No more sound will come: an open utterance is closed."""
        return [sign for edge in self._turns.finish() for sign in self._follow(edge)]

    def drop(self) -> None:
        """Leave an open utterance unheard."""
        if self._decoding is not None:
            self._decoding.drop()
            self._decoding = None

    def _frame(self, frame: bytes) -> list[Sign]:
        self._kept.append(frame)
        self._at += FRAME
        if self._decoding is not None:
            self._note(self._decoding.feed(frame))
            self._judge_length(self._decoding)
        signs = [
            sign
            for edge in self._turns.feed(self._senses.activity(frame))
            for sign in self._follow(edge)
        ]
        if self._decoding is None:
            self._forget()
        return signs

    def _follow(self, edge: Edge) -> list[Sign]:
        match edge:
            case Began():
                return self._began(edge)
            case Paused():
                return [edge]
            case Ended():
                return self._ended(edge)

    def _began(self, edge: Began) -> list[Sign]:
        begin = max(self._kept_from, edge.sample - _LEAD_IN, self._free_after)
        place = (begin - self._kept_from) // FRAME
        self._decoded_from = self._kept_from + place * FRAME
        free = wants_free(self._question)
        self._going_on = self._goes_on_with_a_talk(edge.sample)
        self._decoding = self._senses.recogniser.begin(self._grammar, free, self._going_on)
        self._judge_at = self._talk[0]
        self._note(self._decoding.feed(b"".join(list(self._kept)[place:])))
        return [VoiceBegan(edge.sample)]

    def _ended(self, edge: Ended) -> list[Sign]:
        if self._decoding is None:
            return []
        decoded = self._decoding.finish()
        self._decoding, self._made_out = None, ()
        self._free_after = edge.end
        # one turn is taken on trust, the next is looked at anew: a noise is no talk for ever
        self._talked_until = edge.end if decoded.talk and not self._going_on else None
        onset = self._onset(edge)
        return [
            Utterance(
                self._question.id,
                decoded,
                self._decoded_from,
                onset,
                edge.begin,
                edge.end,
                edge.decided,
            )
        ]

    def _onset(self, edge: Ended) -> int:
        samples = np.frombuffer(b"".join(self._kept), dtype="<i2")
        begin, end = edge.begin - self._kept_from, edge.end - self._kept_from
        return self._kept_from + onset_of(samples, begin, end)

    def _note(self, words: tuple[str, ...]) -> None:
        if words != self._made_out:
            self._made_out = words
            self._turns.note(completeness(words, self._question, self._senses.phrases))

    @property
    def _talk(self) -> tuple[int, int]:
        """From how many samples and above how many words a turn is no answer."""
        timings, times = self._senses.timings, 2 if self._question.kind is AskKind.PAIR else 1
        return (
            times * timings.talk_ms * SAMPLES_PER_SECOND // 1000,
            times * timings.talk_words - 1,
        )

    def _judge_length(self, decoding: Decoding) -> None:
        if self._turns.lasts > self._judge_at:
            self._judge_at += _JUDGED_EACH
            decoding.judge_length(self._talk[1])

    def _goes_on_with_a_talk(self, begin: int) -> bool:
        """No pause between: the cap cut it, or a word in it looked like the end."""
        if self._talked_until is None:
            return False
        pause = self._senses.timings.nothing_ms * SAMPLES_PER_SECOND // 1000
        return begin - self._talked_until < pause

    def _forget(self) -> None:
        """Keep what the next utterance may need: its lead-in and the turn-taker's own delay."""
        while len(self._kept) * FRAME > 2 * _LEAD_IN:
            self._kept.popleft()
            self._kept_from += FRAME
