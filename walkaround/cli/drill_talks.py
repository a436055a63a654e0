"""The drill and the quiz behind the one face that the room carries out."""

from __future__ import annotations

from collections.abc import Sequence

from walkaround.exchange import Question
from walkaround.learning import quiz as quizzing
from walkaround.learning.drill import Ask, Drill, Effect, Kit, Mark, Shown, new_drill
from walkaround.learning.hearing import (
    grammar_of,
    question_of,
    quiz_grammar,
    quiz_question,
    words_heard,
)
from walkaround.learning.quiz import Quiz, QuizKit
from walkaround.learning.turns import answered, open_drill, shown
from walkaround.speech.phrases import Phrasebook
from walkaround.speech.ports import Transcript


class DrillTalk:
    """A drill under way; `drill` is its state."""

    def __init__(self, kit: Kit) -> None:
        self.kit = kit
        self.drill: Drill = new_drill(kit)

    def open(self) -> Sequence[Effect]:
        self.drill, effects = open_drill(self.kit)
        return effects

    def answered(self, words: str) -> Sequence[Effect]:
        self.drill, effects = answered(self.kit, self.drill, words)
        return effects

    def shown(self, what: Shown) -> Sequence[Effect]:
        self.drill, effects = shown(self.kit, self.drill, what)
        return effects

    def listening(self) -> tuple[Question, Sequence[str]]:
        ask = self.drill.ask
        return question_of(ask), grammar_of(self.kit.book, self.kit.says, ask)

    def words(self, transcript: Transcript) -> str:
        ask = self.drill.ask
        matcher = {Ask.NEXT: self.kit.steps, Ask.FAULT: self.kit.fault_names}.get(ask)
        return words_heard(transcript, matcher)

    def undone(self) -> dict[str, str]:
        return {
            step: "forgotten" for step, mark in self.drill.marks.items() if mark is Mark.FORGOTTEN
        }


class QuizTalk:
    """A round of questions under way."""

    def __init__(self, kit: QuizKit, phrases: Phrasebook) -> None:
        self.kit, self._phrases = kit, phrases
        self.quiz = Quiz()

    def open(self) -> Sequence[Effect]:
        self.quiz, effects = quizzing.open_quiz(self.kit)
        return effects

    def answered(self, words: str) -> Sequence[Effect]:
        self.quiz, effects = quizzing.answered(self.kit, self.quiz, words)
        return effects

    def shown(self, what: Shown) -> Sequence[Effect]:
        raise ValueError(f"no truck is moved in a quiz, and {what.name} was")

    def listening(self) -> tuple[Question, Sequence[str]]:
        asked = self.kit.questions[self.quiz.at]
        return quiz_question(asked), quiz_grammar(asked, self.kit.says, self._phrases)

    def words(self, transcript: Transcript) -> str:
        return words_heard(transcript, None)

    def undone(self) -> dict[str, str]:
        return {}
