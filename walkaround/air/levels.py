"""Levels: a pressure read at the moment something happens, and what follows from two of them.

Which of two gauges counts is a matter of what could hide behind the other one:

cut-out             higher   the governor must not let either tank go above
cut-in              lower    neither tank may fall below
warning-on          lower    a warning is for the tank that is low (49 CFR 571.121 S5.1.5)
warning-off         lower    both must be up before it may stop
supply-valve-closes higher   the valve is fed from the higher (Driving Commercial Vehicles, p. 218)
park-valve-closes   higher   it closes only when both are low
line-break-holds    lower    the circuit that fell furthest
left-after-five     lower    five applications must leave enough in both
ready-pressure      lower    both must be there

A rule's procedure may say otherwise (`gauge: higher` or `lower`).

Errors.  One needle reading, u = s/√12, and the gauge's own error a/√3 where it is
counted: a level carries both offset and gain (49 CFR 571.121 S5.1.4 allows ± 7 % of
cut-out).
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from walkaround.air.inputs import Inputs, higher, lower, one_sitting, readings
from walkaround.air.measured import (
    GaugeFacts,
    Measured,
    UndeterminedError,
    expanded,
    gain_variance,
    gauge_variance,
    read_variance,
)
from walkaround.air.procedure import Procedure, pressure
from walkaround.quantity import Kind, Quantity, Unit, from_base

COUNTS: Mapping[str, str] = {
    "cut-out": "higher",
    "cut-in": "lower",
    "warning-on": "lower",
    "warning-off": "lower",
    "supply-valve-closes": "higher",
    "park-valve-closes": "higher",
    "line-break-holds": "lower",
    "left-after-five": "lower",
    "ready-pressure": "lower",
}
"""Measure -> which gauge counts."""


def level(measure: str, inputs: Inputs, procedure: Procedure, gauge: GaugeFacts) -> Measured:
    """The `reading` of the gauge that counts, in the unit it was read in."""
    found = readings(inputs, "reading")
    counts = procedure.get("gauge", COUNTS[measure])
    value = higher(found) if counts == "higher" else lower(found)
    return _level(value, gauge)


def governor_band(inputs: Inputs, _: Procedure, gauge: GaugeFacts) -> Measured:
    """`cut_out` (higher gauge) less `cut_in` (lower gauge): the widest the band can be.

    A difference on one gauge: two needle readings, and the gauge's gain; its offset cancels.
    """
    top, bottom = higher(readings(inputs, "cut_out")), lower(readings(inputs, "cut_in"))
    if bottom.base >= top.base:
        raise UndeterminedError("the cut-in was not below the cut-out: read them again")
    band = from_base(top.base - bottom.base, top.unit)
    gain = gain_variance(top.base - bottom.base, top.base, gauge.accuracy)
    variance = 2 * read_variance(gauge.needle) + gain
    return Measured(band, expanded(variance, top.unit), shared=expanded(gain, top.unit))


def reserve(inputs: Inputs, procedure: Procedure, gauge: GaugeFacts) -> Measured:
    """What one full application takes, in percent of the gauge reading `before` it; worse circuit.

    fall = 100 (before - after) / before, or with `value: remaining` 100 after / before
    (49 CFR 570.57(a)(1) prints the fall, 393.50(a) what remains).  u of either, in
    percent, is (100/before) · √2 · s/√12 with the smaller second-order term left out.  In a
    ratio the gauge's gain cancels and its offset does not: ± a moves it by (a/before) · fall.
    """
    one_sitting(inputs, "before", "after")
    before, after = readings(inputs, "before"), readings(inputs, "after")
    if len(before) != len(after):
        raise UndeterminedError("one reading has two gauges and the other has one")
    if any(reading.base <= 0 for reading in before):
        raise UndeterminedError("there was no pressure before the application")
    shares = [last.base / first.base for first, last in zip(before, after, strict=True)]
    if max(shares) > 1:
        raise UndeterminedError("the pressure rose with the engine off: read it again")
    left = min(shares)
    share = left if procedure.get("value") == "remaining" else 1 - left
    least = float(lower(before).base)
    offset = gauge_variance(gauge.accuracy) * float((1 - left) / lower(before).base) ** 2
    variance = 2 * read_variance(gauge.needle) / least**2 + offset
    return Measured(
        from_base(share, Unit.PERCENT),
        expanded(variance, Unit.PERCENT),
        shared=expanded(offset, Unit.PERCENT),
    )


def springs_after_warning(inputs: Inputs, _: Procedure, __: GaugeFacts) -> Measured:
    """`yes` where the springs set (`closes`, the higher gauge) below where the warning came on
    (`warning`, the lower one); `no` where they set at it or above."""
    warned, closed = lower(readings(inputs, "warning")), higher(readings(inputs, "closes"))
    said = f"the warning came on at {warned}, the springs set at {closed}"
    return Measured("yes" if closed.base < warned.base else "no", why=said)


def stroke_pressure(inputs: Inputs, procedure: Procedure, gauge: GaugeFacts) -> Measured:
    """The gauge that lies further from the middle of the window: if it is inside, both are."""
    found = readings(inputs, "reading")
    unit = found[0].unit
    middle = (pressure(procedure, "from", unit) + pressure(procedure, "to", unit)) / 2
    value = max(found, key=lambda reading: _away(reading, middle))
    return _level(value, gauge)


def stroke(inputs: Inputs, _: Procedure, gauge: GaugeFacts) -> Measured:
    """Applied pushrod stroke as read, a length; u = step/√12 of each of two readings."""
    value = readings(inputs, "reading", Kind.LENGTH)[0]
    return Measured(value, expanded(2 * read_variance(gauge.length), value.unit))


def belt_slack(inputs: Inputs, _: Procedure, gauge: GaugeFacts) -> Measured:
    """Deflection of the belt midway between the pulleys, a length; u = step/√12."""
    value = readings(inputs, "deflection", Kind.LENGTH)[0]
    return Measured(value, expanded(read_variance(gauge.length), value.unit))


def discharge_temperature(inputs: Inputs, _: Procedure, gauge: GaugeFacts) -> Measured:
    """Temperature of the discharge line as read; u = step/√12."""
    value = readings(inputs, "reading", Kind.TEMPERATURE)[0]
    return Measured(value, expanded(read_variance(gauge.temperature), value.unit))


def _away(reading: Quantity, middle: Fraction) -> Fraction:
    return abs(reading.base - middle)


def _level(value: Quantity, gauge: GaugeFacts) -> Measured:
    """A level carries the gauge's own error whole, and every repeat carries the same one."""
    own = gauge_variance(gauge.accuracy)
    return Measured(
        value,
        expanded(read_variance(gauge.needle) + own, value.unit),
        shared=expanded(own, value.unit),
    )
