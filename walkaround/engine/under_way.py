"""What becomes of the step under way when something is done, or taken back, in front of it."""

from __future__ import annotations

from dataclasses import replace

from walkaround.engine.findings import all_good
from walkaround.engine.state import State, current_step, fresh_visit, without_answers
from walkaround.procedure.model import Plan, Step
from walkaround.procedure.restore import UNKNOWN, unmet


def corrected(plan: Plan, state: State, step: Step) -> State:
    """After a correction of the step that stands first in the queue.

    Where an answer is a finding now, what the step left is not vouched for, and the step under
    way looks at its needs and says its caution again.
    """
    if all_good(step, state):
        return _looked_at_again(plan, state)
    unknown = dict.fromkeys((*step.leaves, *step.expects), UNKNOWN)
    state = replace(state, conditions={**state.conditions, **unknown})
    return begun_anew(plan, state, 1)


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
    if step.id == state.queue[0].step:
        again = replace(visit, entered=False, cautioned=False)
    else:
        state, again = without_answers(state, step.id), fresh_visit(step)
    unknown = dict.fromkeys((*step.leaves, *step.expects), UNKNOWN) if visit.begun else {}
    return replace(
        state,
        queue=(*state.queue[:place], again, *state.queue[place + 1 :]),
        conditions={**state.conditions, **unknown},
    )
