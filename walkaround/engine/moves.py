"""Going on: restore needs, say the caution, put the ask, finish the step, judge it.

Every function takes the plan and a state and returns the next state with the
effects to perform, in order.
"""

from __future__ import annotations

from dataclasses import replace

from walkaround.engine import repeating
from walkaround.engine.findings import findings, rested_on
from walkaround.engine.state import (
    Phase,
    State,
    Visit,
    current_ask,
    current_step,
    fresh_visit,
    uncautioned,
    with_visit,
)
from walkaround.engine.under_way import NEED_NOT_MET, corrected, left_by, still_open
from walkaround.exchange import (
    AskKind,
    Effect,
    Finish,
    Judge,
    Listen,
    Prompt,
    Question,
    Say,
    Stake,
    Tone,
    ToneKind,
    WakeAt,
    Wanted,
    Wording,
)
from walkaround.procedure.model import ARMED, TIMED, Asked, Plan, Step, question_id, question_of
from walkaround.procedure.restore import UNKNOWN, acts_before, unmet

Move = tuple[State, tuple[Effect, ...]]

COMMANDS_ONLY = "commands"
"""Id of the question under which only commands are understood."""

ERRAND_MOST = 3
"""As many things as can be kept in mind on the way: common practice, no source."""

_QUIET_LEAST_MS = 20_000
_QUIET_MOST_MS = 600_000


def phrase(key: str, **values: str) -> Prompt:
    """A prompt of our own, by its key in the phrase file."""
    return Prompt(f"phrase:{key}", values=values)


def commands_only(*, armed: bool = False) -> Listen:
    """Wait, for ever, for a command."""
    return Listen(Question(COMMANDS_ONLY, AskKind.COMMAND, Stake.COMMAND, armed=armed), None)


def go_on(plan: Plan, state: State, now_ms: int) -> Move:
    """Whatever comes next in the queue."""
    if state.to_judge:
        return _judge(plan, state)
    if not state.queue:
        return _finish(plan, state)
    step, visit = current_step(plan, state), state.queue[0]
    if not visit.correction and not visit.entered:
        counts = _counts(plan, state) if step.gate and not visit.gated else {}
        if any(count != "0" for count in counts.values()):
            state = with_visit(state, replace(visit, gated=True))
            return halted(state, f"halted.{step.gate}", **counts)
        reader = _reader(plan, state, step)
        if reader is not None:
            queue = (fresh_visit(reader), *state.queue)
            return go_on(plan, replace(state, queue=queue), now_ms)
        acts = acts_before(step, state.conditions, plan.acts, state.failed_acts)
        if acts is None:
            return leave_undone(plan, state, NEED_NOT_MET, now_ms)
        if acts:
            visits = tuple(fresh_visit(plan.step(act)) for act in acts)
            # A caution assented to before the vehicle was changed again does not count.
            again = replace(visit, cautioned=False)
            return go_on(plan, replace(state, queue=(*visits, again, *state.queue[1:])), now_ms)
    state = with_visit(state, replace(visit, entered=True))
    if not visit.asks:
        return _complete(plan, state, now_ms)
    if step.caution and not visit.cautioned:
        return _caution(plan, state)
    return _ask(plan, state, now_ms)


def _reader(plan: Plan, state: State, step: Step) -> Step | None:
    """What nobody vouches for and can be read is read, before anything is done to change it."""
    unknown = {
        name
        for clause in unmet(step.needs, state.conditions)
        for name, _ in clause.any_of
        if state.conditions.get(name, UNKNOWN) == UNKNOWN
    }
    acts = (act for act in plan.acts if act.id not in state.failed_acts)
    return next((a for a in acts if any(asked.sets in unknown for asked in a.asks)), None)


def introduction(plan: Plan, state: State) -> tuple[State, tuple[Prompt, ...]]:
    """What is said once as a step begins: pending read-backs and verdicts, its place, its title."""
    step, visit = current_step(plan, state), state.queue[0]
    prompts = list(state.pending)
    if not visit.introduced and not visit.correction:
        is_act = any(act.id == step.id for act in plan.acts)
        if step.where and step.where != state.where and not is_act:
            prompts.append(phrase(f"where.{step.where}"))
            state = replace(state, where=step.where)
        if not is_act and state.wording is Wording.FULL:
            prompts.append(Prompt(f"step:{step.id}.title"))
    introduced = with_visit(state, replace(visit, introduced=True))
    return replace(introduced, pending=()), tuple(prompts)


def _caution(plan: Plan, state: State) -> Move:
    state, lead = introduction(plan, state)
    state = replace(state, phase=Phase.CAUTION, misses=0)
    prompts = caution_prompts(current_step(plan, state))
    return state, (Say((*lead, *prompts)), caution_listen(plan, state))


def caution_prompts(step: Step) -> tuple[Prompt, ...]:
    """A caution is never shortened; it ends with the question that is assented to."""
    return phrase("caution-lead"), Prompt(f"step:{step.id}.caution")


def caution_listen(plan: Plan, state: State) -> Listen:
    """Wait for assent to the current step's caution."""
    step = current_step(plan, state)
    question = Question(question_id(step.id, "caution"), AskKind.YES_NO, Stake.CAUTION)
    return Listen(question, _quiet_ms(step))


def _ask(plan: Plan, state: State, now_ms: int) -> Move:
    asked = current_ask(plan, state)
    if is_errand(plan, state):
        return send_out(plan, state)
    if asked.kind is AskKind.HOLD:
        return _begin_hold(plan, state, asked, now_ms)
    kept: tuple[Prompt, ...] = ()
    if _reads_a_hold(current_step(plan, state), asked) and not state.queue[0].correction:
        # The needle is to be read now: everything else is said after it.
        state, kept = replace(state, pending=()), state.pending
    state, lead = introduction(plan, state)
    state = replace(state, pending=kept)
    calling = asked.kind is AskKind.RISE
    state = replace(
        state,
        phase=Phase.CALLING if calling else Phase.ASKING,
        misses=0,
        points=(),
        candidates_ms=(),
        settling_ms=None,
        began_ms=now_ms,
    )
    # Told before the errand: a cue is enough to ask for it. A correction is no order to do it.
    visit = replace(state.queue[0], begun=True)
    state = with_visit(state, visit)
    wording = Wording.CUE if visit.correction or asked.id in visit.told else None
    return state, (Say((*lead, ask_prompt(plan, state, wording))), ask_listen(plan, state))


def is_errand(plan: Plan, state: State) -> bool:
    """Whether the open ask is answered from where nobody hears, and has not been told yet.

    What is timed by the voice cannot be told afterwards: it is asked as ever.
    """
    step, visit = current_step(plan, state), state.queue[0]
    out = bool(state.reach) and bool(step.where) and step.where not in state.reach
    timed = any(asked.kind in TIMED for asked in step.asks)
    return out and not timed and not visit.correction and visit.asks[0] not in visit.told


def send_out(plan: Plan, state: State) -> Move:
    """At most three things to look at, then come back and tell."""
    state, lead = introduction(plan, state)
    visit = replace(state.queue[0], told=_errand(plan, state))
    state = replace(with_visit(state, visit), phase=Phase.ERRAND, misses=0)
    return state, (Say((*lead, *errand_prompts(plan, state))), commands_only())


def _errand(plan: Plan, state: State) -> tuple[str, ...]:
    """The asks to send out with: none beyond one that the next rely on being answered first."""
    kinds = {asked.id: asked.stake for asked in current_step(plan, state).asks}
    told: list[str] = []
    for ask in state.queue[0].asks[:ERRAND_MOST]:
        told.append(ask)
        if kinds[ask] is Stake.CAUTION:
            break
    return tuple(told)


def errand_prompts(plan: Plan, state: State) -> tuple[Prompt, ...]:
    """What is to be looked at, and that the answers are wanted on the return."""
    step = current_step(plan, state)
    wording = Wording.FULL if state.wording is Wording.FULL else Wording.SHORT
    told = [asked for asked in step.asks if asked.id in state.queue[0].told]
    things = tuple(
        Prompt(f"step:{step.id}.{asked.id}", wording, {"of": asked.of} if asked.of else {})
        for asked in told
    )
    return phrase("errand"), *things, phrase("errand-return")


def _reads_a_hold(step: Step, asked: Asked) -> bool:
    """Whether the ask follows a timed hold at once."""
    index = step.asks.index(asked)
    return index > 0 and step.asks[index - 1].kind is AskKind.HOLD


def ask_prompt(plan: Plan, state: State, wording: Wording | None = None) -> Prompt:
    """The current ask in the driver's wording."""
    step, asked = current_step(plan, state), current_ask(plan, state)
    values = {"of": asked.of} if asked.of else {}
    return Prompt(f"step:{step.id}.{asked.id}", wording or state.wording, values)


def ask_listen(plan: Plan, state: State) -> Listen:
    """Listen for the current ask."""
    step, asked = current_step(plan, state), current_ask(plan, state)
    quiet = _quiet_ms(step) if asked.kind not in ARMED else None
    if asked.seconds:
        quiet = asked.seconds * 1000
    return Listen(question_of(step.id, asked), quiet)


def _quiet_ms(step: Step) -> int:
    return min(max(step.seconds[1] * 1000, _QUIET_LEAST_MS), _QUIET_MOST_MS)


def _begin_hold(plan: Plan, state: State, asked: Asked, now_ms: int) -> Move:
    """Counted from the reading that opens it, not from when that reading was understood."""
    step = current_step(plan, state)
    first = state.given.get(question_id(step.id, asked.after)) if asked.after else None
    began = first.occurred_ms if first and first.sitting == state.sitting else now_ms
    state = replace(state, phase=Phase.HOLDING, began_ms=began, misses=0)
    wake = WakeAt(began + asked.seconds * 1000, hold_timer(step, asked))
    return state, (Tone(ToneKind.HOLD_BEGINS), wake, commands_only(armed=True))


def hold_timer(step: Step, asked: Asked) -> str:
    """Name of the timer that ends a hold."""
    return f"hold:{question_id(step.id, asked.id)}"


def _complete(plan: Plan, state: State, now_ms: int) -> Move:
    """The step's asks are all answered: its leaves hold, and it is to be judged.

    Where an answer was not the good one, what the step would leave is not vouched for.
    """
    step, visit = current_step(plan, state), state.queue[0]
    if not visit.correction and repeating.more_to_come(state, step.id):
        return _measure_next(plan, state, now_ms)
    if not visit.correction:
        state = replace(
            state,
            conditions={**state.conditions, **left_by(step, state)},
            done=state.done if step in plan.acts else (*state.done, step.id),
        )
    else:
        state = corrected(plan, state, step)
    state = replace(state, queue=state.queue[1:], to_judge=_to_judge(plan, state, step))
    return go_on(plan, state, now_ms)


def _measure_next(plan: Plan, state: State, now_ms: int) -> Move:
    """Not judged yet: one more of the measurements that were fixed."""
    step = current_step(plan, state)
    state = repeating.next_one(state, step.id)
    count, of = len(state.sets[step.id]), state.repeats[step.id]
    said = phrase("repeat-next", number=str(count + 1), of=str(of))
    queue = (fresh_visit(step), *state.queue[1:])
    return go_on(plan, replace(state, queue=queue, pending=(*state.pending, said)), now_ms)


def _to_judge(plan: Plan, state: State, step: Step) -> tuple[str, ...]:
    """The step itself, and every judged step that uses one of its answers."""
    mine = f"{step.id}."
    dependent = [
        other.id
        for other in plan.steps
        if other.id != step.id
        and other.id in state.verdicts
        and any(
            source.startswith(mine) or source == step.id
            for spec in other.judges
            for source in (*(at for _, at in spec.inputs), *spec.rests_on)
        )
    ]
    # Corrected in the midst of the step: it is judged when the rest is told.
    own = [step.id] if step.judges and not still_open(state, step) else []
    return (*own, *dependent)


def _judge(plan: Plan, state: State) -> Move:
    step = plan.step(state.to_judge[0])
    wanted = tuple(
        Wanted(
            spec.measure,
            repeating.inputs_of(state, step.id, spec),
            tuple(rested_on(state, source) for source in spec.rests_on),
            spec.only,
        )
        for spec in step.judges
    )
    return replace(state, phase=Phase.JUDGING), (Judge(step.id, wanted),)


def leave_undone(plan: Plan, state: State, why: str, now_ms: int) -> Move:
    """Give the current step up and go on."""
    return go_on(plan, given_up(plan, state, why), now_ms)


def given_up(plan: Plan, state: State, why: str) -> State:
    """The current step is not done: what it would leave is no longer known, and it is judged so."""
    step = current_step(plan, state)
    is_act = step in plan.acts
    unknown = dict.fromkeys(step.leaves, UNKNOWN) if why != NEED_NOT_MET else {}
    state = replace(
        state,
        queue=state.queue[1:],
        conditions={**state.conditions, **unknown},
        failed_acts=state.failed_acts | {step.id} if is_act else state.failed_acts,
        not_done=state.not_done if is_act else {**state.not_done, step.id: why},
        to_judge=() if is_act else _to_judge(plan, state, step),
        pending=(*state.pending, Prompt(f"phrase:{why}", values={"title": step.title})),
        points=(),
        candidates_ms=(),
        settling_ms=None,
    )
    if is_act:
        # The acts that were to follow it were planned on its success.
        state = replace(state, queue=_without_leading_acts(plan, state.queue))
    return state


def halted(state: State, why: str, **values: str) -> Move:
    """A finding that may hurt somebody if the walk just goes on: the driver decides how."""
    prompts = (*state.pending, phrase(why, **values), phrase("stopped-ask"))
    state = replace(uncautioned(state), phase=Phase.STOPPED, pending=())
    return state, (Say(prompts), commands_only())


def _without_leading_acts(plan: Plan, queue: tuple[Visit, ...]) -> tuple[Visit, ...]:
    acts = {act.id for act in plan.acts}
    for index, visit in enumerate(queue):
        if visit.step not in acts:
            return queue[index:]
    return ()


def _counts(plan: Plan, state: State) -> dict[str, str]:
    """What was found and left out so far, as it is said."""
    return {"findings": str(findings(plan, state)), "left": str(len(state.not_done))}


def _finish(plan: Plan, state: State) -> Move:
    """The end. A walk whose last step, the sign-off, was not done is not called complete."""
    signed_off = not plan.steps or plan.steps[-1].id in state.done
    counts = _counts(plan, state)
    end = phrase("finish.complete", **counts) if signed_off else phrase("finish.stopped")
    prompts = (*state.pending, end, phrase("finish.disclaimer"))
    how = "complete" if signed_off else "stopped"
    return replace(state, phase=Phase.DONE, pending=()), (Say(prompts), Finish(how))
