"""The transition table: (phase, what happened) -> the move.

`advance` is the whole engine: a pure function from a state and an event to the
next state and the effects to perform, in order, of which the first is always to
write the event.  An event with no entry in the table is our own mistake
(IllegalMoveError) and changes nothing.  The diagram in DEVELOPERS.md is drawn
from this table.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from walkaround.engine import answers, commands, outside
from walkaround.engine.moves import COMMANDS_ONLY, Move
from walkaround.engine.state import Phase, State, question_id
from walkaround.errors import IllegalMoveError
from walkaround.exchange import (
    Command,
    Event,
    Heard,
    Said,
    Write,
)
from walkaround.procedure.model import Plan

Handler = Callable[[Plan, State, Event], Move]

VALUES = ("Number", "Pair", "Choice", "Count")
_EVERYWHERE = (Phase.CAUTION, Phase.ASKING, Phase.CALLING, Phase.HOLDING)


def _said(command: Command) -> str:
    return f"said {command}"


def _table() -> Mapping[tuple[Phase, str], Handler]:
    table: dict[tuple[Phase, str], Handler] = {(Phase.CLOSED, "SittingOpened"): outside.begin}

    def at(phase: Phase, *rows: tuple[str, Handler]) -> None:
        table.update({(phase, trigger): handler for trigger, handler in rows})

    at(Phase.CAUTION, ("Yes", answers.assent), ("No", answers.no_assent))
    at(Phase.ASKING, *((kind, answers.take_answer) for kind in ("Yes", "No", "Mark", *VALUES)))
    for phase in (Phase.CAUTION, Phase.ASKING):
        at(
            phase,
            ("Unclear", answers.not_taken),
            ("StayedQuiet", answers.stayed_quiet),
            (_said(Command.REPEAT), commands.repeat),
            (_said(Command.CONTINUE), commands.repeat),
            (_said(Command.HELP), commands.help_asked),
            (_said(Command.EXPLAIN), commands.explain),
            (_said(Command.PREVIOUS), commands.previous),
            (_said(Command.CORRECTION), commands.correction),
            (_said(Command.REDO), commands.redo),
            (_said(Command.SHORTER), commands.shorter),
            (_said(Command.LONGER), commands.longer),
            (_said(Command.FINISH), commands.stop),
            ("TimeReached", outside.ignored),
        )
    at(
        Phase.CALLING,
        ("Number", answers.take_call),
        ("Unclear", answers.candidate),
        ("StayedQuiet", commands.rise_quiet),
        (_said(Command.FINISH), commands.finish_rise),
        ("TimeReached", outside.ignored),
    )
    at(Phase.HOLDING, ("TimeReached", answers.hold_ended))
    at(Phase.HOLDING, ("Unclear", outside.ignored), ("StayedQuiet", outside.ignored))
    at(Phase.HOLDING, (_said(Command.FINISH), commands.stop))
    for phase in (Phase.CALLING, Phase.HOLDING):
        quiet = (
            Command.REPEAT,
            Command.CONTINUE,
            Command.HELP,
            Command.EXPLAIN,
            Command.PREVIOUS,
            Command.CORRECTION,
            Command.REDO,
            Command.SHORTER,
            Command.LONGER,
        )
        at(phase, *((_said(command), commands.not_now) for command in quiet))
    for phase in _EVERYWHERE:
        at(
            phase,
            (_said(Command.UNABLE), commands.unable),
            (_said(Command.WAIT), commands.pause),
            (_said(Command.STOP), commands.stop),
            ("SamplesLost", outside.sound_lost),
        )
    at(Phase.JUDGING, ("Judged", outside.judged))
    for phase in (Phase.PAUSED, Phase.STOPPED):
        others = [c for c in Command if c not in (Command.CONTINUE, Command.STOP, Command.FINISH)]
        at(phase, *((_said(command), commands.still_waiting) for command in others))
        at(
            phase,
            (_said(Command.CONTINUE), commands.resume),
            (_said(Command.STOP), commands.stop),
            (_said(Command.FINISH), commands.stop if phase is Phase.PAUSED else commands.finish),
            ("Unclear", outside.ignored),
            ("StayedQuiet", outside.ignored),
            ("TimeReached", outside.ignored),
            ("SamplesLost", outside.ignored),
        )
    for phase in Phase:
        if phase in (Phase.CLOSED, Phase.DONE):
            continue
        at(phase, ("SittingOpened", outside.reopen), ("MicrophoneLost", outside.microphone_lost))
        back = outside.microphone_back if phase is Phase.PAUSED else outside.ignored
        at(phase, ("MicrophoneBack", back))
    return MappingProxyType(table)


TRANSITIONS = _table()
"""(phase, trigger) -> handler. Triggers are event names, meaning names, or `said <command>`."""


def trigger_of(event: Event) -> str:
    """The table's word for what happened."""
    if not isinstance(event, Heard):
        return type(event).__name__
    if isinstance(event.meaning, Said):
        return _said(event.meaning.command)
    return type(event.meaning).__name__


def advance(plan: Plan, state: State, event: Event) -> Move:
    """The next state and the effects to perform, the first of which writes the event.

    Raises IllegalMoveError, leaving nothing changed, when the table has no such move.
    """
    if isinstance(event, Heard) and not _is_open(state, event):
        return state, (Write(event),)
    handler = TRANSITIONS.get((state.phase, trigger_of(event)))
    if handler is None:
        raise IllegalMoveError(f"no move for '{trigger_of(event)}' while {state.phase}")
    after, effects = handler(plan, state, event)
    return after, (Write(event), *effects)


def _is_open(state: State, event: Heard) -> bool:
    """An answer to a question that is no longer open is written and not taken; commands count."""
    if isinstance(event.meaning, Said):
        return True
    if state.phase in (Phase.PAUSED, Phase.STOPPED, Phase.HOLDING):
        return event.question == COMMANDS_ONLY
    if state.phase is Phase.CAUTION:
        return event.question == question_id(state.queue[0].step, "caution")
    if state.phase in (Phase.ASKING, Phase.CALLING):
        visit = state.queue[0]
        return event.question == question_id(visit.step, visit.asks[0])
    return False
