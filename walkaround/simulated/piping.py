"""The vessels of a vehicle and the exchange factors between them, worked out once.

A factor (m³) times a pressure difference (Pa) is the air content that passes in one step of
50 ms.  The settling times are estimates that give a full application in about a quarter of
a second and joined tanks in about one; common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from walkaround.simulated.facts import TruckFacts, chambers_m3, rated_m3
from walkaround.simulated.flow import exchange_m3, vent_m3

STEP_S = 0.05
STEP_MS = 50

LINE_M3 = 2e-3  # a coupling line of about 30 m by 9 mm bore
DRYER_M3 = 2e-3
_LEAST_M3 = 1e-4  # a tee and its fittings, where a vehicle has no such vessel
DRAIN_M2 = 9e-6  # a 3.4 mm drain cock
HOSE_M2 = 66e-6  # an open coupling, with the valve and the line before it
REAR_VALVE_M2 = 4e-6  # a shut-off valve just cracked open
PURGE_M2 = 20e-6
SAFETY_M2 = 12e-6

_SETTLE_S: Mapping[str, float] = {
    "dryer": 0.08,
    "check": 0.5,
    "apply": 0.12,
    "release": 0.15,
    "springs": 0.35,
    "line": 0.05,
    "control": 0.05,
}


@dataclass(frozen=True, slots=True)
class Piping:
    """Volumes in m³ by vessel, and factors in m³ by what they join."""

    volumes: Mapping[str, float]
    factors: Mapping[str, float]
    trailers: tuple[str, ...]


def lay(facts: TruckFacts) -> Piping:
    """Vessels and factors of a vehicle."""
    trailers = tuple(f"trailer-{n + 1}" for n in range(facts.trailers))
    volumes = _volumes(facts, trailers)
    factors: dict[str, float] = {}

    def join(name: str, one: str, other: str, how: str) -> None:
        factors[name] = exchange_m3(volumes[one], volumes[other], _SETTLE_S[how], STEP_S)

    join("dryer>supply", "dryer", "supply", "dryer")
    for circuit in ("primary", "secondary"):
        join(f"supply>{circuit}", "supply", circuit, "check")
        join(f"{circuit}>springs", circuit, "springs", "springs")
        join(f"{circuit}>line", circuit, "supply-line", "line")
        join(f"{circuit}>control", circuit, "service-line", "control")
    for unit in trailers:
        join(f"line>{unit}", "supply-line", unit, "line")
        join(f"line>{unit}-springs", "supply-line", f"{unit}-springs", "line")
    for circuit in ("primary", "secondary", *trailers):
        join(f"{circuit}>chambers", circuit, f"{circuit}-chambers", "apply")
    for vessel in volumes:
        factors[f"{vessel}>open"] = vent_m3(volumes[vessel], _SETTLE_S["release"], STEP_S)
    factors["fill"] = -math.expm1(-STEP_S / _SETTLE_S["apply"])
    return Piping(volumes, factors, trailers)


def _volumes(facts: TruckFacts, trailers: tuple[str, ...]) -> dict[str, float]:
    springs = sum(b.rated_m3 for b in facts.brakes if b.spring and "trailer" not in b.circuit)
    volumes = {
        "dryer": DRYER_M3,
        "supply": facts.supply_m3,
        "primary": facts.primary_m3,
        "secondary": facts.secondary_m3,
        "primary-chambers": chambers_m3(facts.brakes, "primary"),
        "secondary-chambers": chambers_m3(facts.brakes, "secondary"),
        "springs": springs,
        "supply-line": LINE_M3,
        "service-line": LINE_M3,
    }
    for unit, size in zip(trailers, facts.trailer_m3, strict=True):
        volumes[unit] = size
        volumes[f"{unit}-chambers"] = chambers_m3(facts.brakes, unit)
        volumes[f"{unit}-springs"] = rated_m3(facts.brakes, unit)
    return {name: max(size, _LEAST_M3) for name, size in volumes.items()}
