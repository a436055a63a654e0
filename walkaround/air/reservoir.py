"""Reservoirs: how large they must be, how fast they fill, what a leak amounts to.

Sources: 49 CFR 571.121 S5.1.1 (time limit), S5.1.2.1 and S5.2.1.1 (volumes) and its
Table V (chamber volumes).  The numbers of that standard come in as arguments; they are
data in `scripts/rules`.  Everything is exact except where a quotient does not end.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from walkaround.quantity import Kind, Quantity, Unit, from_base


def chamber_volume(
    chambers: Iterable[str], volumes: Mapping[str, Quantity], unit: Unit = Unit.CUBIC_INCH
) -> Quantity:
    """Sum over the chambers, each by its name in `volumes` ("30" -> 89 in3 of Table V).

    Raises KeyError for a chamber that is not in the table: the standard then wants the
    actual volume at maximum travel.
    """
    return from_base(sum((volumes[each].base for each in chambers), Fraction(0)), unit)


def required_volume(chambers: Quantity, times: Quantity) -> Quantity:
    """Chamber volume times the standard's factor (S5.1.2.1: 12 for a truck, S5.2.1.1: 8)."""
    return from_base(chambers.base * times.base, chambers.unit)


def volume_ratio(actual: Quantity, required: Quantity) -> Quantity:
    """Actual over required reservoir volume, a pure number: what S5.1.1 scales its time by."""
    return from_base(actual.base / required.base, Unit.ONE)


def build_up_limit(actual: Quantity, required: Quantity, factor: Quantity) -> Quantity:
    """S5.1.1: (actual capacity x 25) / required capacity, in seconds; `factor` is the 25 s."""
    return from_base(factor.base * actual.base / required.base, Unit.SECOND)


def fill_time(volume: Quantity, rise: Quantity, flow: Quantity, atmosphere: Quantity) -> Quantity:
    """t = V Δp / (q p_a): free air q at p_a fills V by Δp, isothermal. Seconds.

    The gauge difference may be used as it is: the atmosphere cancels.
    """
    return from_base(volume.base * rise.base / (flow.base * atmosphere.base), Unit.SECOND)


def receiver_volume(
    duration: Quantity, surplus: Quantity, atmosphere: Quantity, drop: Quantity, unit: Unit
) -> Quantity:
    """V = t (q_out - q_in) p_a / (p_1 - p_2): the tank that covers a surplus demand."""
    return from_base(duration.base * surplus.base * atmosphere.base / drop.base, unit)


def leak_flow(
    volume: Quantity, fall: Quantity, atmosphere: Quantity, unit: Unit = Unit.LITRE_PER_MIN
) -> Quantity:
    """q = (dp/dt) V / p_a: the free air lost at a fall per minute (a rate), isothermal."""
    if fall.kind is not Kind.RATE:
        raise ValueError(f"{fall} is not a rate; give a fall per minute")
    return from_base(fall.base * volume.base / atmosphere.base, unit)
