"""What is listened for, and which of the ear's two readings of an answer is taken."""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal

from walkaround.exchange import AskKind, Question, Stake
from walkaround.learning.book import RecallBook
from walkaround.learning.drill import Ask
from walkaround.learning.match import Matcher
from walkaround.learning.questions import EdgeQuestion, LimitQuestion, PartAsked, QuizQuestion
from walkaround.learning.says import Says
from walkaround.quantity import Kind
from walkaround.speech.grammar import UNKNOWN, grammar_for
from walkaround.speech.phrases import Phrasebook
from walkaround.speech.ports import Transcript
from walkaround.speech.understand import ratio_of

_WORD = re.compile(r"[a-z']+")
_MOST = Decimal(1000)
_AT_LEAST_RATIO = -4.0
"""Of the pass with our words over the one without: less, and it was probably something else.
In 21 spoken answers those of ours had -1.3 and more, a word that is no answer -8: a shape, no
measurement (synthetic speech, no noise)."""


def question_of(ask: Ask) -> Question:
    """The question as the ear takes it: an answer in words, at its own pace."""
    return Question(f"drill.{ask}", AskKind.CHOICE, Stake.READING)


def grammar_of(book: RecallBook, says: Says, ask: Ask) -> tuple[str, ...]:
    """The phrases to listen for."""
    texts = [way for ways in says.answers.values() for way in ways]
    if ask is Ask.NEXT:
        texts += [phrase.text for phrase in book.phrases]
    if ask is Ask.FAULT:
        texts += [way for fault in book.faults for way in fault.say]
    return (*dict.fromkeys(_as_heard(text, book) for text in _sayable(texts)), UNKNOWN)


def _as_heard(text: str, book: RecallBook) -> str:
    return " ".join(book.heard.get(word, word) for word in text.split())


def quiz_question(asked: QuizQuestion) -> Question:
    """As the ear takes it: a number of a kind, or words."""
    if not isinstance(asked, LimitQuestion):
        return Question("drill.questions", AskKind.CHOICE, Stake.READING)
    amount = asked.edges[0][0]
    kind = Kind.PRESSURE if amount.kind is Kind.RATE else amount.kind
    wanted = AskKind.PAIR if len(asked.edges) > 1 else AskKind.NUMBER
    return Question("drill.questions", wanted, Stake.READING, kind, None, Decimal(0), _MOST)


def quiz_grammar(asked: QuizQuestion, says: Says, phrases: Phrasebook) -> tuple[str, ...]:
    """The phrases to listen for; words about a part are heard without a grammar, too."""
    short = _sayable(way for ways in says.answers.values() for way in ways)
    match asked:
        case LimitQuestion():
            numbers = grammar_for(quiz_question(asked), phrases)
            extra = ("between", "per minute", "a minute", "at most", "at least")
            return (*dict.fromkeys((*numbers[:-1], *short, *extra)), UNKNOWN)
        case EdgeQuestion():
            return (*dict.fromkeys(short), UNKNOWN)
        case PartAsked():
            right = _sayable((*asked.part.right, *asked.part.wrong))
            return (*dict.fromkeys((*short, *right)), UNKNOWN)


def words_heard(transcript: Transcript, matcher: Matcher | None) -> str:
    """The words to go by. The pass with our phrases is taken where the one without a grammar
    makes out the same, or is not much likelier; else that one's own words are."""
    if transcript.typed:
        return transcript.text
    ours = " ".join(word.text for word in transcript.words if word.text != UNKNOWN)
    free = transcript.free.words if transcript.free is not None else ""
    if not free or not ours:
        return ours or free
    ratio = ratio_of(transcript)
    if ratio is None or ratio >= _AT_LEAST_RATIO:
        return ours
    if matcher is not None and _named(matcher, ours) == _named(matcher, free):
        return ours
    return free


def _named(matcher: Matcher, words: str) -> tuple[tuple[str, ...], ...]:
    return tuple(mention.of for mention in matcher.mentions(words))


def _sayable(texts: Iterable[str]) -> list[str]:
    plain = (" ".join(_WORD.findall(text.lower().replace("-", " "))) for text in texts)
    return [text for text in plain if text]
