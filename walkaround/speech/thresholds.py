"""How sure the ear must be for each stake, and how long it waits for the end of a turn.

Data made from measurements and tied to the model they were made with.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from types import MappingProxyType

from walkaround.errors import PhraseError
from walkaround.sheet import Reader, read_sheet

ROWS = ("stop", "command", "mark", "yes-to-caution", "no", "ordinary", "reading")


@dataclass(frozen=True, slots=True)
class Strictness:
    """The least that a meaning must score. Log-likelihoods are the decoder's, unnormalised:
    `ratio` is the best under the grammar minus the best without one; `gap`, the most, how far
    the same meaning is behind the best without one; either will do. `margin` is the best minus
    the best that means something else. `needs_free` refuses what the free pass has not seen."""

    ratio: float
    gap: float
    margin: float
    confidence: float
    needs_free: bool


@dataclass(frozen=True, slots=True)
class TurnTimings:
    """Milliseconds; probabilities from 0 to 1."""

    voice_on: float
    voice_off: float
    least_voice_ms: int
    tone_ms: int  # silence after which a tone says that an answer was noticed; it stays open
    nothing_ms: int  # silence wanted when nothing has been made out
    could_grow_ms: int  # ... when the answer may go on
    complete_ms: int  # ... when it cannot
    reopens_ms: int  # after the tone: a voice that sets in so soon goes on with the answer
    talk_ms: int  # so long a turn ...
    talk_words: int  # ... of so many words is no answer to a single question
    cap_ms: int  # the longest turn; a single answer
    cap_pair_ms: int


@dataclass(frozen=True, slots=True)
class Thresholds:
    model: str  # hash of the model's files
    strictness: Mapping[str, Strictness]  # one for each of ROWS
    stop_behind: float  # so far behind the best "stop" may be where nothing else is taken
    lost_word_ms: int  # a voice so long before the first word: one may be lost there ...
    lost_word_behind: float  # ... when a reading that has it is at most so far behind
    turns: TurnTimings

    def fits(self, model: str) -> bool:
        """Whether they were measured with this model."""
        return self.model == model


def load_thresholds(content: bytes, file: str) -> Thresholds:
    """Read the table. Raises PhraseError with file, line and key."""
    top = Reader(read_sheet(content, file, PhraseError), PhraseError)
    model = top.text("model")
    top.text("measured")
    stakes = _section(top, "stakes")
    strictness = {row: _strictness(_section(stakes, row)) for row in ROWS}
    stakes.done()
    stop_behind = _number(top, "stop-behind", 0, 1000)
    lost_word_ms = int(_number(top, "lost-word-ms", 0, 5000))
    lost_word_behind = _number(top, "lost-word-behind", 0, 1000)
    turns = _turns(_section(top, "turns"))
    top.done()
    return Thresholds(
        model,
        MappingProxyType(strictness),
        stop_behind,
        lost_word_ms,
        lost_word_behind,
        turns,
    )


def _section(reader: Reader, key: str) -> Reader:
    table = reader.table_at(key)
    if table is None:
        raise reader.fail(f"'{key}' is missing; add it", key)
    return Reader(table, PhraseError, key)


def _strictness(part: Reader) -> Strictness:
    found = Strictness(
        ratio=_number(part, "least-ratio", -1000, 1000),
        gap=_number(part, "most-gap", 0, 1000),
        margin=_number(part, "least-margin", 0, 1000),
        confidence=_number(part, "least-confidence", 0, 1),
        needs_free=part.choice("free-pass", ("needed", "if there")) == "needed",
    )
    part.done()
    return found


def _turns(part: Reader) -> TurnTimings:
    found = TurnTimings(
        voice_on=_number(part, "voice-on", 0, 1),
        voice_off=_number(part, "voice-off", 0, 1),
        least_voice_ms=int(_number(part, "least-voice-ms", 0, 1000)),
        tone_ms=int(_number(part, "tone-ms", 50, 5000)),
        nothing_ms=int(_number(part, "nothing-ms", 50, 5000)),
        could_grow_ms=int(_number(part, "could-grow-ms", 50, 5000)),
        complete_ms=int(_number(part, "complete-ms", 50, 5000)),
        reopens_ms=int(_number(part, "reopens-ms", 0, 5000)),
        talk_ms=int(_number(part, "talk-ms", 1000, 60000)),
        talk_words=int(_number(part, "talk-words", 1, 1000)),
        cap_ms=int(_number(part, "cap-ms", 1000, 60000)),
        cap_pair_ms=int(_number(part, "cap-pair-ms", 1000, 60000)),
    )
    part.done()
    return found


def _number(part: Reader, key: str, low: float, high: float) -> float:
    text = part.text(key)
    try:
        value = Decimal(text)
    except InvalidOperation:
        raise part.fail(f"'{key}: {text}' must be a number", key) from None
    if not (value.is_finite() and low <= value <= high):
        raise part.fail(f"'{key}: {text}' must lie from {low:g} to {high:g}", key)
    return float(value)
