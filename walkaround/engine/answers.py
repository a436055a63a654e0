"""Taking an answer: it stands, it is read back, and what it vouches for is noted."""

from __future__ import annotations

from dataclasses import replace

from walkaround.engine.findings import is_good
from walkaround.engine.moves import (
    Move,
    ask_listen,
    ask_prompt,
    caution_listen,
    go_on,
    halted,
    hold_timer,
    phrase,
)
from walkaround.engine.state import (
    Phase,
    State,
    current_ask,
    current_step,
    with_visit,
)
from walkaround.exchange import (
    Answer,
    Because,
    Choice,
    Count,
    Effect,
    Event,
    Given,
    Heard,
    Held,
    Listen,
    Mark,
    No,
    Number,
    Pair,
    Prompt,
    Rise,
    Say,
    Stake,
    StayedQuiet,
    TimeReached,
    Tone,
    ToneKind,
    Unclear,
    Wording,
    Yes,
)
from walkaround.procedure.model import Asked, Bands, Plan, question_id
from walkaround.quantity import Quantity

_WAIT_AFTER_MISSES = 3


def take_answer(plan: Plan, state: State, event: Event) -> Move:
    """A whole answer to the ask that is open."""
    assert isinstance(event, Heard)
    meaning = event.meaning
    assert isinstance(meaning, Yes | No | Number | Pair | Mark | Choice | Count)
    if _holds_the_walk(plan, state, meaning):
        quiet = replace(ask_listen(plan, state), quiet_after_ms=None)
        return state, (Say((phrase("not-yet"),)), quiet)
    tones: tuple[Effect, ...] = (Tone(ToneKind.TAKEN),) if isinstance(meaning, Mark) else ()
    asked = current_ask(plan, state)
    halts = asked.halt and not is_good(asked, meaning)
    state = standing(plan, state, meaning, event.occurred_ms, heard=event.words)
    if halts:
        state, effects = halted(state, f"halted.{asked.halt}")
    else:
        state, effects = go_on(plan, state, event.arrived_ms)
    return state, (*tones, *effects)


def _holds_the_walk(plan: Plan, state: State, answer: Answer) -> bool:
    """What a later step relies on is not so yet: wait until it is, or until "unable"."""
    step, asked = current_step(plan, state), current_ask(plan, state)
    relied_on = step in plan.acts or asked.stake is Stake.CAUTION
    # A correction withdraws what was relied on: the step under way looks at its needs again.
    return relied_on and not is_good(asked, answer) and not state.queue[0].correction


def stand(plan: Plan, state: State, answer: Answer, occurred_ms: int, now_ms: int) -> Move:
    """The answer stands, and the walk goes on."""
    return go_on(plan, standing(plan, state, answer, occurred_ms), now_ms)


def standing(
    plan: Plan, state: State, answer: Answer, occurred_ms: int, *, heard: str = ""
) -> State:
    """The answer stands from here on; a correction keeps the time of the first reading.

    `heard` are its words: the read-back takes another form than theirs.
    """
    step, asked, visit = current_step(plan, state), current_ask(plan, state), state.queue[0]
    key = question_id(step.id, asked.id)
    earlier = state.given.get(key)
    if visit.correction and earlier is not None:
        given = Given(key, answer, earlier.sitting, earlier.occurred_ms)
    else:
        given = Given(key, answer, state.sitting, occurred_ms)
    spoken = () if isinstance(answer, Held) else (key,)
    known = _vouched(plan, asked, answer)
    return replace(
        with_visit(state, replace(visit, asks=visit.asks[1:])),
        given={**state.given, key: given},
        order=(*(k for k in state.order if k != key), *spoken),
        conditions={**state.conditions, **known},
        pending=(*state.pending, *read_back(answer, heard)),
        points=(),
        candidates_ms=(),
    )


def read_back(answer: Answer, heard: str = "") -> tuple[Prompt, ...]:
    """The answer, to be said in another form than it was heard; a plain yes needs none."""
    words: dict[str, str | Quantity] = {"heard": heard} if heard else {}
    match answer:
        case Number(value):
            return (Prompt("phrase:readback", values={"value": value, **words}),)
        case Pair(primary, secondary):
            values = {"primary": primary, "secondary": secondary, **words}
            return (Prompt("phrase:readback-pair", values=values),)
        case No():
            return (phrase("readback-no"),)
        case Rise(points) if points:
            called = {"first": points[0].value, "last": points[-1].value}
            return (Prompt("phrase:rise-done", values={"count": str(len(points)), **called}),)
        case Choice(option):
            return (phrase("readback-choice", option=option),)
        case Count(number):
            return (phrase("readback-count", number=str(number)),)
        case _:
            return ()


def _vouched(plan: Plan, asked: Asked, answer: Answer) -> dict[str, str]:
    """The band that a reading puts its state variable in; of a pair the lower counts."""
    if not asked.sets or asked.sets not in plan.bands:
        return {}
    bands = plan.bands[asked.sets]
    match answer:
        case Number(value):
            return {asked.sets: _band(value, bands)}
        case Pair(primary, secondary):
            lower = min(primary, secondary, key=lambda reading: reading.base)
            return {asked.sets: _band(lower, bands)}
        case _:
            return {}


def _band(value: Quantity, bands: Bands) -> str:
    for limit, name in bands.below:
        if value.base < Quantity(limit, bands.unit).base:
            return name
    return bands.above


def assent(plan: Plan, state: State, event: Event) -> Move:
    """Yes to a caution."""
    return go_on(plan, with_visit(state, replace(state.queue[0], cautioned=True)), event.arrived_ms)


def no_assent(plan: Plan, state: State, _event: Event) -> Move:
    """No to a caution: wait until it is a yes."""
    quiet = replace(caution_listen(plan, state), quiet_after_ms=None)
    return state, (Say((phrase("not-yet"),)), quiet)


def hold_ended(plan: Plan, state: State, event: Event) -> Move:
    """The timer of a hold; one left over from a broken hold is ignored."""
    assert isinstance(event, TimeReached)
    asked, step = current_ask(plan, state), current_step(plan, state)
    if event.timer != hold_timer(step, asked):
        return state, ()
    held = Held(state.began_ms, event.occurred_ms)
    state, effects = stand(plan, state, held, event.occurred_ms, event.arrived_ms)
    return state, (Tone(ToneKind.HOLD_ENDS), *effects)


# ------------------------------------------------------------- not an answer


def not_taken(plan: Plan, state: State, event: Event) -> Move:
    """Something was heard and not taken: ask again, then help, then wait. Noise does not count."""
    assert isinstance(event, Heard)
    unclear = event.meaning
    if not isinstance(unclear, Unclear) or unclear.because in (
        Because.NOISE,
        Because.OVER_PROMPT,
    ):
        return state, (listening(plan, state),)
    state = replace(state, misses=state.misses + 1)
    if state.misses == 1:
        return state, (Say((_what_was_unclear(plan, state, unclear),)), listening(plan, state))
    return _helped_or_waiting(plan, state)


def stayed_quiet(plan: Plan, state: State, event: Event) -> Move:
    """Nobody spoke: say it again, then help, then wait quietly."""
    assert isinstance(event, StayedQuiet)
    listen = listening(plan, state)
    if event.question != listen.question.id:
        return state, ()
    state = replace(state, misses=state.misses + 1)
    if state.misses == 1:
        prompts = open_prompts(plan, state, Wording.SHORT)
        return state, (Say(prompts), listen)
    return _helped_or_waiting(plan, state)


def _helped_or_waiting(plan: Plan, state: State) -> Move:
    listen = listening(plan, state)
    if state.misses < _WAIT_AFTER_MISSES:
        return state, (Say((help_prompt(plan, state),)), listen)
    still = replace(listen, quiet_after_ms=None)
    if state.misses == _WAIT_AFTER_MISSES:
        return state, (Say((phrase("waiting-quietly"),)), still)
    return state, (Tone(ToneKind.UNCLEAR), still)


def _what_was_unclear(plan: Plan, state: State, unclear: Unclear) -> Prompt:
    if unclear.because is Because.OUT_OF_RANGE and state.phase is not Phase.CAUTION:
        asked = current_ask(plan, state)
        if asked.low is not None and asked.high is not None and asked.unit is not None:
            return Prompt(
                "phrase:unclear.range",
                values={
                    "low": f"{asked.low:f}",
                    "high": f"{asked.high:f}",
                    "unit": str(asked.unit),
                },
            )
    if unclear.because is Because.NO_UNIT:
        return phrase("unclear.unit")
    if unclear.rivals:
        return phrase("unclear.rivals", rivals=", or ".join(unclear.rivals))
    return phrase("unclear.again")


def help_prompt(plan: Plan, state: State) -> Prompt:
    """What may be said to the question that is open."""
    if state.phase is Phase.CAUTION:
        return phrase("help.yes-no")
    asked = current_ask(plan, state)
    if asked.options:
        return phrase("help.choice", options=", ".join(asked.options))
    return phrase(f"help.{asked.kind}")


def open_prompts(plan: Plan, state: State, wording: Wording | None = None) -> tuple[Prompt, ...]:
    """The prompt of the question that is open, again."""
    if state.phase is Phase.CAUTION:
        return (Prompt(f"step:{current_step(plan, state).id}.caution"),)
    return (ask_prompt(plan, state, wording),)


def listening(plan: Plan, state: State) -> Listen:
    """Listen again for the question that is open."""
    return caution_listen(plan, state) if state.phase is Phase.CAUTION else ask_listen(plan, state)
