"""From a vehicle profile to what a simulated vehicle is made of.

The profile gives reservoirs, chambers, circuits and dial; what it does not say (strokes,
compressor, leaks) is made up here for a vehicle in good order, the same each time.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from walkaround.procedure.profile import Profile
from walkaround.quantity import Quantity, Unit
from walkaround.simulated.facts import (
    TABLE_V_IN3,
    Brake,
    Compressor,
    TruckFacts,
    chamber_leaks,
    make,
    sound_leaks,
)
from walkaround.simulated.flow import PSI_PA

_STEPS: Mapping[Unit, Decimal] = {
    Unit.PSI: Decimal(1),
    Unit.KPA: Decimal(10),
    Unit.BAR: Decimal("0.1"),
}
"""What an eye can tell apart on a dial of that unit."""

_SWEPT: Mapping[str, float] = {"truck": 187e-6, "bus": 210e-6, "tractor": 300e-6}
"""m³ a turn: the truck's gives 85 to 100 psi in about half a minute at 700 turns; estimates."""

_TRACTOR_AXLES, _TRAILER_AXLES = 3, 2
_STROKES_IN = (1.25, 1.375, 1.5, 1.625)
_DEFAULT_TYPE = 30


def facts_of(profile: Profile) -> TruckFacts:
    """A vehicle in good order that answers to the profile."""
    trailers = profile.units - 1
    brakes = tuple(_brake(profile, place) for place in range(len(profile.brakes)))
    made = make(profile.name, brakes, Compressor(_SWEPT[profile.kind]), trailers)
    made = _with_reservoirs(made, profile, trailers)
    top = Quantity(profile.gauge_most, profile.gauge).base
    return replace(
        made,
        gauge_top_psi=float(top) / PSI_PA,
        dial=profile.gauge,
        dial_step=_STEPS[profile.gauge],
        needles=("primary", "secondary") if profile.dual else ("primary",),
        cut_in_psi=100.0 if profile.kind == "bus" else made.cut_in_psi,
        purge_works=profile.chosen["dryer"] != "none",
        chocks=4 * profile.units if trailers else 4,
        belt_width_in=_inches(profile.sizes.get("belt-width"), made.belt_width_in),
    )


def _brake(profile: Profile, place: int) -> Brake:
    """The circuit goes by the axle: front secondary, other driven axles primary, then trailers."""
    listed = profile.brakes[place]
    axle = _axle(listed.at, place)
    chamber = _chamber(listed.chamber)
    circuit = _circuit(profile, axle)
    stroke = _STROKES_IN[place % len(_STROKES_IN)] if chamber >= 24 else _STROKES_IN[0]
    return Brake(listed.at, circuit, chamber, axle > 1, stroke)


def _axle(at: str, place: int) -> int:
    """The number in `axle-2-left`; without one, two brakes make an axle."""
    numbers = [int(part) for part in at.split("-") if part.isdigit()]
    return numbers[0] if numbers else 1 + place // 2


def _chamber(text: str) -> int:
    """The type number in `clamp 30 long`."""
    numbers = [int(part) for part in text.split() if part.isdigit()]
    known = [number for number in numbers if number in TABLE_V_IN3]
    return known[0] if known else _DEFAULT_TYPE


def _circuit(profile: Profile, axle: int) -> str:
    trailers = profile.units - 1
    if trailers and axle > _TRACTOR_AXLES:
        # The dolly belongs to the trailer that it carries.
        unit = 1 if trailers == 1 or axle <= _TRACTOR_AXLES + _TRAILER_AXLES else 2
        return f"trailer-{unit}"
    return "secondary" if axle == 1 and profile.dual else "primary"


def _with_reservoirs(made: TruckFacts, profile: Profile, trailers: int) -> TruckFacts:
    """The volumes that the profile names, and leaks of the same falls as before."""
    named = {name: float(size.base) for name, size in profile.reservoirs.items()}
    sizes = {
        "supply": named.get("supply", made.supply_m3),
        "primary": named.get("primary", made.primary_m3),
        "secondary": named.get("secondary", made.secondary_m3) if profile.dual else 2e-4,
    }
    towed = {
        f"trailer-{n + 1}": named.get(f"trailer-{n + 1}", made.trailer_m3[n])
        for n in range(trailers)
    }
    return replace(
        made,
        supply_m3=sizes["supply"],
        primary_m3=sizes["primary"],
        secondary_m3=sizes["secondary"],
        trailer_m3=tuple(towed.values()),
        leaks_m2=sound_leaks({**sizes, **towed}) | chamber_leaks(made.brakes),
    )


def _inches(size: Quantity | None, otherwise: float) -> float:
    return float(size.to(Unit.INCH).value) if size is not None else otherwise
