"""A round of questions: each answered in free words, and each answer with its rule and source."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from walkaround.learning.drill import Ask, Effect, End, Listen, Mark, Note, Tell
from walkaround.learning.evidence import QUIZ, note_name
from walkaround.learning.memory import Key, Memory
from walkaround.learning.parts import is_right
from walkaround.learning.questions import (
    EdgeQuestion,
    LimitQuestion,
    NoUnitError,
    OneNumberError,
    PartAsked,
    QuizQuestion,
    limit_is_right,
)
from walkaround.learning.says import Says
from walkaround.learning.words import Words

_MOST_TRIES = 3


@dataclass(frozen=True, slots=True)
class QuizKit:
    """`places` are names by code, for the asking."""

    questions: tuple[QuizQuestion, ...]
    says: Says
    words: Words
    places: Mapping[str, str]

    def say(self, key: str, **values: str) -> Tell:
        return Tell(self.says.text(key, **values))


@dataclass(frozen=True, slots=True)
class Quiz:
    at: int = 0
    tries: int = 0
    right: int = 0
    answered: int = 0
    ended: bool = False


Move = tuple[Quiz, tuple[Effect, ...]]


def chosen(
    questions: Sequence[QuizQuestion],
    memories: Mapping[Key, Memory],
    at: datetime,
    most: int,
) -> tuple[QuizQuestion, ...]:
    """What is due first, least likely known first; then what was never asked; then the rest."""

    def order(asked: QuizQuestion) -> tuple[int, float]:
        memory = memories.get(asked.key)
        if memory is None:
            return 1, 0.0
        return (0 if memory.due <= at else 2), memory.chance(at)

    return tuple(sorted(questions, key=order)[:most])


def open_quiz(kit: QuizKit) -> Move:
    """The first question, or the news that there is none."""
    if not kit.questions:
        return Quiz(ended=True), (kit.say("quiz.none"), End(complete=True))
    return Quiz(), (kit.say("quiz.welcome"), *_asked(kit, Quiz()))


def answered(kit: QuizKit, quiz: Quiz, words: str) -> Move:
    """The learner said or typed something."""
    if quiz.ended or not words.strip():
        return quiz, (Listen(Ask.NEXT),)
    asked = kit.questions[quiz.at]
    short = kit.says.meant(words, ("stop", "finish", "repeat", "help"))
    if short in ("stop", "finish"):
        return _ended(kit, quiz, complete=False)
    if short == "repeat":
        return quiz, _asked(kit, quiz)
    passed = short == "help" or kit.says.meant(words, ("next",)) == "next"
    if passed and not isinstance(asked, EdgeQuestion):
        return _told(kit, quiz, asked, words, right=False)
    try:
        right = _right(kit, asked, words)
    except NoUnitError:
        return _once_more(kit, quiz, asked, words, "quiz.unit")
    except OneNumberError:
        return _once_more(kit, quiz, asked, words, "quiz.two")
    if right is None:
        return _once_more(kit, quiz, asked, words, "quiz.unclear")
    return _told(kit, quiz, asked, words, right=right)


def _right(kit: QuizKit, asked: QuizQuestion, words: str) -> bool | None:
    match asked:
        case LimitQuestion():
            return limit_is_right(asked, words)
        case EdgeQuestion():
            meant = kit.says.meant(words, ("yes", "no"))
            return (meant == "yes") is asked.inside if meant else None
        case PartAsked():
            return is_right(asked.part, words, kit.words)


def _once_more(kit: QuizKit, quiz: Quiz, asked: QuizQuestion, words: str, key: str) -> Move:
    if quiz.tries + 1 >= _MOST_TRIES:
        return _told(kit, quiz, asked, words, right=False)
    return replace(quiz, tries=quiz.tries + 1), (kit.say(key), Listen(Ask.NEXT))


def _told(kit: QuizKit, quiz: Quiz, asked: QuizQuestion, words: str, *, right: bool) -> Move:
    mark = Mark.WRONG if not right else Mark.HELPED if quiz.tries else Mark.RIGHT
    note = Note(QUIZ, note_name(asked.key), mark, words)
    effects: list[Effect] = [note]
    effects.append(kit.say("quiz.right") if right else kit.say("quiz.wrong", answer=_answer(asked)))
    effects.append(_source(kit, asked))
    quiz = replace(
        quiz, at=quiz.at + 1, tries=0, right=quiz.right + right, answered=quiz.answered + 1
    )
    if quiz.at == len(kit.questions):
        quiz, end = _ended(kit, quiz, complete=True)
        return quiz, (*effects, *end)
    return quiz, (*effects, *_asked(kit, quiz))


def _answer(asked: QuizQuestion) -> str:
    match asked:
        case LimitQuestion():
            return f"The limit is {asked.rule.limit}."
        case EdgeQuestion():
            return "It is within the limit." if asked.inside else "It is outside the limit."
        case PartAsked():
            return ""


def _source(kit: QuizKit, asked: QuizQuestion) -> Tell:
    if isinstance(asked, PartAsked):
        return kit.say("quiz.part", tells=asked.part.tells, source=asked.part.source)
    rule = asked.rule
    return kit.say(
        "quiz.rule",
        statement=rule.statement,
        limit=f"({rule.limit})",
        source=str(rule.citation),
        standing=rule.standing.value,
    )


def _asked(kit: QuizKit, quiz: Quiz) -> tuple[Effect, ...]:
    asked = kit.questions[quiz.at]
    place = kit.places.get(asked.key.place, asked.key.place)
    told = kit.say(
        "quiz.number",
        number=str(quiz.at + 1),
        total=str(len(kit.questions)),
        place=place,
        question=asked.text,
    )
    return told, Listen(Ask.NEXT)


def _ended(kit: QuizKit, quiz: Quiz, *, complete: bool) -> Move:
    said: list[Effect] = []
    if quiz.answered:
        said.append(kit.say("quiz.end", right=str(quiz.right), all=str(quiz.answered)))
    return replace(quiz, ended=True), (*said, kit.say("end.disclaimer"), End(complete))
