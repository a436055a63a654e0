"""The state of the simulated vehicle in the words of the scripts' table of states.

Used to bring a truck back to where a broken-off walk had left it: a step's needs are held
against what the truck really is, not against what was said of it.
"""

from __future__ import annotations

from collections.abc import Iterable

from walkaround.procedure.model import Bands, Clause, Plan
from walkaround.quantity import Unit
from walkaround.simulated.truck import Truck

PRESSURE = "pressure"
_CUT_OUT = "cut-out"


def conditions_of(truck: Truck, plan: Plan) -> dict[str, tuple[str, ...]]:
    """State variable -> every value that is true of the truck now."""
    controls = truck.controls
    joined = controls.supply_joined and controls.service_joined
    return {
        "parking": ("released" if controls.parking_released else "set",),
        "chocks": ("in" if controls.chocks_in else "out",),
        "engine": ("running" if controls.engine_rpm else "off",),
        "key": ("on" if controls.key_on else "off",),
        "supply": ("open" if controls.supply_open else "closed",),
        "lines": ("joined" if joined else "parted",),
        "drains": ("open" if controls.drains else "closed",),
        PRESSURE: _pressure(truck, plan.bands.get(PRESSURE)),
    }


def _pressure(truck: Truck, bands: Bands | None) -> tuple[str, ...]:
    names = () if truck.loaded else (_CUT_OUT,)
    if bands is None:
        return names
    lower = truck.lower_needle(Unit(bands.unit))
    band = next((name for limit, name in bands.below if lower < float(limit)), bands.above)
    return (*names, band)


def met(clauses: Iterable[Clause], conditions: dict[str, tuple[str, ...]]) -> bool:
    """Whether every clause holds; a variable that the truck does not have is taken to hold."""
    return all(
        any(
            name not in conditions or set(conditions[name]) & set(values)
            for name, values in clause.any_of
        )
        for clause in clauses
    )


def about_pressure(clauses: Iterable[Clause]) -> tuple[Clause, ...]:
    """Those clauses that ask for a level of pressure."""
    return tuple(clause for clause in clauses if any(name == PRESSURE for name, _ in clause.any_of))
