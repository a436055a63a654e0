"""An utterance and the one before it as one: when the second goes on with the first.

The tone tells that an answer was noticed; it does not close it.  A voice that sets in within a
second of the tone is decoded twice: alone, and as one with what came before, under the earlier
question.  What that means is decided in `speech.going_on`.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, replace

from walkaround.devices.ear.listener import Senses, Utterance, wants_free
from walkaround.exchange import Question
from walkaround.speech.going_on import may_go_on
from walkaround.speech.grammar import UNKNOWN
from walkaround.speech.meanings import command_in
from walkaround.speech.ports import SAMPLES_PER_SECOND

_KEPT = 30 * SAMPLES_PER_SECOND  # two long turns and the pause between them
_TAIL = SAMPLES_PER_SECOND // 5  # the decoder wants to hear that it is over
_BYTES = 2


@dataclass(frozen=True, slots=True)
class _Asked:
    heard: Utterance
    question: Question
    grammar: tuple[str, ...]


class Wholes:
    """Shown every block and every utterance, in their order."""

    def __init__(self, senses: Senses) -> None:
        self._senses = senses
        self._blocks: deque[bytes] = deque()
        self._from = 0  # sample of the first block kept
        self._upto = 0
        self._last: _Asked | None = None

    def take(self, block: bytes) -> None:
        """The next sound, of any length."""
        self._blocks.append(block)
        self._upto += len(block) // _BYTES
        while self._upto - self._from > _KEPT + len(self._blocks[0]) // _BYTES:
            self._from += len(self._blocks.popleft()) // _BYTES

    def forget(self) -> None:
        """The stream broke off: nothing goes on across that."""
        self._last = None

    def of(self, heard: Utterance, question: Question, grammar: Sequence[str]) -> Utterance | None:
        """Both as one where this one goes on with the last; `question` is the one it was heard
        under by itself."""
        last, self._last = self._last, None
        words = tuple(word.text for word in heard.decoded.words)
        if heard.decoded.talk or command_in(words, self._senses.phrases) is not None:
            return None
        if last is not None and self._in_time(last.heard, heard):
            whole = self._decoded(last, heard)
            self._last = replace(last, heard=whole)
            return whole
        if may_go_on(question) and set(words) - {UNKNOWN}:
            self._last = _Asked(heard, question, tuple(grammar))
        return None

    def _in_time(self, last: Utterance, heard: Utterance) -> bool:
        timings = self._senses.timings
        within_ms = timings.tone_ms + timings.reopens_ms
        near = heard.begin - last.end <= within_ms * SAMPLES_PER_SECOND // 1000
        # no answer is longer than the longest turn: that is a radio, or a talk with somebody
        short = heard.end - last.begin <= timings.cap_ms * SAMPLES_PER_SECOND // 1000
        return near and short and last.decoded_from >= self._from

    def _decoded(self, last: _Asked, heard: Utterance) -> Utterance:
        decoding = self._senses.recogniser.begin(last.grammar, wants_free(last.question))
        sound = self._between(last.heard.decoded_from, max(heard.decided, heard.end + _TAIL))
        decoding.feed(sound)
        return replace(last.heard, decoded=decoding.finish(), end=heard.end, decided=heard.decided)

    def _between(self, begin: int, end: int) -> bytes:
        sound = b"".join(self._blocks)
        return sound[(begin - self._from) * _BYTES : (end - self._from) * _BYTES]
