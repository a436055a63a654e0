"""What a simulated vehicle is made of: numbers only, frozen. Faults are changes to these.

Gauge pressures are in psi because that is how trade values are known; volumes are m³,
areas m², times s.  Reservoirs default to the least that FMVSS 121 asks for: 12 times the
service chambers on a power unit (S5.1.2.1), 8 times on a trailer (S5.2.1.1), with the
rated volumes of Table V.  Time constants, the compressor's size and the leaks of a sound
vehicle are estimates: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal

from walkaround.quantity import Unit
from walkaround.simulated.flow import CUBIC_INCH_M3, leak_area

TABLE_V_IN3: Mapping[int, float] = {
    9: 25, 12: 30, 14: 40, 16: 46, 18: 50, 20: 54, 24: 67, 30: 89, 36: 135,
}  # fmt: skip
"""Rated volume by chamber type, 49 CFR 571.121 Table V, cubic inches."""

FILLED_SHARE = 0.65
"""Of the rated (full-stroke) volume at a stroke that is in adjustment; estimate."""


@dataclass(frozen=True, slots=True)
class Brake:
    """One wheel brake. `circuit`: primary, secondary, trailer-1, trailer-2."""

    position: str  # "axle-2-left"
    circuit: str
    chamber: int  # type = nominal area in square inches
    spring: bool
    stroke_in: float  # pushrod travel at 90-100 psi
    note: str = ""  # what is to be seen there, when something is

    @property
    def rated_m3(self) -> float:
        return TABLE_V_IN3[self.chamber] * CUBIC_INCH_M3


@dataclass(frozen=True, slots=True)
class Compressor:
    swept_m3_per_turn: float
    clearance: float = 0.04
    turns_per_engine_turn: float = 1.0


@dataclass(frozen=True, slots=True)
class TruckFacts:
    """Everything a fault can change. `leaks_m2` is per vessel, on top of nothing."""

    name: str
    brakes: tuple[Brake, ...]
    supply_m3: float
    primary_m3: float
    secondary_m3: float
    trailer_m3: tuple[float, ...] = ()  # reservoirs of each trailer (its dolly counted in)
    compressor: Compressor = Compressor(187e-6)
    idle_rpm: float = 700
    fast_rpm: float = 1200
    cut_out_psi: float = 125.0
    cut_in_psi: float = 104.0
    safety_valve_psi: float = 150.0
    warning_on_psi: float = 66.0
    warning_off_psi: float = 70.0
    supply_valve_psi: float = 38.0
    park_valve_psi: float = 32.0
    protection_opens_psi: float = 45.0  # tractor protection, by the supply line's pressure
    protection_shuts_psi: float = 40.0
    accessory_psi: float = 65.0  # below this the protection valve shuts accessories off
    leaks_m2: Mapping[str, float] = field(default_factory=dict)
    gauge_gain: float = 1.0
    gauge_offset_psi: float = 0.0
    gauge_top_psi: float = 160.0
    dial: Unit = Unit.PSI
    dial_step: Decimal = Decimal(1)  # what an eye can tell apart, in the dial's unit
    needles: tuple[str, ...] = ("primary", "secondary")
    warning_works: bool = True
    abs_lamp_works: bool = True
    governor_unloads: bool = True
    purge_works: bool = True
    primary_check_holds: bool = True
    secondary_check_holds: bool = True
    supply_valve_closes: bool = True
    park_valve_closes: bool = True
    protection_closes: bool = True
    lines_crossed: bool = False
    rear_reached: bool = True  # the shut-off valves between the trailers are open
    springs_hold: bool = True
    trailer_springs_hold: bool = True
    interlock_works: bool = True
    water_in_tanks: str = "none"  # none, drops, cup
    water_look: str = "clear"  # clear, milky, oily
    belt_slack_in: float = 0.5
    belt_width_in: float = 0.5
    discharge_c: float = 85.0
    chocks: int = 4
    seen: Mapping[str, str] = field(default_factory=dict)  # place -> what is wrong there
    heard: tuple[str, ...] = ()  # where a hiss comes from with the brakes applied

    @property
    def trailers(self) -> int:
        return len(self.trailer_m3)


def chambers_m3(brakes: tuple[Brake, ...], circuit: str) -> float:
    """What the service chambers of a circuit hold when applied."""
    return FILLED_SHARE * sum(b.rated_m3 for b in brakes if b.circuit == circuit)


def rated_m3(brakes: tuple[Brake, ...], *circuits: str) -> float:
    return sum(b.rated_m3 for b in brakes if b.circuit in circuits)


def sound_leaks(volumes: Mapping[str, float], psi_per_min: float = 0.45) -> dict[str, float]:
    """Leaks of a healthy vehicle: every vessel named loses so much at 120 psi, left alone."""
    return {name: leak_area(psi_per_min, volume) for name, volume in volumes.items()}


def chamber_leaks(brakes: tuple[Brake, ...]) -> dict[str, float]:
    """A chamber holds about a tenth of its tank: 3 psi/min of its own is 0.2 on the gauge."""
    circuits = dict.fromkeys(brake.circuit for brake in brakes)
    held = {f"{circuit}-chambers": rated_m3(brakes, circuit) for circuit in circuits}
    return sound_leaks(held, 3.0)


def make(
    name: str, brakes: tuple[Brake, ...], compressor: Compressor, trailers: int = 0
) -> TruckFacts:
    """A vehicle with FMVSS 121 minimum reservoirs and sound leaks.

    A fifth of the volume is the supply tank; the rest is shared a quarter evenly and three
    quarters as the chambers are, so that the needles fall nearly, but not quite, together.
    """
    total = 12 * rated_m3(brakes, "primary", "secondary")
    first = 0.125 + 0.75 * rated_m3(brakes, "primary") * 12 / total
    towed = [f"trailer-{n + 1}" for n in range(trailers)]
    volumes = {
        "supply": 0.2 * total,
        "primary": 0.8 * total * first,
        "secondary": 0.8 * total * (1 - first),
    }
    tanks = volumes | {unit: 8 * rated_m3(brakes, unit) for unit in towed}
    return TruckFacts(
        name=name,
        brakes=brakes,
        supply_m3=volumes["supply"],
        primary_m3=volumes["primary"],
        secondary_m3=volumes["secondary"],
        trailer_m3=tuple(tanks[unit] for unit in towed),
        compressor=compressor,
        leaks_m2=sound_leaks(tanks) | chamber_leaks(brakes),
    )


def axle(
    number: int, circuit: str, chamber: int, spring: bool, strokes: tuple[float, float]
) -> tuple[Brake, Brake]:
    """The two brakes of an axle, left and right."""
    left, right = strokes
    return (
        Brake(f"axle-{number}-left", circuit, chamber, spring, left),
        Brake(f"axle-{number}-right", circuit, chamber, spring, right),
    )


def straight_truck() -> TruckFacts:
    """Two axles, type 16 front and 30 rear: 270 in³ of chambers, 3240 in³ of reservoirs."""
    brakes = (
        *axle(1, "secondary", 16, False, (1.25, 1.25)),
        *axle(2, "primary", 30, True, (1.5, 1.625)),
    )
    return make("straight truck", brakes, Compressor(187e-6))


def bus() -> TruckFacts:
    """As the straight truck, with type 20 front brakes and a larger compressor."""
    brakes = (
        *axle(1, "secondary", 20, False, (1.375, 1.25)),
        *axle(2, "primary", 30, True, (1.5, 1.5)),
    )
    return replace(make("bus", brakes, Compressor(210e-6)), cut_in_psi=100.0)


def tractor(trailers: int) -> TruckFacts:
    """Three axles (464 in³, 5568 in³) with one or two tandem trailers of 2848 in³ each."""
    brakes = [
        *axle(1, "secondary", 20, False, (1.25, 1.375)),
        *axle(2, "primary", 30, True, (1.625, 1.5)),
        *axle(3, "primary", 30, True, (1.5, 1.75)),
    ]
    for unit in range(trailers):
        for number in (4 + 2 * unit, 5 + 2 * unit):
            brakes += axle(number, f"trailer-{unit + 1}", 30, True, (1.625, 1.625))
    return make(f"tractor with {trailers}", tuple(brakes), Compressor(300e-6), trailers)
