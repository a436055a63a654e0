"""Readings that contradict each other or physics: pointed out, never changed.

Whoever asks may ask again, at most once; both answers are kept and the last one counts.
Nothing here is a limit of any rule: the bounds are what no sound vehicle shows, they come
in as data, and a doubt changes no verdict.

Free air for a climb is q = V Δp/(T p_a) (isothermal): a climb that would need more than any
vehicle's compressor gives was misread, or the tanks are full of water.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import partial
from itertools import pairwise

from walkaround.air.inputs import Inputs, higher, lower, mark, one_sitting, readings, rise
from walkaround.air.measured import UndeterminedError
from walkaround.air.scale import MS_PER_S
from walkaround.exchange import Pair
from walkaround.quantity import Kind, Quantity, from_base


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a sound vehicle and a careful reader keep within. None: not looked at.

    needle      the step to which a pressure is read
    apart       how far the two circuits' needles may be apart at one moment
    flow        free air that no compressor of a vehicle exceeds
    volume      the reservoirs that the compressor fills
    atmosphere  its pressure
    """

    needle: Quantity
    apart: Quantity | None = None
    flow: Quantity | None = None
    volume: Quantity | None = None
    atmosphere: Quantity | None = None


def doubts(measure: str, inputs: Inputs, bounds: Bounds) -> tuple[str, ...]:
    """What does not fit, one clause each; empty where everything does. Never raises."""
    found: list[str] = []
    for look in (*_OF_ALL, *_OF_ONE.get(measure.partition("@")[0], ())):
        try:
            said = look(inputs, bounds)
        except UndeterminedError:
            continue  # what is missing or of another kind contradicts nothing
        found += [said] if said else []
    return tuple(found)


def _far_apart(inputs: Inputs, bounds: Bounds) -> str:
    if bounds.apart is None:
        return ""
    for given in inputs.values():
        answer = given.answer if given is not None else None
        if not isinstance(answer, Pair) or answer.primary.kind is not Kind.PRESSURE:
            continue
        if abs(answer.primary.base - answer.secondary.base) > bounds.apart.base:
            return f"the two needles are far apart: {answer.primary} and {answer.secondary}"
    return ""


def _rose(first: str, last: str, inputs: Inputs, bounds: Bounds) -> str:
    before, after = readings(inputs, first), readings(inputs, last)
    for one, two in zip(before, after, strict=False):
        if two.base - one.base > 2 * bounds.needle.base:
            return f"the pressure rose with the engine off: {one}, then {two}"
    return ""


def _cut_in_above(inputs: Inputs, _: Bounds) -> str:
    top, bottom = higher(readings(inputs, "cut_out")), lower(readings(inputs, "cut_in"))
    if bottom.base < top.base:
        return ""
    return f"the cut-in {bottom} is not below the cut-out {top}"


def _too_quick(inputs: Inputs, bounds: Bounds) -> str:
    """Any stretch between two calls, less what two readings can be off by."""
    for one, two in pairwise(rise(inputs, "rise").points):
        if one.value.kind is not Kind.PRESSURE or two.value.kind is not Kind.PRESSURE:
            continue
        climbed = two.value.base - one.value.base - 2 * bounds.needle.base
        flow = _free_air(climbed, two.at_ms - one.at_ms, bounds) if climbed > 0 else None
        if flow is not None and bounds.flow is not None and flow.base > bounds.flow.base:
            return (
                f"no compressor fills so fast: {one.value} to {two.value} would take "
                f"{flow.rounded(Decimal(1))} of free air"
            )
    return ""


def _free_air(climbed: Fraction, elapsed_ms: int, bounds: Bounds) -> Quantity | None:
    """q = V Δp/(T p_a)."""
    if bounds.volume is None or bounds.atmosphere is None or bounds.flow is None:
        return None
    seconds = Fraction(max(elapsed_ms, 1), MS_PER_S)
    size = bounds.volume.base * climbed / (seconds * bounds.atmosphere.base)
    return from_base(size, bounds.flow.unit)


def _marks_backward(inputs: Inputs, _: Bounds) -> str:
    first, last = mark(inputs, "from_mark"), mark(inputs, "to_mark")
    one_sitting(inputs, "from_mark", "to_mark")
    late = last.occurred_ms > first.occurred_ms
    return "" if late else "the second mark does not come after the first"


_OF_ALL: tuple[Callable[[Inputs, Bounds], str], ...] = (_far_apart,)
_OF_ONE: Mapping[str, tuple[Callable[[Inputs, Bounds], str], ...]] = {
    "loss-released": (partial(_rose, "start", "end"),),
    "loss-applied": (partial(_rose, "start", "end"),),
    "reserve": (partial(_rose, "before", "after"),),
    "reserve-five": (partial(_rose, "before", "after"),),
    "governor-band": (_cut_in_above,),
    "build-up": (_too_quick,),
    "build-up-marks": (_marks_backward,),
    "recovery": (_marks_backward,),
}
