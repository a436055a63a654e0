"""Whether what has been made out so far is an answer, and whether it could go on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from enum import StrEnum

from walkaround.exchange import AskKind, Question
from walkaround.quantity import Kind, Unit, kind_of
from walkaround.speech import cardinals
from walkaround.speech.grammar import UNKNOWN, answer_phrases
from walkaround.speech.meanings import meant_by
from walkaround.speech.numbers import PARTS, pair_readings, readings
from walkaround.speech.phrases import Phrasebook

_NUMERIC = (AskKind.NUMBER, AskKind.PAIR, AskKind.RISE, AskKind.COUNT)
_DECIMAL_UNITS = (Unit.BAR, Unit.INCH, Unit.SECOND)


class Completeness(StrEnum):
    NOTHING = "nothing"  # no answer yet, and perhaps none to come
    COULD_GROW = "could grow"  # an answer, or the beginning of one, that may go on
    COMPLETE = "complete"  # an answer that no further word can be part of


def completeness(
    partial_words: Sequence[str], question: Question, phrases: Phrasebook
) -> Completeness:
    """Judge the recogniser's partial text, from the question and what it holds so far."""
    row = tuple(word for word in partial_words if word != UNKNOWN)
    if not row:
        return Completeness.NOTHING
    if question.kind in _NUMERIC and cardinals.WORDS.intersection(row):
        return _of_number(row, question)
    if _begins_a_phrase(row, question, phrases):
        return Completeness.COULD_GROW
    meant = meant_by(row, question, phrases)
    return Completeness.COMPLETE if meant.meanings else Completeness.NOTHING


def _begins_a_phrase(row: tuple[str, ...], question: Question, phrases: Phrasebook) -> bool:
    """ "stand" of "stand by"."""
    for phrase in (*phrases.answer_words(), *answer_phrases(question, phrases)):
        words = tuple(phrase.split())
        if len(words) > len(row) and words[: len(row)] == row:
            return True
    return False


def _of_number(row: tuple[str, ...], question: Question) -> Completeness:
    read = pair_readings if question.kind is AskKind.PAIR else readings
    now = bool(read(row, question).inside or read(row, question).bare)
    if any(read((*row, *more), question).inside for more in _continuations(question)):
        return Completeness.COULD_GROW
    if now:
        return Completeness.COMPLETE
    # half a pair, or a beginning such as "one hundred and"
    return Completeness.COULD_GROW


def _continuations(question: Question) -> Iterator[tuple[str, ...]]:
    """One or two words that can turn a number into another one; units add no meaning."""
    for word in ("five", "fifteen", "twenty", "hundred"):
        yield (word,)
    yield ("oh", "five")
    yield ("and", "five")
    yield ("hundred", "and", "five")
    kind = question.quantity or (kind_of(question.unit) if question.unit else None)
    if question.unit in _DECIMAL_UNITS:
        yield ("point", "five")
    if kind is Kind.LENGTH:
        for part in PARTS:
            yield ("and", "a", part)
            yield (part,)
        yield ("and", "three", "quarters")
