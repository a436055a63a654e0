"""What a practice record holds besides the truck's answers: the learner's own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from walkaround.exchange import AskKind
from walkaround.learning.drill import Mark
from walkaround.learning.ending import FAULT_STEP
from walkaround.learning.evidence import QUIZ, RECALL_ASKS, note_name
from walkaround.learning.questions import QuizQuestion
from walkaround.procedure.model import Plan
from walkaround.records.opening import OutlineAsk, OutlineStep, outline_of

_GOOD = (Mark.RIGHT.value,)
_FAULT_TITLE = "The fault in the truck"
_QUIZ_TITLE = "Questions on rules and parts"


def drill_outline(plan: Plan) -> tuple[OutlineStep, ...]:
    """The plan's steps, each with how it was recalled, and the fault."""
    asks = tuple(OutlineAsk(ask, AskKind.CHOICE, _GOOD) for ask in RECALL_ASKS)
    steps = [
        step if step.act else replace(step, asks=(*step.asks, *asks)) for step in outline_of(plan)
    ]
    fault = OutlineStep(FAULT_STEP, _FAULT_TITLE, (OutlineAsk("name", AskKind.CHOICE, _GOOD),))
    return (*steps, fault)


def quiz_outline(questions: Sequence[QuizQuestion]) -> tuple[OutlineStep, ...]:
    """One step, with every question of the round."""
    asks = tuple(
        OutlineAsk(note_name(asked.key), AskKind.CHOICE, _GOOD, asked.text) for asked in questions
    )
    return (OutlineStep(QUIZ, _QUIZ_TITLE, asks),)
