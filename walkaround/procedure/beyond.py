"""How many brakes are beyond their limit, where the texts of one place print more than one.

A rule such as C-24.2, r. 32, s. 166(9) counts brakes that exceed a limit which other rules
print.  Two texts that hold at one place may print different limits for one chamber, and the
count does not say which it means: it is made by the lowest and by the highest of them.  A
count by any mixture lies between the two, so where they agree every reading agrees.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from walkaround.air.measured import GaugeFacts, Measured
from walkaround.air.measures import form
from walkaround.air.strokes import LIMIT
from walkaround.exchange import Given
from walkaround.quantity import Quantity
from walkaround.rules.book import rules_of
from walkaround.rules.model import Authority, Rule, Vehicle

_BEYOND, _STROKE = "strokes-beyond", "stroke"
_Limits = tuple[Quantity, ...]


def beyond(
    rule: Rule,
    strokes: Mapping[str, Given | None],
    authorities: Sequence[Authority],
    vehicle: Vehicle,
    gauge: GaugeFacts,
) -> Measured:
    """The share of brakes beyond, by the lowest limits that hold there; `other` is the share by
    the highest, where it differs.  `strokes` is by brake."""
    limits = _limits(authorities, vehicle)
    inputs = {brake: strokes.get(brake) for brake in vehicle.chambers}

    def counted(pick: Callable[[_Limits], Quantity]) -> Measured:
        said = {f"{LIMIT}{brake}": str(pick(of)) for brake, of in limits.items()}
        return form(_BEYOND, inputs, {**rule.procedure, **said}, gauge)

    strict, mild = counted(_lowest), counted(_highest)
    if mild == strict or not isinstance(mild.value, Quantity):
        return strict
    why = f"{strict.why} by the lowest limit that holds here; {mild.why} by the highest"
    return replace(strict, other=mild.value, why=why)


def _limits(authorities: Sequence[Authority], vehicle: Vehicle) -> dict[str, _Limits]:
    """Brake -> every limit that a text there prints for its chamber, each as printed first.
    Advice to adjust earlier (one-way) is no limit."""
    by_chamber: dict[str, _Limits] = {}
    for rule in rules_of(authorities, _STROKE, vehicle):
        chamber = rule.holds_for.chamber
        if chamber and not rule.one_way:
            printed = rule.limit.bounds[0].lesser[0][0].printed
            by_chamber[chamber] = (*by_chamber.get(chamber, ()), printed)
    return {
        brake: by_chamber[chamber]
        for brake, chamber in vehicle.chambers.items()
        if chamber in by_chamber
    }


def _lowest(limits: _Limits) -> Quantity:
    return min(limits, key=_base)


def _highest(limits: _Limits) -> Quantity:
    return max(limits, key=_base)


def _base(limit: Quantity) -> Fraction:
    return limit.base
