"""What the driver may say at any question, and what each does."""

from __future__ import annotations

from dataclasses import replace
from itertools import dropwhile

from walkaround.engine import repeating
from walkaround.engine.answers import (
    help_prompt,
    listening,
    open_prompts,
    read_back,
    stand,
    standing,
)
from walkaround.engine.explaining import explained, just_judged
from walkaround.engine.moves import (
    Move,
    commands_only,
    given_up,
    go_on,
    halted,
    hold_timer,
    leave_undone,
    phrase,
)
from walkaround.engine.state import (
    Phase,
    State,
    Visit,
    current_ask,
    current_step,
    fresh_visit,
    half_told,
    put_first,
    restarted,
    uncautioned,
    unvouched,
    without_answers,
)
from walkaround.engine.under_way import begun_anew
from walkaround.exchange import (
    CancelWake,
    Effect,
    Event,
    Finish,
    NotDone,
    Prompt,
    Say,
    Tone,
    ToneKind,
    Wording,
)
from walkaround.procedure.model import Plan, Step, question_id

NOT_TAKEN = NotDone("unable-taken")
_WORDINGS = (Wording.CUE, Wording.SHORT, Wording.FULL)


def repeat(plan: Plan, state: State, _event: Event) -> Move:
    """Say the open question once more."""
    return state, (Say(open_prompts(plan, state)), listening(plan, state))


def help_asked(plan: Plan, state: State, _event: Event) -> Move:
    """Say what may be said, and go on listening."""
    prompts = (help_prompt(plan, state), phrase("help"))
    return state, (Say(prompts), listening(plan, state))


def explain(plan: Plan, state: State, _event: Event) -> Move:
    """Say why, then the question again as a cue; of a verdict just told first of all."""
    judged = just_judged(state)
    told = explained(state.verdicts[judged]) if judged else ()
    if told:
        state = replace(state, explained=judged)
        again = open_prompts(plan, state, Wording.CUE)
        return state, (Say((*told, *again)), listening(plan, state))
    step = current_step(plan, state)
    why = Prompt(f"step:{step.id}.explain") if step.explain else phrase("explained-none")
    return state, (Say((why, *open_prompts(plan, state, Wording.CUE))), listening(plan, state))


def previous(plan: Plan, state: State, _event: Event) -> Move:
    """Say the earlier step and its value, and go on listening to the open question."""
    prompts: tuple[Prompt, ...] = (phrase("previous-none"),)
    if state.order:
        key = state.order[-1]
        step = plan.step(key.rpartition(".")[0])
        said = read_back(state.given[key].answer) or (phrase("readback-yes"),)
        prompts = (phrase("previous", title=step.title), *said)
    return state, (Say((*prompts, *open_prompts(plan, state, Wording.CUE))), listening(plan, state))


def correction(plan: Plan, state: State, event: Event) -> Move:
    """Ask the last answered question again; the new answer amends, and is judged again."""
    if not state.order:
        return state, (Say((phrase("correction-none"),)), listening(plan, state))
    step_id, _, ask_id = state.order[-1].rpartition(".")
    step = plan.step(step_id)
    asked = next(a for a in step.asks if a.id == ask_id)
    if asked.seconds or asked.calls:
        # Something timed cannot be corrected by saying it again: it is measured again.
        return redo_step(plan, state, step_id, event.arrived_ms)
    if step in plan.acts and not asked.sets:
        return _act_withdrawn(plan, state, step, event.arrived_ms)
    visit = Visit(step_id, (ask_id,), cautioned=True, introduced=True, correction=True)
    state = replace(
        state, queue=(visit, *state.queue), pending=(*state.pending, phrase("corrected"))
    )
    return go_on(plan, state, event.arrived_ms)


def _act_withdrawn(plan: Plan, state: State, act: Step, now_ms: int) -> Move:
    """What was told done is not: where it is still needed it comes anew, with its caution."""
    state = without_answers(state, act.id)
    state = replace(
        state,
        conditions={**state.conditions, **unvouched(act)},
        pending=(*state.pending, phrase("withdrawn", title=act.title)),
    )
    return go_on(plan, begun_anew(plan, state, 0), now_ms)


def redo(plan: Plan, state: State, event: Event) -> Move:
    """Do the step under way again from its start, or the last finished one if none was begun."""
    step = current_step(plan, state)
    if not half_told(step, state.queue[0]) and state.done:
        return redo_step(plan, state, state.done[-1], event.arrived_ms)
    return redo_step(plan, state, step.id, event.arrived_ms)


def redo_step(plan: Plan, state: State, step_id: str, now_ms: int) -> Move:
    """Put every ask of the step again; answers that other steps drew from it go stale."""
    step = plan.step(step_id)
    number = repeating.wanted(state, step_id)
    if number:
        state = repeating.fixed(state, step_id, number)
    visit = state.queue[0]
    itself = visit.step == step_id and not visit.correction
    behind = tuple(dropwhile(lambda waiting: waiting.step == step_id, state.queue))
    state = put_first(state, (visit if itself else fresh_visit(step),), behind)
    state = replace(state, pending=(*state.pending, phrase("redo", title=step.title)))
    state = state if itself else begun_anew(plan, state, 1)
    return go_on(plan, restarted(plan, state), now_ms)


def unable(plan: Plan, state: State, event: Event) -> Move:
    """The driver cannot do this step: it is written so, and the walk goes on."""
    effects = cancelled(plan, state)
    if state.phase is Phase.ASKING and current_ask(plan, state).of:
        # One of several that cannot be reached says nothing of the others.
        pending = (*state.pending, phrase("unable-taken", title=current_ask(plan, state).of))
        state = replace(state, pending=pending)
        return stand(plan, state, NOT_TAKEN, event.occurred_ms, event.arrived_ms)
    unseen = _unseen(plan, state)
    if state.queue[0].correction:
        # The answer that was crossed out does not come back; the rest of its step stands.
        return _crossed_out(plan, state, event, unseen)
    if unseen:
        # What a finding would have stopped at is not passed over in silence either.
        state, more = halted(given_up(plan, state, "unable-taken"), f"unseen.{unseen}")
    else:
        state, more = leave_undone(plan, state, "unable-taken", event.arrived_ms)
    return state, (*effects, *more)


def _crossed_out(plan: Plan, state: State, event: Event, unseen: str) -> Move:
    pending = (*state.pending, phrase("unable-taken", title=current_step(plan, state).title))
    state = standing(plan, replace(state, pending=pending), NOT_TAKEN, event.occurred_ms)
    return halted(state, f"unseen.{unseen}") if unseen else go_on(plan, state, event.arrived_ms)


def _unseen(plan: Plan, state: State) -> str:
    """What a finding at an open ask of this step would have endangered; empty where nothing."""
    step, visit = current_step(plan, state), state.queue[0]
    return next((asked.halt for asked in step.asks if asked.halt and asked.id in visit.asks), "")


def shorter(plan: Plan, state: State, _event: Event) -> Move:
    """Fewer words from here on."""
    return _reword(plan, state, -1, "wording-shorter")


def longer(plan: Plan, state: State, _event: Event) -> Move:
    """More words from here on."""
    return _reword(plan, state, +1, "wording-longer")


def _reword(plan: Plan, state: State, by: int, said: str) -> Move:
    index = min(max(_WORDINGS.index(state.wording) + by, 0), len(_WORDINGS) - 1)
    state = replace(state, wording=_WORDINGS[index])
    return state, (Say((phrase(said), *open_prompts(plan, state))), listening(plan, state))


# ------------------------------------------------------------- stopping and waiting


def pause(plan: Plan, state: State, _event: Event) -> Move:
    """Wait until told to go on. Something timed that was under way is measured again."""
    effects = cancelled(plan, state)
    state, lead = broken_off(plan, state)
    state = replace(uncautioned(state), phase=Phase.PAUSED)
    return state, (*effects, Say((*lead, phrase("paused"))), commands_only())


def stop(plan: Plan, state: State, _event: Event) -> Move:
    """Everything stands still at once; the step is done again from its caution."""
    effects = cancelled(plan, state)
    if state.queue:
        state = restarted(plan, state)
    state = replace(uncautioned(state), phase=Phase.STOPPED)
    prompts = (phrase("stopped"), phrase("stopped-ask"))
    return state, (*effects, Say(prompts), commands_only())


def resume(plan: Plan, state: State, event: Event) -> Move:
    """Go on after a pause or a stop."""
    state = replace(state, deaf=False, pending=(*state.pending, phrase("resumed")))
    return go_on(plan, state, event.arrived_ms)


def finish(_plan: Plan, state: State, _event: Event) -> Move:
    """End the walk unfinished; it is kept and can be resumed."""
    state = replace(state, phase=Phase.DONE)
    return state, (Say((phrase("finish.stopped"),)), Finish("stopped"))


def still_waiting(_plan: Plan, state: State, _event: Event) -> Move:
    """Said while nothing is asked: a tone, and wait on."""
    return state, (Tone(ToneKind.UNCLEAR), commands_only())


def correction_at_a_halt(plan: Plan, state: State, event: Event) -> Move:
    """It was misheard what the walk stands still for."""
    return correction(plan, state, event) if state.order else choices_again(plan, state, event)


def choices_again(_plan: Plan, state: State, _event: Event) -> Move:
    """Asked for help while nothing is asked: what may be said now."""
    waiting = "stopped-ask" if state.phase is Phase.STOPPED else "paused"
    return state, (Say((phrase(waiting),)), commands_only())


def not_now(plan: Plan, state: State, _event: Event) -> Move:
    """Said inside a timed interval, where only stop, wait and unable count: silence but a tone."""
    if state.phase is Phase.HOLDING:
        return state, (Tone(ToneKind.UNCLEAR), commands_only(armed=True))
    return state, (Tone(ToneKind.UNCLEAR), listening(plan, state))


def broken_off(plan: Plan, state: State) -> tuple[State, tuple[Prompt, ...]]:
    """If something timed is under way it cannot go on: the step will be done again."""
    if state.phase is Phase.HOLDING:
        return restarted(plan, state), (phrase("hold-broken"),)
    if state.phase is Phase.CALLING:
        return restarted(plan, state), (phrase("rise-broken"),)
    if state.phase is Phase.ASKING and (_began_timing(plan, state) or _half_read(plan, state)):
        return restarted(plan, state), ()
    return state, ()


def _began_timing(plan: Plan, state: State) -> bool:
    """Between the two ends of something timed (two marks, a reading and its hold)."""
    step = current_step(plan, state)
    return _begun(step, state) and any(asked.seconds or asked.kind == "mark" for asked in step.asks)


def _begun(step: Step, state: State) -> bool:
    """Whether the step is half answered, and not only being corrected."""
    answered = any(question_id(step.id, asked.id) in state.given for asked in step.asks)
    return answered and not state.queue[0].correction


def _half_read(plan: Plan, state: State) -> bool:
    """Between two readings that banded the same thing before and after: nobody vouches for what
    happened to it across a break."""
    step = current_step(plan, state)
    banded = {asked.id for asked in step.asks if asked.sets}
    pairs = (
        [source for _, source in spec.inputs if source.rpartition(".")[0] == step.id]
        for spec in step.judges
    )
    joined = any(len(pair) > 1 and banded & {p.rpartition(".")[2] for p in pair} for pair in pairs)
    return joined and _begun(step, state)


def cancelled(plan: Plan, state: State) -> tuple[Effect, ...]:
    """Take back the timer of a hold that is under way."""
    if state.phase is not Phase.HOLDING:
        return ()
    step, asked = current_step(plan, state), current_ask(plan, state)
    return (CancelWake(hold_timer(step, asked)),)
