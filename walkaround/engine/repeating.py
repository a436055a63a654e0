"""Measuring a step again because its verdict was too near to call.

How many measurements there will be is fixed before the first repeat, none is judged before the
last, and all are handed over together: whoever judges combines them, alike on both sides of
the limit.  Going on until one of them passes is no way to measure.
"""

from __future__ import annotations

from dataclasses import replace

from walkaround.engine.state import State, is_of, without_answers
from walkaround.exchange import Given
from walkaround.procedure.model import JudgeSpec

MOST = 4
"""More measurements than this would take the morning: common practice, no source."""

Inputs = tuple[tuple[str, Given | None], ...]


def wanted(state: State, step: str) -> int:
    """How many measurements in all would settle a near verdict of the step; 0 where none would,
    or where their number is fixed already."""
    near = (v.repeats for v in state.verdicts.get(step, ()) if v.near)
    most = max(near, default=0)
    return most if 1 < most <= MOST and step not in state.repeats else 0


def fixed(state: State, step: str, number: int) -> State:
    """From here on the step is judged by so many measurements, of which the first is made."""
    return _set_aside(replace(state, repeats={**state.repeats, step: number}), step)


def more_to_come(state: State, step: str) -> bool:
    """Whether the measurement just made is not the last of those that were fixed."""
    return len(state.sets.get(step, ())) + 1 < state.repeats.get(step, 0)


def next_one(state: State, step: str) -> State:
    """The measurement just made is set aside, and the step's questions are open again."""
    return without_answers(_set_aside(state, step), step)


def inputs_of(state: State, step: str, spec: JudgeSpec) -> Inputs:
    """The answers that a measure is made of, each measurement's under a number of its own."""
    last = tuple((name, state.given.get(source)) for name, source in spec.inputs)
    earlier = tuple(
        (f"{name}#{number}", kept.get(source))
        for number, kept in enumerate(state.sets.get(step, ()), start=2)
        for name, source in spec.inputs
        if is_of(source, step)
    )
    return (*last, *earlier)


def _set_aside(state: State, step: str) -> State:
    kept = {key: value for key, value in state.given.items() if is_of(key, step)}
    return replace(state, sets={**state.sets, step: (*state.sets.get(step, ()), kept)})
