"""Named faults as data: what each changes in a sound vehicle, and what a driver would notice.

Sizes are chosen so that a careful driver can find the fault with the check; common practice,
no source.  A fault that needs a trailer is refused on a single vehicle.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches

from walkaround.errors import UsageError
from walkaround.simulated.facts import Brake, TruckFacts
from walkaround.simulated.flow import leak_area

Change = Callable[[TruckFacts], TruckFacts]


@dataclass(frozen=True, slots=True)
class Fault:
    """`sign` is what a driver would notice, for a list that people read."""

    name: str
    sign: str
    changes: tuple[Change, ...]
    needs_trailers: int = 0


def _set(**fields: object) -> Change:
    return lambda facts: replace(facts, **fields)  # type: ignore[arg-type]


def _times(field: str, factor: float) -> Change:
    return lambda facts: replace(facts, **{field: getattr(facts, field) * factor})


def _compressor(factor: float) -> Change:
    def weaker(facts: TruckFacts) -> TruckFacts:
        made = facts.compressor
        swept = made.swept_m3_per_turn * factor
        return replace(facts, compressor=replace(made, swept_m3_per_turn=swept))

    return weaker


def _leak(vessel: str, psi_per_min: float, of: str) -> Change:
    """A leak in a vessel as large as makes the tank `of` lose so much a minute."""

    def leaking(facts: TruckFacts) -> TruckFacts:
        sizes = {"supply": facts.supply_m3, "primary": facts.primary_m3}
        area = leak_area(psi_per_min, sizes.get(of, facts.secondary_m3))
        leaks = dict(facts.leaks_m2)
        leaks[vessel] = leaks.get(vessel, 0.0) + area
        return replace(facts, leaks_m2=leaks)

    return leaking


def _seen(place: str, what: str) -> Change:
    return lambda facts: replace(facts, seen={**facts.seen, place: what})


def _hiss(where: str) -> Change:
    return lambda facts: replace(facts, heard=(*facts.heard, where))


def _stroke(inches: float) -> Change:
    """The last brake that is not on the front axle."""

    def longer(facts: TruckFacts) -> TruckFacts:
        brakes = list(facts.brakes)
        brakes[-1] = replace(brakes[-1], stroke_in=inches)
        return replace(facts, brakes=tuple(brakes))

    return longer


def _unspring(facts: TruckFacts) -> TruckFacts:
    def bare(brake: Brake) -> Brake:
        return replace(brake, note="spring broken") if brake.spring else brake

    return replace(facts, springs_hold=False, brakes=tuple(bare(b) for b in facts.brakes))


_ALL: tuple[Fault, ...] = (
    Fault(
        "leaking-chamber",
        "fails the applied leak test, passes the released one; a hiss at a rear chamber",
        (_leak("primary-chambers", 7.0, "primary"), _hiss("rear chamber")),
    ),
    Fault(
        "leaking-line",
        "fails both leak tests; one needle falls",
        (_leak("secondary", 4.0, "secondary"), _seen("lines", "a chafed line")),
    ),
    Fault("weak-compressor", "the build-up takes about four times as long", (_compressor(0.25),)),
    Fault("slow-build-up", "the build-up takes about twice as long", (_compressor(0.5),)),
    Fault(
        "governor-high", "cut-out at about 142 psi", (_set(cut_out_psi=142.0, cut_in_psi=118.0),)
    ),
    Fault(
        "governor-low", "cut-out 112, cut-in 78 psi", (_set(cut_out_psi=112.0, cut_in_psi=78.0),)
    ),
    Fault(
        "warning-late",
        "warning at about 48 psi",
        (_set(warning_on_psi=48.0, warning_off_psi=52.0),),
    ),
    Fault("warning-dead", "no warning at all, not even at zero", (_set(warning_works=False),)),
    Fault("lamp-dead", "the anti-lock lamp never lights", (_set(abs_lamp_works=False),)),
    Fault(
        "park-valve-stuck",
        "the yellow knob stays in at any pressure",
        (_set(park_valve_closes=False),),
    ),
    Fault(
        "supply-valve-stuck",
        "the red knob stays in; the tractor empties through a parted line",
        (_set(supply_valve_closes=False),),
        1,
    ),
    Fault(
        "tractor-protection-leaks",
        "the open service coupling blows with the supply closed",
        (_set(protection_closes=False),),
        1,
    ),
    Fault(
        "crossed-lines",
        "trailer springs stay on, service brakes dead",
        (_set(lines_crossed=True),),
        1,
    ),
    Fault("rear-valve-closed", "no air at the last trailer", (_set(rear_reached=False),), 2),
    Fault(
        "trailer-spring-weak",
        "the trailer moves on its springs",
        (_set(trailer_springs_hold=False),),
        1,
    ),
    Fault(
        "check-valve-primary",
        "the primary needle falls when the wet tank is drained",
        (_set(primary_check_holds=False),),
    ),
    Fault(
        "check-valve-secondary",
        "the secondary needle falls when the wet tank is drained",
        (_set(secondary_check_holds=False),),
    ),
    Fault("wet-tanks", "a cup of water from the tanks", (_set(water_in_tanks="cup"),)),
    Fault(
        "oily-tanks",
        "oil from the tanks, oil at the compressor",
        (_set(water_in_tanks="cup", water_look="oily"), _seen("compressor", "oil in the intake")),
    ),
    Fault("long-stroke", "one rear brake strokes 2 1/4 in", (_stroke(2.25),)),
    Fault(
        "open-drain",
        "a drain that does not close: released leak, hiss",
        (
            _leak("primary", 6.0, "primary"),
            _hiss("primary drain"),
        ),
    ),
    Fault(
        "no-purge",
        "silence at cut-out",
        (_set(purge_works=False), _seen("dryer", "purge port blocked")),
    ),
    Fault("no-cut-out", "the needles climb to the safety valve", (_set(governor_unloads=False),)),
    Fault("spring-brake-weak", "the vehicle moves against its parking brake", (_unspring,)),
    Fault(
        "belt-loose",
        "the belt gives 1 1/4 in; slow build-up",
        (_set(belt_slack_in=1.25), _compressor(0.6), _seen("drive", "belt glazed")),
    ),
    Fault("gauge-off", "both needles 6 % high", (_set(gauge_gain=1.06),)),
    Fault("door-interlock-dead", "the open door holds nothing", (_set(interlock_works=False),)),
)

FAULTS: Mapping[str, Fault] = {fault.name: fault for fault in _ALL}
"""Every fault by its name, in a fixed order."""


def fault(name: str) -> Fault:
    """Raises UsageError naming the nearest faults, and all."""
    if name in FAULTS:
        return FAULTS[name]
    near = ", ".join(get_close_matches(name, FAULTS, n=3, cutoff=0.4))
    meant = f"; did you mean {near}?" if near else "."
    raise UsageError(f"there is no fault named '{name}'{meant} There are: {', '.join(FAULTS)}")


def with_faults(facts: TruckFacts, names: Iterable[str]) -> TruckFacts:
    """The vehicle with these faults. Raises UsageError for one unknown or that does not fit."""
    for name in names:
        known = fault(name)
        if facts.trailers < known.needs_trailers:
            units = "two trailers" if known.needs_trailers > 1 else "a trailer"
            raise UsageError(
                f"the fault '{name}' needs {units}; choose another fault or the script "
                "tractor-trailer"
            )
        for change in known.changes:
            facts = change(facts)
    return facts
