"""What a hand or foot can move on the vehicle. Plain values, so that a state is plain JSON."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field, fields
from typing import Any

DRAINS = ("supply", "primary", "secondary")


@dataclass(slots=True)
class Controls:
    """A vehicle as it was parked: engine off, brakes set, trailer supply closed."""

    key_on: bool = False
    engine_rpm: float = 0.0
    parking_released: bool = False
    supply_open: bool = False
    supply_held: bool = False  # a hand holds the red knob in while the line fills
    pedal_psi: float = 0.0  # the pressure the foot asks for; 200 is full travel
    hand_valve_psi: float = 0.0
    drains: list[str] = field(default_factory=list)  # reservoirs whose drain is open
    supply_joined: bool = True
    service_joined: bool = True
    rear_supply_open: bool = False  # shut-off valve at the back of the last trailer
    rear_service_open: bool = False
    accessory_open: bool = False
    chocks_in: bool = False
    place: str = "cab"

    def same_as(self, other: Controls) -> bool:
        """The same knobs, engine, key, drains, lines and chocks; feet and hands do not count."""

        def standing(controls: Controls) -> tuple[object, ...]:
            return (
                controls.key_on,
                controls.engine_rpm > 0,
                controls.parking_released,
                controls.supply_open,
                tuple(controls.drains),
                controls.supply_joined,
                controls.service_joined,
                controls.chocks_in,
            )

        return standing(self) == standing(other)

    def to_state(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_state(cls, state: dict[str, Any]) -> Controls:
        known = {f.name for f in fields(cls)}
        return cls(**{name: value for name, value in state.items() if name in known})
