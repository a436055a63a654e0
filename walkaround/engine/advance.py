"""The transition table: (phase, what happened) -> the move.

`advance` is the whole engine: a pure function from a state and an event to the
next state and the effects to perform, in order, of which the first is always to
write the event.  An event with no entry in the table is our own mistake
(IllegalMoveError) and changes nothing.  The diagram in DEVELOPERS.md is drawn
from this table.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType

from walkaround.engine import answers, commands, errand, going_on, outside, rising
from walkaround.engine.moves import COMMANDS_ONLY, Move
from walkaround.engine.state import Phase, State
from walkaround.errors import IllegalMoveError
from walkaround.exchange import (
    Command,
    Effect,
    Event,
    Heard,
    Said,
    Say,
    Wording,
    Write,
)
from walkaround.procedure.model import Plan, question_id

WENT_ON = "went on"
"""The whole of an answer whose beginning was taken for all of it, and is closed."""

Handler = Callable[[Plan, State, Event], Move]

Rows = tuple[tuple[str, Handler], ...]


def _said(*commands_: Command) -> tuple[str, ...]:
    return tuple(f"said {command}" for command in commands_)


def _each(triggers: tuple[str, ...], handler: Handler) -> Rows:
    return tuple((trigger, handler) for trigger in triggers)


_QUESTION: Rows = (
    ("Unclear", answers.not_taken),
    ("StayedQuiet", answers.stayed_quiet),
    ("TimeReached", outside.ignored),
    ("said repeat", commands.repeat),
    ("said continue", commands.repeat),
    ("said help", commands.help_asked),
    ("said explain", commands.explain),
    ("said previous", commands.previous),
    ("said correction", commands.correction),
    ("said redo", commands.redo),
    ("said shorter", commands.shorter),
    ("said longer", commands.longer),
    ("said finish", commands.stop),
)
"""At any question that is not timed."""

_TIMED: Rows = _each(
    _said(
        *(
            command
            for command in Command
            if command not in (Command.UNABLE, Command.WAIT, Command.STOP, Command.FINISH)
        )
    ),
    commands.not_now,
)
"""Inside a timed interval: silence but for a tone."""

_UNDER_WAY: Rows = (
    ("said unable", commands.unable),
    ("said wait", commands.pause),
    ("said stop", commands.stop),
    ("SamplesLost", outside.sound_lost),
    (WENT_ON, going_on.went_on),
)
"""Whenever a step is under way."""

_STANDING: Rows = (
    *_each(_said(*Command), commands.still_waiting),
    *_each(("Unclear", "StayedQuiet", "TimeReached", "SamplesLost"), outside.ignored),
    *_each(("said help", "said repeat", "said explain"), commands.choices_again),
    ("said continue", commands.resume),
    ("said stop", commands.stop),
)
"""While the walk stands still; later rows replace earlier ones."""

_AWAY: Rows = (
    *_STANDING,
    ("said continue", errand.returned),
    ("said repeat", errand.told_again),
    ("said help", errand.all_words),
    ("said explain", commands.still_waiting),
    ("said redo", errand.begun_anew),
    ("said unable", commands.unable),
    ("said finish", commands.stop),
    ("MicrophoneLost", outside.ignored),
    ("MicrophoneBack", errand.heard_again),
    (WENT_ON, going_on.went_on),
)
"""While the driver is out of the headset's reach."""

_ALWAYS: Rows = (
    ("SittingOpened", outside.reopen),
    ("MicrophoneLost", outside.microphone_lost),
    ("MicrophoneBack", outside.ignored),
    (WENT_ON, outside.ignored),
)
"""Between the first sitting and the end."""

_ROWS: tuple[tuple[Phase, Rows], ...] = (
    (Phase.CLOSED, (("SittingOpened", outside.begin),)),
    (
        Phase.CAUTION,
        (
            *_ALWAYS,
            *_UNDER_WAY,
            *_QUESTION,
            ("Yes", answers.assent),
            ("No", answers.no_assent),
        ),
    ),
    (
        Phase.ASKING,
        (
            *_ALWAYS,
            *_UNDER_WAY,
            *_QUESTION,
            *_each(("Yes", "No", "Mark", "Number", "Pair", "Choice", "Count"), answers.take_answer),
        ),
    ),
    (Phase.ERRAND, (*_ALWAYS, *_AWAY)),
    (
        Phase.CALLING,
        (
            *_ALWAYS,
            *_UNDER_WAY,
            *_TIMED,
            ("Number", rising.take_call),
            ("Unclear", rising.candidate),
            ("StayedQuiet", rising.rise_quiet),
            ("TimeReached", outside.ignored),
            ("said finish", rising.finish_rise),
            ("said unable", rising.unable_in_rise),
        ),
    ),
    (
        Phase.HOLDING,
        (
            *_ALWAYS,
            *_UNDER_WAY,
            *_TIMED,
            ("TimeReached", answers.hold_ended),
            ("Unclear", outside.ignored),
            ("StayedQuiet", outside.ignored),
            ("said finish", commands.stop),
        ),
    ),
    (Phase.JUDGING, (*_ALWAYS, ("Judged", outside.judged))),
    (
        Phase.PAUSED,
        (
            *_ALWAYS,
            *_STANDING,
            ("said finish", commands.stop),
            ("MicrophoneBack", outside.microphone_back),
        ),
    ),
    # A walk that was ended unfinished can be taken up again; a complete one has nothing left.
    (Phase.DONE, (("SittingOpened", outside.reopen), (WENT_ON, outside.ignored))),
    (
        Phase.STOPPED,
        (
            *_ALWAYS,
            *_STANDING,
            ("said correction", commands.correction_at_a_halt),
            ("said finish", commands.finish),
        ),
    ),
)

TRANSITIONS: Mapping[tuple[Phase, str], Handler] = MappingProxyType(
    {(phase, trigger): handler for phase, rows in _ROWS for trigger, handler in rows}
)
"""(phase, trigger) -> handler. Triggers are event names, meaning names, or `said <command>`."""


def trigger_of(state: State, event: Event) -> str | None:
    """The table's word for what happened; None for an answer to what is no longer open."""
    if not isinstance(event, Heard):
        return type(event).__name__
    if not _is_open(state, event):
        return WENT_ON if event.went_on else None
    if isinstance(event.meaning, Said):
        return f"said {event.meaning.command}"
    return type(event.meaning).__name__


def advance(plan: Plan, state: State, event: Event) -> Move:
    """The next state and the effects to perform, the first of which writes the event.

    Raises IllegalMoveError, leaving nothing changed, when the table has no such move.
    """
    trigger = trigger_of(state, event)
    if trigger is None:
        return state, (Write(event),)
    handler = TRANSITIONS.get((state.phase, trigger))
    if handler is None:
        raise IllegalMoveError(f"no move for '{trigger}' while {state.phase}")
    after, effects = handler(plan, state, event)
    return after, (Write(event), *(_worded(effect, after.wording) for effect in effects))


def _worded(effect: Effect, wording: Wording) -> Effect:
    """Our own phrases follow the driver's wording; a step's ask already carries its own."""
    if not isinstance(effect, Say):
        return effect
    return Say(
        tuple(
            replace(prompt, wording=wording) if prompt.id.startswith("phrase:") else prompt
            for prompt in effect.prompts
        )
    )


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
