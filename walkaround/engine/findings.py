"""What was found so far: answers that the script calls a finding, and limits not met."""

from __future__ import annotations

from walkaround.engine.state import State
from walkaround.exchange import Answer, Choice, Given, No, NotDone, Outcome, Yes
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
    return not bad_answers(step, state)


def findings(plan: Plan, state: State) -> int:
    """How many measures are not met, and bad answers of steps in which none is: each is counted
    once, by however many rules and places it is one."""
    return sum(_of_step(step, state) for step in plan.steps)


def _of_step(step: Step, state: State) -> int:
    verdicts = state.verdicts.get(step.id, ())
    measures = {v.measure for v in verdicts if v.outcome is Outcome.NOT_MET}
    return len(measures) or len(bad_answers(step, state))


def bad_answers(step: Step, state: State) -> list[str]:
    """The asks whose standing answers are findings."""
    answers = ((asked, state.given.get(question_id(step.id, asked.id))) for asked in step.asks)
    return [
        asked.id
        for asked, given in answers
        if given is not None and not is_good(asked, given.answer)
    ]


def rested_on(state: State, source: str) -> Given | None:
    """What a measure rests on: an answer, or that all of a step's judged measures are met."""
    if "." in source or source not in state.done:
        return state.given.get(source)
    verdicts = [verdict for verdict in state.verdicts.get(source, ()) if verdict.rule]
    met = all(verdict.outcome is Outcome.MET for verdict in verdicts)
    return Given(source, Yes() if met else No(), state.sitting, 0)
