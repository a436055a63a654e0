"""What is part of an answer that was taken too early, and what is not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.speech.books import english, gauge, thresholds
from walkaround.exchange import AskKind, Heard, Meaning, No, Number, Question, Stake, Unclear, Yes
from walkaround.speech.going_on import heard_on, may_go_on
from walkaround.speech.ports import Alternative, Transcript, Word

ASSENT = Question("s.caution", AskKind.YES_NO, Stake.CAUTION)
WORD_MS = 300


def said(question: Question, words: str, onset_ms: int) -> Transcript:
    row = words.split()
    spans = tuple(
        Word(word, onset_ms + WORD_MS * n, onset_ms + WORD_MS * (n + 1), 1.0)
        for n, word in enumerate(row)
    )
    end_ms = onset_ms + WORD_MS * len(row)
    sure = (Alternative(words, 6.0),)
    return Transcript(question.id, spans, sure, sure[0], onset_ms, end_ms, end_ms + 500)


def on(question: Question, first: str, then: str) -> Heard | None:
    """`then` set in two seconds after `first`, under another question."""
    piece = said(Question("s.next", AskKind.YES_NO), then, 2000)
    early = said(question, first, 0)
    both = f"{first} {then}"
    whole = replace(
        said(question, both, 0),
        words=(*early.words, *piece.words),
        alternatives=(Alternative(both, 6.0),),
        free=Alternative(both, 6.0),
    )
    return heard_on(replace(piece, whole=whole), question, english(), thresholds())


def meant(question: Question, first: str, then: str) -> Meaning | None:
    heard = on(question, first, then)
    assert heard is None or heard.went_on
    return None if heard is None else heard.meaning


@pytest.mark.parametrize(
    ("first", "then", "value"),
    [("one hundred", "and five", 105), ("one hundred", "ten", 110), ("ninety", "five", 95)],
)
def test_the_rest_of_a_number_makes_another_number(first: str, then: str, value: int) -> None:
    meaning = meant(gauge(), first, then)
    assert isinstance(meaning, Number)
    assert meaning.value.value == value


@pytest.mark.parametrize("then", ["[unk]", "[unk] [unk]", "stop", "wait", "correction"])
def test_another_word_and_a_command_are_no_part_of_it(then: str) -> None:
    assert meant(gauge(), "one hundred", then) is None


def test_the_same_said_once_more_leaves_it() -> None:
    assert meant(gauge(), "ninety five", "ninety five") is None
    assert meant(ASSENT, "yes", "yes") is None


def test_two_numbers_are_no_number() -> None:
    assert isinstance(meant(gauge(), "ninety five", "ninety six"), Unclear)


def test_yes_and_then_no_is_no_agreement() -> None:
    assert not isinstance(meant(ASSENT, "yes", "no"), Yes | No | None)


def test_a_mark_and_a_call_in_a_rise_are_closed_when_they_are_taken() -> None:
    mark = Question("s.mark", AskKind.MARK)
    rise = replace(gauge(AskKind.RISE), armed=True)
    assert not may_go_on(mark)
    assert not may_go_on(rise)
    assert on(rise, "one hundred", "one ten") is None


def test_what_stands_alone_goes_on_with_nothing() -> None:
    assert heard_on(said(gauge(), "five", 0), gauge(), english(), thresholds()) is None
