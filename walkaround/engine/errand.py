"""While the driver is where the headset does not reach: nothing is asked, nothing is missed.

He is sent out with at most three things to look at (`moves.send_out`), says "continue" when he
is back, and is asked for what he saw.  A microphone that is out of reach is no lost one.
"""

from __future__ import annotations

from dataclasses import replace

from walkaround.engine.moves import Move, commands_only, errand_prompts, go_on, phrase
from walkaround.engine.state import State, with_visit
from walkaround.exchange import Event, Say, Wording
from walkaround.procedure.model import Plan


def returned(plan: Plan, state: State, event: Event) -> Move:
    """Back within reach: the asks that were told are put one by one."""
    return go_on(plan, state, event.arrived_ms)


def told_again(plan: Plan, state: State, _event: Event) -> Move:
    """Still there: the things to look at once more."""
    return state, (Say(errand_prompts(plan, state)), commands_only())


def heard_again(_plan: Plan, state: State, _event: Event) -> Move:
    """The microphone is back: the driver may still be on the way."""
    return state, (Say((phrase("errand-return"),)), commands_only())


def all_words(plan: Plan, state: State, _event: Event) -> Move:
    """The things to look at in full, whatever the wording."""
    full = replace(state, wording=Wording.FULL)
    return state, (Say(errand_prompts(plan, full)), commands_only())


def begun_anew(plan: Plan, state: State, event: Event) -> Move:
    """What was told is told again from the step's caution on."""
    visit = replace(state.queue[0], told=(), cautioned=False)
    return go_on(plan, with_visit(state, visit), event.arrived_ms)
