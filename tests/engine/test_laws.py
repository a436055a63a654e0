"""What holds whatever is said, in whatever order."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.engine.tea import Puppet
from walkaround.engine.advance import TRANSITIONS, advance, trigger_of
from walkaround.engine.diagram import ENDS, HERE, NEXT, NEXT_PHASES
from walkaround.engine.state import Phase, State
from walkaround.exchange import (
    Because,
    Command,
    Heard,
    Listen,
    MicrophoneBack,
    MicrophoneLost,
    No,
    Said,
    SamplesLost,
    SittingOpened,
    StayedQuiet,
    Unclear,
    WakeAt,
    Yes,
)

_MOVES = st.one_of(
    st.just("plain"),
    st.just("plain"),
    st.just("plain"),
    st.sampled_from([c for c in Command if c is not Command.FINISH]),
    st.sampled_from(["no", "unclear", "noise", "quiet", "lost", "gone", "back", "sitting", "on"]),
)


def _do(puppet: Puppet, move: Command | str) -> None:
    now = puppet.now
    match move:
        case Command():
            puppet.say(move)
        case "plain" if puppet.state.phase in (Phase.PAUSED, Phase.STOPPED):
            puppet.say(Command.CONTINUE)
        case "plain":
            puppet.plain_answer()
        case "no" if puppet.state.phase is Phase.CAUTION:
            puppet.hear(No())
        case "unclear":
            puppet.hear(Unclear(Because.NOT_AN_ANSWER))
        case "noise":
            puppet.hear(Unclear(Because.NOISE))
        case "quiet":
            puppet.send(StayedQuiet(puppet.asked(), now, now))
        case "lost":
            puppet.send(SamplesLost(5, now, now))
        case "gone":
            puppet.send(MicrophoneLost("gone", now, now))
        case "on" if puppet.state.order:
            key = puppet.state.order[-1]
            meaning = Yes() if now % 2 else Unclear(Because.AMBIGUOUS)
            puppet.send(Heard(key, meaning, "", now, now, went_on=True))
        case "back":
            puppet.send(MicrophoneBack(now, now))
        case "sitting":
            puppet.send(SittingOpened(puppet.state.sitting + 1, "", "", 0))


@settings(max_examples=200, deadline=None)
@given(st.lists(_MOVES, max_size=40))
def test_no_order_of_events_is_without_a_move_or_without_a_way_on(
    moves: list[Command | str],
) -> None:
    """No move is missing, something always listens, and the same events give the same state."""
    puppet = Puppet().start()
    for move in moves:
        if puppet.state.phase is Phase.DONE:
            break
        _do(puppet, move)
        waiting = any(isinstance(e, Listen | WakeAt) for e in puppet.effects)
        assert puppet.open is not None
        assert waiting or puppet.open.id
    again = State()
    for event in puppet.events:
        trigger, before = trigger_of(again, event), again.phase
        again, _ = advance(puppet.plan, again, event)
        _ended_as_drawn(before, trigger, again.phase)
    assert again == puppet.state


def _ended_as_drawn(before: Phase, trigger: str | None, after: Phase) -> None:
    """The diagram's claim about each handler holds for this move."""
    ends = (HERE,) if trigger is None else ENDS[TRANSITIONS[(before, trigger)]]
    allowed = {before} if HERE in ends else set()
    for end in ends:
        allowed |= NEXT_PHASES if end == NEXT else {Phase(end)} if end != HERE else set()
    assert after in allowed | {before}


def test_every_handler_in_the_table_has_its_ends_drawn() -> None:
    assert set(TRANSITIONS.values()) == set(ENDS)


@settings(max_examples=100, deadline=None)
@given(st.lists(_MOVES, max_size=25))
def test_a_disturbed_walk_still_ends(moves: list[Command | str]) -> None:
    puppet = Puppet().start()
    for move in moves:
        if puppet.state.phase is Phase.DONE:
            return
        _do(puppet, move)
    if puppet.state.phase in (Phase.PAUSED, Phase.STOPPED):
        puppet.say(Command.CONTINUE)
    puppet.to_the_end()
    step_ids = {step.id for step in puppet.plan.steps}
    assert set(puppet.state.done) | set(puppet.state.not_done) == step_ids


@settings(max_examples=50, deadline=None)
@given(st.lists(_MOVES, max_size=25))
def test_nothing_is_done_past_a_caution_without_assent(moves: list[Command | str]) -> None:
    """No ask of a step with a caution is open unless a yes was heard after the caution was said."""
    puppet = Puppet().start()
    assented: set[str] = set()
    for move in moves:
        if puppet.state.phase is Phase.DONE:
            return
        before = puppet.events[-1]
        _do(puppet, move)
        for event in puppet.events[puppet.events.index(before) :]:
            if isinstance(event, Heard) and event.question.endswith(".caution"):
                assented.add(event.question.removesuffix(".caution"))
            if isinstance(event, Heard) and isinstance(event.meaning, Said):
                continue
        step = puppet.asked().rpartition(".")[0]
        if step in ("boil", "pour") and not puppet.asked().endswith(".caution"):
            assert step in assented
