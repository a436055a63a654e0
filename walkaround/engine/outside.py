"""What happens to a walk from outside: sittings, verdicts, lost sound."""

from __future__ import annotations

from dataclasses import replace

from walkaround.engine import repeating
from walkaround.engine.answers import read_back
from walkaround.engine.commands import broken_off, cancelled
from walkaround.engine.explaining import SEEN, about, source_said
from walkaround.engine.findings import all_good
from walkaround.engine.moves import Move, commands_only, go_on, phrase
from walkaround.engine.state import (
    Phase,
    State,
    Visit,
    current_step,
    fresh_visit,
    half_told,
    is_of,
    put_first,
    restarted,
    uncautioned,
    unvouched,
)
from walkaround.exchange import (
    AskKind,
    Event,
    Judged,
    MicrophoneBack,
    Outcome,
    Prompt,
    SamplesLost,
    Say,
    SittingOpened,
    Verdict,
    Wording,
)
from walkaround.procedure.model import ARMED, Plan
from walkaround.procedure.restore import UNKNOWN

_WITHIN = ("phrase:verdict.all-met", "phrase:verdict.some-met")


def begin(plan: Plan, state: State, event: Event) -> Move:
    """The first sitting."""
    assert isinstance(event, SittingOpened)
    state = replace(
        state,
        sitting=event.sitting,
        wording=event.wording,
        reach=event.reach,
        conditions=dict(plan.start),
        queue=tuple(fresh_visit(step) for step in plan.steps),
        pending=(phrase("greeting", title=plan.title), phrase("cautions-general")),
    )
    return go_on(plan, state, event.arrived_ms)


def reopen(plan: Plan, state: State, event: Event) -> Move:
    """A later sitting: nothing about the vehicle is vouched for, nothing timed goes on.

    What no act of this plan can change (the couplings of a vehicle without any) stays.
    """
    assert isinstance(event, SittingOpened)
    changeable = {name for step in (*plan.acts, *plan.steps) for name in unvouched(step)}
    proven = {name for name, value in state.conditions.items() if value != plan.start.get(name)}
    conditions = {
        name: UNKNOWN if name in changeable else value for name, value in state.conditions.items()
    }
    state = replace(
        state,
        sitting=event.sitting,
        wording=event.wording,
        reach=event.reach,
        conditions=conditions,
        failed_acts=frozenset(),
        where="",
        misses=0,
    )
    if state.queue:
        state = _vouched_anew(plan, state)
        state, _ = broken_off(plan, state)
        state = _without_acts(plan, state)
        state = _proven_anew(plan, state, proven)
        visits = tuple(
            replace(v, cautioned=False, introduced=False, entered=False, told=(), gated=False)
            for v in state.queue
        )
        title = current_step(plan, replace(state, queue=visits)).title if visits else plan.title
        pending = (phrase("interrupted", title=title), *state.pending)
        state = replace(state, queue=visits, pending=pending, deaf=False)
    return go_on(plan, replace(state, phase=Phase.PAUSED), event.arrived_ms)


def _proven_anew(plan: Plan, state: State, proven: set[str]) -> State:
    """What only a step can show is shown again where a later step needs it."""
    by_acts = {name for act in plan.acts for name in unvouched(act)}
    needed = {
        name
        for visit in state.queue
        for clause in plan.step(visit.step).needs
        for name, _ in clause.any_of
    }
    lost = (proven & needed) - by_acts
    again = [step for step in plan.steps if step.id in state.done and lost & set(step.leaves)]
    return put_first(state, tuple(map(fresh_visit, again)), state.queue)


def _vouched_anew(plan: Plan, state: State) -> State:
    """A step half told before the break, that would vouch for what nobody can read, begins anew."""
    step, visit = current_step(plan, state), state.queue[0]
    if visit.correction or not set(step.leaves) - set(plan.bands):
        return state
    return restarted(plan, state) if half_told(step, visit) else state


def _without_acts(plan: Plan, state: State) -> State:
    """Acts that were under way are planned anew from what is known now."""
    acts = {act.id for act in plan.acts}
    return replace(state, queue=tuple(v for v in state.queue if v.step not in acts))


def judged(plan: Plan, state: State, event: Event) -> Move:
    """Verdicts arrive: what fails, is near or cannot be told is said before the next prompt."""
    assert isinstance(event, Judged)
    state = replace(
        state,
        verdicts={**state.verdicts, event.step: event.verdicts},
        to_judge=tuple(step for step in state.to_judge if step != event.step),
        pending=(*state.pending, *_told(plan, state, event)),
    )
    return go_on(plan, _doubting(plan, state, event), event.arrived_ms)


def _doubting(plan: Plan, state: State, event: Judged) -> State:
    """Readings that cannot both be so are pointed out, and the last is asked for once more; what
    was timed (a called-out rise, two marks) cannot be said again and is measured again.

    At most once a step, whatever the limit; both answers are kept, and the second stands.
    """
    doubts = tuple(dict.fromkeys(doubt for v in event.verdicts for doubt in v.doubts))
    if not doubts:
        return state
    if _to_time_again(plan, state, event.step):
        return _timed_anew(plan, state, event.step, doubts[0])
    again = _to_read_again(plan, state, event.step)
    if again is None or event.step in state.doubted:
        kept = (phrase("doubt-kept", what=doubts[0]),)
        return replace(state, pending=(*state.pending, *kept))
    visit = Visit(event.step, (again,), cautioned=True, introduced=True, correction=True)
    return replace(
        state,
        queue=(visit, *state.queue),
        doubted=state.doubted | {event.step},
        pending=(*state.pending, phrase("doubt", what=doubts[0])),
    )


def _to_read_again(plan: Plan, state: State, step_id: str) -> str | None:
    """The last reading of the step, if it was the last thing said; None where none is."""
    read = (AskKind.NUMBER, AskKind.PAIR)
    readings = [asked.id for asked in plan.step(step_id).asks if asked.kind in read]
    return readings[-1] if readings and _was_last(state, step_id) else None


def _to_time_again(plan: Plan, state: State, step_id: str) -> bool:
    """Whether the step is all calls or marks, the last thing said, and not doubted before. Of
    measurements whose number is fixed every one stands as it is."""
    timed = any(asked.kind in ARMED for asked in plan.step(step_id).asks)
    before = step_id in state.doubted or step_id in state.repeats
    return timed and not before and _was_last(state, step_id)


def _timed_anew(plan: Plan, state: State, step_id: str, doubt: str) -> State:
    state = put_first(state, (fresh_visit(plan.step(step_id)),), state.queue)
    state = replace(
        state,
        doubted=state.doubted | {step_id},
        pending=(*state.pending, phrase("doubt-timed", what=doubt)),
    )
    return restarted(plan, state)


def _was_last(state: State, step_id: str) -> bool:
    return bool(state.order) and is_of(state.order[-1], step_id)


def _told(plan: Plan, state: State, event: Judged) -> tuple[Prompt, ...]:
    """Never "within every limit" of a step with a bad answer, though no rule judges that one.

    Of a step that was left out it was said already that it stays open.
    """
    if event.step in state.not_done:
        return ()
    prompts = verdict_prompts(event.verdicts, state.wording)
    doubted = any(verdict.doubts for verdict in event.verdicts)
    if all_good(plan.step(event.step), state) and not doubted:
        return prompts
    return tuple(prompt for prompt in prompts if prompt.id not in _WITHIN)


def verdict_prompts(verdicts: tuple[Verdict, ...], wording: Wording) -> tuple[Prompt, ...]:
    """Not met is always said, once for a place and measure; the rest as the wording allows."""
    prompts: list[Prompt] = []
    told: set[tuple[str, str]] = set()
    for verdict in verdicts:
        values = {
            "place": verdict.place,
            "about": about(verdict),
            "value": verdict.value,
            "limit": verdict.limit.removeprefix("is "),
            "citation": source_said(verdict.citation),
            "why": verdict.why,
        }
        once = (verdict.place, verdict.measure)
        if verdict.outcome is Outcome.NOT_MET and once not in told:
            told.add(once)
            kind = "verdict.finding" if verdict.value in SEEN else "verdict.not-met"
            prompts.append(phrase(kind, **values))
        elif verdict.outcome is Outcome.UNDETERMINED and verdict.rule and not verdict.value:
            # Without a value the driver can still do something about it.
            prompts.append(phrase("verdict.undetermined", **values))
        if verdict.near and ("near", verdict.measure) not in told:
            told.add(("near", verdict.measure))
            prompts.append(_near(verdict))
    prompts += _passed_elsewhere(verdicts)
    met = any(v.outcome is Outcome.MET and v.rule for v in verdicts)
    if met and not prompts and wording is Wording.FULL:
        open_too = any(v.rule and v.outcome is Outcome.UNDETERMINED for v in verdicts)
        prompts.append(phrase("verdict.some-met" if open_too else "verdict.all-met"))
    return tuple(prompts)


def _near(verdict: Verdict) -> Prompt:
    """With how many measurements would settle it, where that is few enough to do."""
    if 1 < verdict.repeats <= repeating.MOST:
        return phrase("verdict.near-repeat", repeats=str(verdict.repeats))
    return phrase("verdict.near")


def _passed_elsewhere(verdicts: tuple[Verdict, ...]) -> list[Prompt]:
    """What fails one place and passes another is said of both."""
    failed = {(v.place, v.measure) for v in verdicts if v.outcome is Outcome.NOT_MET}
    passed = {
        (v.place, v.measure): v.limit
        for v in verdicts
        if v.outcome is Outcome.MET and v.rule and (v.place, v.measure) not in failed
    }
    measures = {measure for _, measure in failed}
    return [
        phrase("verdict.met", place=place, limit=limit.removeprefix("is "))
        for (place, measure), limit in passed.items()
        if measure in measures
    ]


def sound_lost(plan: Plan, state: State, event: Event) -> Move:
    """A gap in the sound inside a timed interval: it cannot be judged, so it is measured again."""
    assert isinstance(event, SamplesLost)
    effects = cancelled(plan, state)
    broken, lead = broken_off(plan, state)
    if broken is state:
        return state, ()
    broken = replace(broken, pending=(*broken.pending, phrase("samples-lost"), *lead))
    state, more = go_on(plan, broken, event.arrived_ms)
    return state, (*effects, *more)


def microphone_lost(plan: Plan, state: State, _event: Event) -> Move:
    """Wait for it; what was being timed is measured again."""
    effects = cancelled(plan, state)
    if state.phase in (Phase.PAUSED, Phase.STOPPED):
        # It was the driver who had it stand still: only he lets it go on.
        return state, (Say((phrase("microphone-lost"),)), commands_only())
    state, _ = broken_off(plan, state)
    state = replace(uncautioned(state), phase=Phase.PAUSED, deaf=True)
    return state, (*effects, Say((phrase("microphone-lost"),)), commands_only())


def microphone_back(plan: Plan, state: State, event: Event) -> Move:
    """Greet with where the walk was and the last reading; go on unless the driver paused it."""
    assert isinstance(event, MicrophoneBack)
    title = current_step(plan, state).title if state.queue else plan.title
    last = read_back(state.given[state.order[-1]].answer) if state.order else ()
    if not state.deaf:
        said = (phrase("microphone-back", title=title), *last, phrase("paused"))
        return state, (Say(said), commands_only())
    state = replace(
        state, deaf=False, pending=(*state.pending, phrase("microphone-back", title=title), *last)
    )
    return go_on(plan, state, event.arrived_ms)


def ignored(_plan: Plan, state: State, _event: Event) -> Move:
    """It comes too late to mean anything; it is written and nothing more."""
    return state, ()
