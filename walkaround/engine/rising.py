"""A called-out rise: every value a point at its voice's onset, every voice a candidate.

A voice that was not understood is kept by its onset.  When the last value was called, or
the driver has been quiet for a while, he is asked which number it was; his answer, and
never the value that was expected, is put at that onset.  "Unable" means that it was none.
"""

from __future__ import annotations

from dataclasses import replace

from walkaround.engine.answers import stand, stayed_quiet
from walkaround.engine.commands import unable
from walkaround.engine.moves import Move, ask_listen, phrase
from walkaround.engine.state import State, current_ask
from walkaround.exchange import (
    AskKind,
    Because,
    Event,
    Heard,
    Listen,
    NotDone,
    Number,
    Point,
    Rise,
    Say,
    Tone,
    ToneKind,
    Unclear,
)
from walkaround.procedure.model import Asked, Plan
from walkaround.quantity import Quantity

_SETTLE_AFTER_MS = 15_000
_SETTLE_TRIES = 2


def take_call(plan: Plan, state: State, event: Event) -> Move:
    """One value of the rise; the last value asked for ends it."""
    assert isinstance(event, Heard)
    assert isinstance(event.meaning, Number)
    settled = state.settling_ms is not None
    at_ms = event.occurred_ms if state.settling_ms is None else state.settling_ms
    point = Point(at_ms, event.meaning.value)
    state = replace(state, points=(*state.points, point), settling_ms=None, misses=0)
    tone = Tone(ToneKind.TAKEN)
    if not settled and not _is_through(current_ask(plan, state), state.points):
        return state, (tone, _listen(plan, state))
    state, effects = _settle_or_go_on(plan, state, event.arrived_ms)
    return state, (tone, *effects)


def _is_through(asked: Asked, points: tuple[Point, ...]) -> bool:
    if not asked.calls or asked.unit is None:
        return False
    last = Quantity(asked.calls[-1], asked.unit).base
    return any(point.value.base >= last for point in points)


def _settle_or_go_on(plan: Plan, state: State, now_ms: int) -> Move:
    """One voice after the other while a number is missing, and only then calls again: a
    number said in between would be taken for one that is being passed."""
    asked, open_ms = current_ask(plan, state), _unsettled(state)
    if open_ms and len(state.points) < len(asked.calls):
        return _ask_which(plan, state, open_ms[0], now_ms)
    if _is_through(asked, state.points):
        return end_rise(plan, state, now_ms)
    return state, (_listen(plan, state),)


def _unsettled(state: State) -> tuple[int, ...]:
    taken = {point.at_ms for point in state.points}
    return tuple(at_ms for at_ms in state.candidates_ms if at_ms not in taken)


def end_rise(plan: Plan, state: State, now_ms: int) -> Move:
    """The rise is over; what was called out stands as one answer, in the order of time."""
    points = tuple(sorted(state.points, key=lambda point: point.at_ms))
    rise = Rise(points, state.candidates_ms)
    state = replace(state, settling_ms=None)
    if not points:
        # No value, no rise: a record may hold no answer that nobody gave.
        return stand(plan, state, NotDone("nothing was called out"), now_ms, now_ms)
    return stand(plan, state, rise, points[0].at_ms, now_ms)


def finish_rise(plan: Plan, state: State, event: Event) -> Move:
    """The driver says that the rise is over."""
    return end_rise(plan, state, event.arrived_ms)


def candidate(plan: Plan, state: State, event: Event) -> Move:
    """A voice that was not understood: its onset is kept, a tone is all that is said."""
    assert isinstance(event, Heard)
    if isinstance(event.meaning, Unclear) and event.meaning.because is Because.NOISE:
        return state, (_listen(plan, state),)
    if state.settling_ms is not None:
        return _ask_which(plan, state, state.settling_ms, event.arrived_ms)
    state = replace(state, candidates_ms=(*state.candidates_ms, event.occurred_ms))
    return state, (Tone(ToneKind.UNCLEAR), _listen(plan, state))


def rise_quiet(plan: Plan, state: State, event: Event) -> Move:
    """Nobody calls any more: settle a candidate, or end the rise, or ask for it again."""
    if state.settling_ms is not None:
        return _none_of_them(plan, state, event.arrived_ms)
    open_ms = _unsettled(state)
    if state.points and open_ms and state.misses < _SETTLE_TRIES:
        return _ask_which(plan, state, open_ms[0], event.arrived_ms)
    if state.points:
        return end_rise(plan, state, event.arrived_ms)
    return stayed_quiet(plan, state, event)


def unable_in_rise(plan: Plan, state: State, event: Event) -> Move:
    """To "which number was it": none. Otherwise the step cannot be done."""
    if state.settling_ms is not None:
        return _none_of_them(plan, state, event.arrived_ms)
    return unable(plan, state, event)


def _ask_which(plan: Plan, state: State, at_ms: int, now_ms: int) -> Move:
    if state.misses >= _SETTLE_TRIES:
        return _none_of_them(plan, state, now_ms)
    state = replace(state, settling_ms=at_ms, misses=state.misses + 1)
    return state, (Say((phrase("rise-missed"),)), _listen(plan, state))


def _none_of_them(plan: Plan, state: State, now_ms: int) -> Move:
    kept = tuple(at_ms for at_ms in state.candidates_ms if at_ms != state.settling_ms)
    state = replace(state, settling_ms=None, candidates_ms=kept, misses=0)
    return _settle_or_go_on(plan, state, now_ms)


def _listen(plan: Plan, state: State) -> Listen:
    """For the next call; shorter while something waits to be settled; a plain number then."""
    listen = ask_listen(plan, state)
    if state.settling_ms is not None:
        question = replace(listen.question, kind=AskKind.NUMBER, armed=False)
        return Listen(question, _SETTLE_AFTER_MS)
    waiting = bool(state.points and _unsettled(state))
    return replace(listen, quiet_after_ms=_SETTLE_AFTER_MS) if waiting else listen
