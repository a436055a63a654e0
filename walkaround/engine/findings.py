"""What was found so far: answers that the script calls a finding, and limits not met."""

from __future__ import annotations

from walkaround.engine.state import State
from walkaround.exchange import Answer, Choice, No, NotDone, Outcome, Yes
from walkaround.procedure.model import Asked, Plan, Step, question_id


def is_good(asked: Asked, answer: Answer) -> bool:
    """Whether the answer is one of those that the script calls no finding."""
    match answer:
        case Yes():
            said = "yes"
        case No():
            said = "no"
        case Choice(option):
            said = option
        case _:
            return not isinstance(answer, NotDone)
    return not asked.good or said in asked.good


def all_good(step: Step, state: State) -> bool:
    """Whether no answer of the step that stands is a finding."""
    return not _bad(step, state)


def findings(plan: Plan, state: State) -> int:
    """How many measures are not met, and bad answers of steps in which none is: each is counted
    once, by however many rules and places it is one."""
    return sum(_of_step(step, state) for step in plan.steps)


def _of_step(step: Step, state: State) -> int:
    verdicts = state.verdicts.get(step.id, ())
    measures = {v.measure for v in verdicts if v.outcome is Outcome.NOT_MET}
    return len(measures) or len(_bad(step, state))


def _bad(step: Step, state: State) -> list[str]:
    answers = ((asked, state.given.get(question_id(step.id, asked.id))) for asked in step.asks)
    return [
        asked.id
        for asked, given in answers
        if given is not None and not is_good(asked, given.answer)
    ]
