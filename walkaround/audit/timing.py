"""Was there time for it? Holds, rises, steps and whole walks against what can be.

A rise is held against the air that it takes, a hold against the length that the script
asks for, a step against the shortest that its card calls plausible.  Those shortest times
are estimates (common practice, no source): one step under its own proves nothing, and only
many of them in one walk, or a whole walk under the sum of all, are worth a look.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from walkaround.exchange import AskKind
from walkaround.procedure.model import Plan
from walkaround.quantity import Kind, quantity

FASTEST_L_PER_MIN = 1100.0
"""Free air. No compressor of a road vehicle gives so much: common practice, no source."""
_ATMOSPHERE_PA = 101_325.0  # the standard atmosphere (ISO 2533)
_SLACK_MS = 1000
"""A hold may seem so much shorter: its first reading's onset and its timer are two clocks."""
_HURRIED_SHARE = 0.25
_HURRIED_LEAST = 5


@dataclass(frozen=True, slots=True)
class Times:
    """Out of a journal. `took_ms`: step -> from the end of what came before to its own end;
    `held_ms`: question -> from the reading before the hold to its end."""

    took_ms: Mapping[str, int] = field(default_factory=dict)
    held_ms: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Hurry:
    """Something for which there was too little time."""

    sort: str  # hold | rise | quick | hurried
    step: str
    says: str


def impossible_rise(
    points: Sequence[tuple[int, str]], volume_l: float | None
) -> tuple[float, float] | None:
    """(seconds it took, seconds that the air alone takes) when the first is the smaller.

    `points` are (milliseconds, "75 psi"); `volume_l` is that of the reservoirs that were
    filled, None when nobody entered it.
    """
    if volume_l is None or len(points) < 2:
        return None
    try:
        first, last = quantity(points[0][1]), quantity(points[-1][1])
    except ValueError:
        return None
    if first.kind is not Kind.PRESSURE or last.kind is not Kind.PRESSURE:
        return None
    took_s = (points[-1][0] - points[0][0]) / 1000
    free_l = float(last.base - first.base) / _ATMOSPHERE_PA * volume_l
    least_s = free_l / FASTEST_L_PER_MIN * 60
    return (took_s, least_s) if took_s < least_s else None


def short_holds(plan: Plan, held_ms: Mapping[str, int]) -> tuple[Hurry, ...]:
    """Holds that ended before the time that the script asks for was over."""
    return tuple(
        Hurry(
            "hold",
            step.id,
            f"a hold of {asked.seconds} s lasted {held_ms[question] / 1000:.0f} s",
        )
        for step in plan.steps
        for asked in step.asks
        if asked.kind is AskKind.HOLD
        for question in (f"{step.id}.{asked.id}",)
        if question in held_ms and held_ms[question] + _SLACK_MS < asked.seconds * 1000
    )


def whole_walk(shortest_s: Mapping[str, int], done: Sequence[str], took_s: float) -> Hurry | None:
    """A walk that took less than its steps take at the very least, one after the other."""
    least = sum(shortest_s.get(step, 0) for step in done)
    if took_s <= 0 or took_s >= least:
        return None
    return Hurry(
        "quick",
        "",
        f"{len(done)} steps in {lasting(took_s)}; one after the other they take {lasting(least)} "
        "at the very least",
    )


def hurried_steps(
    shortest_s: Mapping[str, int], done: Sequence[str], took_ms: Mapping[str, int]
) -> Hurry | None:
    """Many steps of a walk under their own shortest time."""
    timed = [step for step in done if step in took_ms and shortest_s.get(step, 0) > 0]
    short = [step for step in timed if took_ms[step] < shortest_s[step] * 1000]
    if len(short) < _HURRIED_LEAST or len(short) < _HURRIED_SHARE * len(timed):
        return None
    named = ", ".join(short[:4]) + (" ..." if len(short) > 4 else "")
    return Hurry(
        "hurried",
        "",
        f"{len(short)} of {len(timed)} steps took less than the shortest that their cards call "
        f"plausible ({named})",
    )


def clock(seconds: float) -> str:
    """38:05, or 1:02:07."""
    whole = int(seconds)
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    return f"{hours}:{minutes:02}:{left:02}" if hours else f"{minutes}:{left:02}"


def lasting(seconds: float) -> str:
    """38:05 min, or 1:02:07 h."""
    return f"{clock(seconds)} {'h' if seconds >= 3600 else 'min'}"


def litres(sizes: Mapping[str, object]) -> float | None:
    """The reservoirs of a power unit together; None when none is known.

    The supply reservoir is left out: it may be filled already when the others are not.
    """
    volumes = [
        quantity(str(size)).base for name, size in sizes.items() if name in ("primary", "secondary")
    ]
    return float(sum(volumes) * 1000) if volumes else None
