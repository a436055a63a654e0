"""What becomes of the step under way when something is done, or taken back, in front of it."""

from __future__ import annotations

from dataclasses import replace

from walkaround.engine.findings import bad_answers
from walkaround.engine.state import State, current_step, fresh_visit, unvouched, without_answers
from walkaround.procedure.model import Plan, Step, question_id
from walkaround.procedure.restore import UNKNOWN, unmet

NEED_NOT_MET = "need-not-met"
"""Why a step was left out that nothing could bring about."""


def corrected(plan: Plan, state: State, step: Step) -> State:
    """After a correction of the step that stands first in the queue.

    Where an answer is a finding now, what the step left is not vouched for, and the step under
    way looks at its needs and says its caution again.  Where none is any more, what nobody has
    changed since is vouched for again, and what was left out for want of it is asked after all.
    """
    if still_open(state, step):
        return state  # the step itself goes on, as if it had been answered so at once
    vouched = left_by(step, state)
    if all(value != UNKNOWN for value in vouched.values()):
        return _given_back(plan, _looked_at_again(plan, state), step)
    unknown = dict.fromkeys(step.expects, UNKNOWN)
    state = replace(state, conditions={**state.conditions, **unknown, **vouched})
    return begun_anew(plan, state, 1)


def still_open(state: State, step: Step) -> bool:
    """Whether the step that stands first is under way behind its own correction."""
    return any(visit.step == step.id for visit in state.queue[1:])


def left_by(step: Step, state: State) -> dict[str, str]:
    """What the step leaves, unknown where an answer that vouches for it was a finding.

    An ask vouches for what it names; for what none names, all asks that name nothing.
    """
    bad = set(bad_answers(step, state))
    named = {name for asked in step.asks for name in asked.vouches}
    left = {}
    for name, value in step.leaves.items():
        deciding = {
            asked.id
            for asked in step.asks
            if (name in asked.vouches if name in named else not asked.vouches)
        }
        left[name] = UNKNOWN if bad & deciding else value
    return left


def _given_back(plan: Plan, state: State, step: Step) -> State:
    again = {
        name: value
        for name, value in step.leaves.items()
        if state.conditions.get(name, UNKNOWN) == UNKNOWN
    }
    told = [state.given.get(question_id(step.id, asked.id)) for asked in step.asks]
    of_this_sitting = all(given is None or given.sitting == state.sitting for given in told)
    if not again or step.id not in state.done or not of_this_sitting:
        # A step that was given up was not told to its end; what a break made doubtful stays so.
        return state
    order = [each.id for each in plan.steps]
    waiting = {visit.step for visit in state.queue}
    missed = [
        each
        for each in plan.steps
        if state.not_done.get(each.id) == NEED_NOT_MET and each.id not in waiting
        if any(name in again for clause in each.needs for name, _ in clause.any_of)
    ]
    queue = list(state.queue)
    for each in reversed(missed):
        later = (n for n, visit in enumerate(queue) if _comes_after(order, visit.step, each.id))
        queue.insert(next(later, len(queue)), fresh_visit(each))
    left_out = {name: why for name, why in state.not_done.items() if plan.step(name) not in missed}
    return replace(
        state,
        queue=tuple(queue),
        conditions={**state.conditions, **again},
        not_done=left_out,
    )


def _comes_after(order: list[str], step: str, other: str) -> bool:
    return step in order and order.index(step) > order.index(other)


def _looked_at_again(plan: Plan, state: State) -> State:
    """A corrected reading may take away what the step under way needs."""
    if len(state.queue) < 2 or not state.queue[1].entered:
        return state
    key = state.order[-1] if state.order else ""
    asked = next((a for a in current_step(plan, state).asks if key.endswith(f".{a.id}")), None)
    under_way = plan.step(state.queue[1].step)
    if asked is None or not asked.sets or not unmet(under_way.needs, state.conditions):
        return state
    return begun_anew(plan, state, 1)


def begun_anew(plan: Plan, state: State, place: int) -> State:
    """Something comes before the step at that place of the queue, which may be under way: it
    looks at its needs and says its caution again, and what it was about to leave is not known."""
    if place >= len(state.queue) or state.queue[place].correction:
        return state
    visit = state.queue[place]
    step = plan.step(visit.step)
    state, again = without_answers(state, step.id), fresh_visit(step)
    unknown = unvouched(step) if visit.begun else {}
    return replace(
        state,
        queue=(*state.queue[:place], again, *state.queue[place + 1 :]),
        conditions={**state.conditions, **unknown},
    )
