"""An answer that went on after its beginning was taken: the whole stands, or it is asked again.

"One hundred" was taken, and the next prompt began; then came "and five".  Both are written.
A clear whole replaces the beginning, at the same instant: its voice set in then.  Of an
unclear whole the beginning does not stand either, and the question is put again.
"""

from __future__ import annotations

from dataclasses import replace

from walkaround.engine.answers import take_answer
from walkaround.engine.commands import cancelled
from walkaround.engine.moves import Move, go_on, phrase
from walkaround.engine.state import Phase, State, Visit, with_visit
from walkaround.exchange import Choice, Count, Event, Heard, No, Number, Pair, Prompt, Yes
from walkaround.procedure.model import Plan, Step

_CAUTION = "caution"


def went_on(plan: Plan, state: State, event: Event) -> Move:
    """Only the answer that was given last can go on; of any other it comes too late."""
    assert isinstance(event, Heard)
    step_id, _, ask_id = event.question.rpartition(".")
    if ask_id == _CAUTION:
        return _caution(plan, state, event, step_id)
    given = state.given.get(event.question)
    last = state.order[-1] if state.order else ""
    if given is None or last != event.question or given.answer == event.meaning:
        return state, ()
    effects = cancelled(plan, state)
    state = _asked_anew(plan, state, plan.step(step_id), ask_id)
    if isinstance(event.meaning, Yes | No | Number | Pair | Choice | Count):
        state, more = take_answer(plan, state, event)
    else:
        state, more = _take_back(plan, state, event)
    return state, (*effects, *more)


def _caution(plan: Plan, state: State, event: Heard, step_id: str) -> Move:
    """ "Yes" ... "no": nobody has agreed, and nothing that began on it goes on."""
    visit = state.queue[0]
    if visit.step != step_id or not visit.cautioned or isinstance(event.meaning, Yes):
        return state, ()
    effects = cancelled(plan, state)
    state, more = _take_back(plan, with_visit(state, replace(visit, cautioned=False)), event)
    return state, (*effects, *more)


def _take_back(plan: Plan, state: State, event: Heard) -> Move:
    pending = (*state.pending, phrase("unclear.went-on"))
    return go_on(plan, replace(state, pending=pending), event.arrived_ms)


def _asked_anew(plan: Plan, state: State, step: Step, ask_id: str) -> State:
    """The ask is at the head of the queue again, as if the answer had not been given yet.

    What was begun on the beginning alone begins anew: acts are planned and cautions said again.
    """
    pending = _without_read_back(state.pending)
    state = replace(state, phase=Phase.ASKING, misses=0, pending=pending)
    visit = state.queue[0]
    if visit.step == step.id and not visit.correction:
        return with_visit(state, replace(visit, asks=(ask_id, *visit.asks)))
    acts = {act.id for act in plan.acts} - {step.id}
    queue = tuple(visit for visit in state.queue if visit.step not in acts)
    again = tuple(_begun_anew(visit) if place == 0 else visit for place, visit in enumerate(queue))
    mine = Visit(step.id, (ask_id,), cautioned=True, introduced=True, correction=True)
    return replace(state, queue=(mine, *again))


def _begun_anew(visit: Visit) -> Visit:
    if visit.correction:
        return visit
    return replace(visit, cautioned=False, introduced=False, entered=False, told=())


def _without_read_back(pending: tuple[Prompt, ...]) -> tuple[Prompt, ...]:
    """The last read-back that is still to be said is that of the beginning."""
    for place in reversed(range(len(pending))):
        if pending[place].id.startswith("phrase:readback"):
            return (*pending[:place], *pending[place + 1 :])
    return pending
