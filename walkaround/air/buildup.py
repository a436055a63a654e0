"""Build-up: the time in which the needle climbs through a window of pressure.

Derivation.  With a steady compressor and tanks at steady temperature the pressure
climbs in a straight line: dp/dt = q p_a / V (free air q, atmosphere p_a, tanks V).  So
time is a straight line over pressure, t = a + b p, and the time for a window is
T = b (p2 - p1).  Called-out values are points of that line; a call names a mark on the
gauge, so its error is in the moment when the needle was taken to be there, and time is
fitted over pressure.

Errors, the large ones first.  A needle read to a step s has u = s/√12 in pressure,
hence b s/√12 in time at each end: half a psi on 15 psi in 45 s is 0.43 s an end, so
1.2 s for the window at k = 2.  A gauge's offset shifts both ends alike and cancels; a gain
error stretches T in its proportion and is counted only where the gauge's own accuracy is
given, since rules name marks on that gauge.  A person's marks add a standard deviation of
an interval (0.10 s: Am. J. Phys. 87, 110 (2019)).

Along a straight climb every call has the same variance, so the weighted fit is the plain
one; where the climb bends, calls are weighted by the pace at each (see `bend`).

All times are computed as exact fractions; only the uncertainty uses floating point.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from walkaround.air.bend import Bend, bend_of
from walkaround.air.inputs import Inputs, lower, mark, one_sitting, readings, rise
from walkaround.air.measured import (
    GaugeFacts,
    Measured,
    UndeterminedError,
    expanded,
    gain_variance,
    read_variance,
)
from walkaround.air.procedure import Procedure, pressure
from walkaround.air.scale import (
    FAR_OFF,
    FEWEST_FOR_A_LINE,
    FEWEST_WITH_AN_OUTLIER,
    MS_PER_S,
    US_PER_S,
)
from walkaround.exchange import Point
from walkaround.quantity import Kind, Quantity, Unit, from_base

STRAIGHT = "straight"
_SLOWS = (
    "the rise bends, slower toward the top: listen for a leak, look for an open drain, or see "
    "whether one reservoir fills first"
)
_QUICKENS = "the rise bends, quicker toward the top: was the engine held at one speed?"


@dataclass(frozen=True, slots=True)
class _At:
    """A point of the rise: exact pressure in Pa, exact time in s, as called."""

    pa: Fraction
    s: Fraction
    called: str
    unit: Unit


def build_up(inputs: Inputs, procedure: Procedure, gauge: GaugeFacts) -> Measured:
    """Seconds from `from` to `to`, from the values called out in `rise`.

    Calls that do not climb are left out and named.  What remains around the window is
    fitted by least squares to a line, or to a bend where that is believed; where one point
    is far off it is left out and named; where no law fits, the window is read off between
    the calls on either side of each edge.  Never extrapolated.
    """
    called = rise(inputs, "rise").points
    if any(point.value.kind is not Kind.PRESSURE for point in called):
        raise UndeterminedError("something called out was not a pressure")
    if not called:
        raise UndeterminedError("nothing was called out")
    unit = called[0].value.unit
    window = pressure(procedure, "from", unit), pressure(procedure, "to", unit)
    climbing, stray = _climbing([_at(point) for point in called])
    fit = _fitted(_around(climbing, window), gauge)
    measured = _read_off(replace(fit, stray=[*stray, *fit.stray]), window, gauge)
    if fit.line is None:
        return measured
    return _seen_whole(measured, [p for p in climbing if p not in fit.stray], gauge)


def build_up_marks(inputs: Inputs, procedure: Procedure, gauge: GaugeFacts) -> Measured:
    """Seconds between two marks said at the procedure's `from` and `to`; where the text begins
    at what the vehicle itself does (its warning goes off), `from_reading` was read there.

    T = t2 - t1; u² = 2 (T/(p2 - p1) · s/√12)² + u_person².
    """
    first, last = mark(inputs, "from_mark"), mark(inputs, "to_mark")
    one_sitting(inputs, "from_mark", "to_mark")
    elapsed = Fraction(last.occurred_ms - first.occurred_ms, MS_PER_S)
    if elapsed <= 0:
        raise UndeterminedError("the second mark does not come after the first")
    if inputs.get("from_reading") is None:
        start = pressure(procedure, "from", Unit.PSI)
    else:
        start = lower(readings(inputs, "from_reading")).base
    span = pressure(procedure, "to", Unit.PSI) - start
    if span <= 0:
        raise UndeterminedError("the window ends below where it begins")
    pace = float(elapsed / span)
    variance = 2 * pace**2 * read_variance(gauge.needle) + _timing(gauge)
    return _measured(elapsed, variance, pressure(procedure, "to", Unit.PSI), gauge)


def recovery(inputs: Inputs, procedure: Procedure, gauge: GaugeFacts) -> Measured:
    """Seconds from where one full application left the needle to where it was before, as in
    49 CFR 570.57(a)(2): `from_mark` as it turns upward, `to_mark` as it is back.

    A text that times to the cut-out (`to: cut-out`) ends at `cut_out_mark`.  The needle is
    watched against itself, so its reading's share is left out: only the person's timing is
    counted, and the true uncertainty is larger.
    """
    end = "cut_out_mark" if procedure.get("to") == "cut-out" else "to_mark"
    first, last = mark(inputs, "from_mark"), mark(inputs, end)
    one_sitting(inputs, "from_mark", end)
    elapsed = Fraction(last.occurred_ms - first.occurred_ms, MS_PER_S)
    if elapsed <= 0:
        raise UndeterminedError("the second mark does not come after the first")
    return Measured(from_base(elapsed, Unit.SECOND), expanded(_timing(gauge), Unit.SECOND))


def _at(point: Point) -> _At:
    value = point.value
    return _At(value.base, Fraction(point.at_ms, MS_PER_S), str(value), value.unit)


def _climbing(points: list[_At]) -> tuple[list[_At], list[_At]]:
    """The longest climbing run in the order of time, and what does not fit into it."""
    ordered = sorted(points, key=lambda point: point.s)
    best: list[list[_At]] = []
    for place, point in enumerate(ordered):
        before = [best[i] for i in range(place) if _climbs(ordered[i], point)]
        best.append([*max(before, key=len, default=[]), point])
    kept = max(best, key=len)
    return kept, [point for point in ordered if point not in kept]


def _climbs(one: _At, two: _At) -> bool:
    return one.pa < two.pa and one.s < two.s


def _around(points: list[_At], window: tuple[Fraction, Fraction]) -> list[_At]:
    """From the last call at or below the window to the first at or above it."""
    start, end = window
    below = [i for i, point in enumerate(points) if point.pa <= start]
    above = [i for i, point in enumerate(points) if point.pa >= end]
    if not below or not above:
        raise UndeterminedError("the values called out do not reach across the window")
    across = points[below[-1] : above[0] + 1]
    at_the_edges = across[0].pa == start and across[-1].pa == end
    if len(across) < FEWEST_FOR_A_LINE and not at_the_edges:
        # Two calls far apart are a straight line whatever happened between them.
        raise UndeterminedError("too few of the values called out were understood")
    return across


@dataclass(frozen=True, slots=True)
class _Line:
    """t = mean_s + pace (p - mean_pa)."""

    mean_pa: Fraction
    mean_s: Fraction
    pace: Fraction  # s per Pa
    spread: Fraction  # sum of (p - mean)²

    def off(self, point: _At) -> Fraction:
        return point.s - self.mean_s - self.pace * (point.pa - self.mean_pa)


def _line(points: list[_At]) -> _Line:
    count = len(points)
    mean_pa = sum((point.pa for point in points), Fraction(0)) / count
    mean_s = sum((point.s for point in points), Fraction(0)) / count
    spread = sum(((point.pa - mean_pa) ** 2 for point in points), Fraction(0))
    joint = sum(((p.pa - mean_pa) * (p.s - mean_s) for p in points), Fraction(0))
    return _Line(mean_pa, mean_s, joint / spread, spread)


@dataclass(frozen=True, slots=True)
class _Fit:
    """What the calls lie on: a line, a bend, or neither; and those left out."""

    points: list[_At]
    stray: list[_At]
    line: _Line | None = None
    bend: Bend | None = None


def _fitted(points: list[_At], gauge: GaugeFacts) -> _Fit:
    """A line or a bend through all the calls, or through all but one inner one."""
    whole = _one_law(points, gauge, [])
    if whole is not None:
        return whole
    if len(points) >= FEWEST_WITH_AN_OUTLIER:
        line = _line(points)
        for left_out in sorted(points[1:-1], key=lambda point: -abs(line.off(point))):
            rest = [point for point in points if point is not left_out]
            without = _one_law(rest, gauge, [left_out])
            if without is not None:
                return without
    return _Fit(points, [])


def _one_law(points: list[_At], gauge: GaugeFacts, left_out: list[_At]) -> _Fit | None:
    line = _line(points)
    if len(points) < FEWEST_FOR_A_LINE:
        return _Fit(points, left_out, line)
    bend = bend_of(_called(points), lambda pace: _deviation(pace, gauge))
    if bend is not None:
        return _Fit(points, left_out, bend=bend)
    return _Fit(points, left_out, line) if _fits(line, points, gauge) else None


def _called(points: list[_At]) -> list[tuple[float, float]]:
    return [(float(point.pa), float(point.s)) for point in points]


def _deviation(pace: float, gauge: GaugeFacts) -> float:
    return math.sqrt(_point_variance(pace, gauge))


def _read_off(fit: _Fit, window: tuple[Fraction, Fraction], gauge: GaugeFacts) -> Measured:
    if fit.line is not None:
        return _off_the_line(fit.line, window, gauge, fit.stray)
    if fit.bend is not None:
        return _off_the_bend(fit.bend, window, gauge, fit)
    return _between_calls(fit.points, window, gauge, fit.stray)


def _fits(line: _Line, points: list[_At], gauge: GaugeFacts) -> bool:
    allowed = FAR_OFF * math.sqrt(_point_variance(float(line.pace), gauge))
    return all(abs(line.off(point)) <= allowed for point in points)


def _point_variance(pace: float, gauge: GaugeFacts) -> float:
    """Of one call, in s²: the needle through the pace, and half of an interval's timing."""
    return pace**2 * read_variance(gauge.needle) + _timing(gauge) / 2


def _off_the_line(
    line: _Line, window: tuple[Fraction, Fraction], gauge: GaugeFacts, stray: list[_At]
) -> Measured:
    """T = pace (p2 - p1); u² = (p2 - p1)² u_call² / Σ(p - mean)²."""
    span = window[1] - window[0]
    variance = float(span**2 / line.spread) * _point_variance(float(line.pace), gauge)
    return _measured(
        line.pace * span, variance, window[1], gauge, notes=_named(stray), shape=STRAIGHT
    )


def _seen_whole(measured: Measured, climb: list[_At], gauge: GaugeFacts) -> Measured:
    """A window too short to show a bend is read as it is; the whole climb may show one."""
    bend = bend_of(_called(climb), lambda pace: _deviation(pace, gauge))
    said = _bends(bend, climb[0].unit) if bend is not None else ()
    if not said:
        return measured
    notes = [*said, measured.why]
    return replace(measured, why="; ".join(note for note in notes if note), shape="")


def _off_the_bend(
    bend: Bend, window: tuple[Fraction, Fraction], gauge: GaugeFacts, fit: _Fit
) -> Measured:
    low, high = float(window[0]), float(window[1])
    elapsed = Fraction(round(bend.seconds(low, high) * US_PER_S), US_PER_S)
    said = _bends(bend, fit.points[0].unit)
    notes = (*said, *_named(fit.stray))
    shape = "" if said else STRAIGHT
    return _measured(elapsed, bend.variance(low, high), window[1], gauge, notes=notes, shape=shape)


def _bends(bend: Bend, unit: Unit) -> tuple[str, ...]:
    """What the bend points to; nothing where the compressor by itself bends so."""
    if not bend.slows:
        return (_QUICKENS,)
    if not bend.leaks:
        return ()
    level = from_base(Fraction(round(bend.level)), unit).rounded(Quantity(Decimal(1), unit).value)
    return (f"{_SLOWS}; it would stand still near {level}",)


def _between_calls(
    points: list[_At], window: tuple[Fraction, Fraction], gauge: GaugeFacts, stray: list[_At]
) -> Measured:
    """A rise on no one law: each edge between the calls on either side of it."""
    (start, pace_1), (end, pace_2) = (_crossing(points, edge) for edge in window)
    variance = (pace_1**2 + pace_2**2) * read_variance(gauge.needle) + _timing(gauge)
    notes = (_SLOWS if pace_2 > pace_1 else _QUICKENS, *_named(stray))
    return _measured(end - start, variance, window[1], gauge, notes=notes)


def _named(stray: list[_At]) -> tuple[str, ...]:
    return tuple(f"left out {point.called}, which does not fit" for point in stray)


def _crossing(points: list[_At], edge: Fraction) -> tuple[Fraction, float]:
    """When the needle passed `edge`, and the pace there in s per Pa."""
    for one, two in pairwise(points):
        if one.pa <= edge <= two.pa:
            pace = (two.s - one.s) / (two.pa - one.pa)
            return one.s + pace * (edge - one.pa), float(pace)
    raise UndeterminedError("the values called out do not reach across the window")


def _measured(
    elapsed: Fraction,
    variance: float,
    top: Fraction,
    gauge: GaugeFacts,
    *,
    notes: tuple[str, ...] = (),
    shape: str = "",
) -> Measured:
    """With the gauge's gain, where its accuracy is counted: no repeat takes that away."""
    gain = gain_variance(elapsed, top, gauge.accuracy)
    return Measured(
        from_base(elapsed, Unit.SECOND),
        expanded(variance + gain, Unit.SECOND),
        "; ".join(notes),
        shared=expanded(gain, Unit.SECOND),
        shape=shape,
    )


def _timing(gauge: GaugeFacts) -> float:
    return float(gauge.timing.base) ** 2
