"""Leakage: how fast the pressure falls with the engine off.

Derivation.  Per circuit the fall is p_start - p_end over the hold; the worse circuit
counts.  Per minute it is fall · 60 / n, where n is the hold in whole seconds rounded
down, so that a hold which ran a moment long never makes a leak look smaller.  The
reading is gauge pressure: the atmosphere cancels in the difference.

Errors.  Two needle readings, u² = 2 s²/12 for the fall.  The gauge's offset cancels; its
gain error takes its share of the fall (7 % of 2 psi) where the accuracy is counted.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from walkaround.air.inputs import Inputs, given, held, lower, one_sitting, readings
from walkaround.air.measured import (
    GaugeFacts,
    Measured,
    UndeterminedError,
    expanded,
    gain_variance,
    read_variance,
)
from walkaround.air.procedure import Procedure, hold_s
from walkaround.air.scale import MS_PER_S
from walkaround.exchange import Held
from walkaround.quantity import Quantity, Unit, from_base

_PER_MINUTE = {
    Unit.PSI: Unit.PSI_PER_MIN,
    Unit.KPA: Unit.KPA_PER_MIN,
    Unit.BAR: Unit.BAR_PER_MIN,
    Unit.PA: Unit.KPA_PER_MIN,
}


def loss_released(inputs: Inputs, procedure: Procedure, gauge: GaugeFacts) -> Measured:
    """Fall per minute with the service brake released: `start`, `hold`, `end`."""
    seconds = _whole_seconds(inputs, procedure)
    start = readings(inputs, "start")
    return _per_minute(_fall(start, readings(inputs, "end"), gauge), seconds, start, gauge)


def loss_applied(inputs: Inputs, procedure: Procedure, gauge: GaugeFacts) -> Measured:
    """Fall per minute with the pedal held down: `start` (settled), `hold`, `end`, and `before`.

    Where the pedal stays down for a second reading, `longer` and `later` are that hold and what
    was read at its end: a rule that wants a longer hold than the first is judged by them.
    `settling: excluded` counts from the settled reading; `included` from the reading just
    before the pedal; `not said` forms both, and a verdict is drawn only where they agree.
    A rule that names none of them is silent too: nothing is taken off that its text does not
    take off (49 CFR 570.57(a)(6) says "shall not drop more than" and no word of a first fall).
    """
    inputs = _long_enough(inputs, procedure)
    seconds = _whole_seconds(inputs, procedure)
    settling = procedure.get("settling", "not said")
    start, end = readings(inputs, "start"), readings(inputs, "end")
    settled = _per_minute(_fall(start, end, gauge), seconds, start, gauge)
    if settling == "excluded":
        return settled
    one_sitting(inputs, "before", "start")
    before = readings(inputs, "before")
    if lower(before).base < lower(start).base:
        raise UndeterminedError("the system was filled between the reading before and the pedal")
    whole = _per_minute(_fall(before, end, gauge), seconds, before, gauge)
    if settling == "included":
        return whole
    assert isinstance(whole.value, Quantity)
    said = f"{whole.value.rounded(gauge.needle.value)} with the first fall counted in"
    return replace(settled, why=said, other=whole.value)


def _long_enough(inputs: Inputs, procedure: Procedure) -> Inputs:
    if inputs.get("longer") is None:
        return inputs
    hold = held(inputs, "hold")
    if (hold.ended_ms - hold.began_ms) // MS_PER_S >= hold_s(procedure):
        return inputs
    return {**inputs, "hold": given(inputs, "longer"), "end": given(inputs, "later")}


def _whole_seconds(inputs: Inputs, procedure: Procedure) -> int:
    hold = held(inputs, "hold")
    one_sitting(inputs, "start", "hold", "end")
    seconds = (_read_ms(inputs, hold) - hold.began_ms) // MS_PER_S
    if seconds <= 0 or seconds < hold_s(procedure):
        raise UndeterminedError(f"the hold lasted {seconds} s, which is too short for this rule")
    return seconds


def _read_ms(inputs: Inputs, hold: Held) -> int:
    """When the needle was read at the end: at the tone, unless it was read much later.

    The prompt asks for the needle at the tone and the words come after it; an answer that
    came later than half the hold was of a needle that had gone on falling.
    """
    end = given(inputs, "end").occurred_ms
    late = end - hold.ended_ms
    return end if late > (hold.ended_ms - hold.began_ms) // 2 else hold.ended_ms


def _fall(start: tuple[Quantity, ...], end: tuple[Quantity, ...], gauge: GaugeFacts) -> Fraction:
    """The worse circuit's fall in Pa. A rise beyond what reading can explain is a contradiction."""
    if len(start) != len(end):
        raise UndeterminedError("one reading has two gauges and the other has one")
    falls = [first.base - last.base for first, last in zip(start, end, strict=True)]
    if min(falls) < -2 * gauge.needle.base:
        raise UndeterminedError("the pressure rose with the engine off: read it again")
    return max(falls)


def _per_minute(
    fall: Fraction, seconds: int, start: tuple[Quantity, ...], gauge: GaugeFacts
) -> Measured:
    """`fall` in Pa over whole `seconds`; the base unit of a rate is Pa per second."""
    rate = _PER_MINUTE[start[0].unit]
    gain = gain_variance(fall, lower(start).base, gauge.accuracy) / seconds**2
    variance = 2 * read_variance(gauge.needle) / seconds**2 + gain
    return Measured(
        from_base(fall / seconds, rate), expanded(variance, rate), shared=expanded(gain, rate)
    )
