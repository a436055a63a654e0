"""What a hand or foot can move on the vehicle. Plain values, so that a state is plain JSON."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from copy import copy
from dataclasses import asdict, dataclass, field, fields, replace
from typing import Any

_FIELDS: Mapping[str, tuple[str, ...]] = {
    "parking": ("parking_released",),
    "chocks": ("chocks_in",),
    "engine": ("engine_rpm",),
    "key": ("key_on",),
    "supply": ("supply_open",),
    "lines": ("supply_joined", "service_joined"),
    "drains": ("drains",),
}
STANDING = tuple(_FIELDS)
"""State variables that stay as they were put: their names in the scripts' table of states."""


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

    def standing_as(self, other: Controls, variables: Iterable[str]) -> Controls:
        """These, with what belongs to the named state variables as the other has it.

        An engine that runs in both keeps its speed.
        """
        taken = {name: copy(getattr(other, name)) for v in variables for name in _FIELDS[v]}
        if self.engine_rpm > 0 and taken.get("engine_rpm", 0.0) > 0:
            taken["engine_rpm"] = self.engine_rpm
        return replace(self, **taken)

    def to_state(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_state(cls, state: dict[str, Any]) -> Controls:
        known = {f.name for f in fields(cls)}
        return cls(**{name: value for name, value in state.items() if name in known})
