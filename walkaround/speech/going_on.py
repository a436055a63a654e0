"""Speech that goes on after its beginning was taken for the whole answer.

"One hundred" - and, while the next prompt sets in, "and five".  The ear hears both as one as
well (`Transcript.whole`).  Here it is decided whether that says anything about the answer: a
command is a command, and what has no word of an answer in it (a cough, a word to somebody
else) leaves the answer as it was taken.
"""

from __future__ import annotations

from dataclasses import replace

from walkaround.exchange import AskKind, Heard, Question, Said
from walkaround.speech.grammar import answer_words
from walkaround.speech.meanings import command_in, meant_by
from walkaround.speech.phrases import Phrasebook
from walkaround.speech.ports import Transcript
from walkaround.speech.thresholds import Thresholds
from walkaround.speech.understand import understand

_SLACK_MS = 100  # the recogniser's word times are that coarse
_CLOSED = (AskKind.MARK, AskKind.COMMAND, AskKind.HOLD)


def may_go_on(question: Question) -> bool:
    """Whether an answer to the question can be longer than was thought. A mark is an instant, and
    in a rise one called-out number follows another by itself."""
    return question.kind not in _CLOSED and not question.armed


def heard_on(
    piece: Transcript, before: Question, phrases: Phrasebook, thresholds: Thresholds
) -> Heard | None:
    """The whole answer to the question `before`, whose beginning was taken; None when what was
    said behind it is no part of an answer."""
    whole = piece.whole
    if whole is None or not may_go_on(before) or whole.question != before.id:
        return None
    if command_in(tuple(piece.text.split()), phrases) is not None:
        return None
    border_ms = piece.onset_ms + _SLACK_MS
    front = tuple(word.text for word in whole.words if word.end_ms <= border_ms)
    behind = tuple(word.text for word in whole.words if word.end_ms > border_ms)
    if not answer_words(before, phrases).intersection(behind):
        return None
    if _same(front, behind, before, phrases):
        return None
    heard = understand(whole, before, phrases, thresholds)
    return None if isinstance(heard.meaning, Said) else replace(heard, went_on=True)


def _same(
    front: tuple[str, ...], behind: tuple[str, ...], question: Question, phrases: Phrasebook
) -> bool:
    """The answer said once more, whole: people do, when they are not sure of having been heard."""
    once, again = (meant_by(row, question, phrases).meanings for row in (front, behind))
    return len(once) == 1 and once == again
