"""What the driver has before him at one question: the truck, the prompt's numbers, his notes."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from random import Random

from walkaround.exchange import Question, Wording
from walkaround.procedure.model import Asked
from walkaround.simulated.saying import Again, Manner
from walkaround.simulated.truck import Truck

_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_PRESSURE = re.compile(r"(\d+(?:\.\d+)?) (?:psi|kPa|bar)")


@dataclass(slots=True)
class Scene:
    """One question being dealt with. `noted` outlives it: needles remembered by name."""

    truck: Truck
    question: Question
    asked: Asked | None
    dice: Random
    noted: dict[str, list[float]] = field(default_factory=dict)
    began_ms: int = 0  # the truck's own time when the question opened
    again: Again | None = None  # how it is said when it has to be said once more

    @property
    def manner(self) -> Manner:
        return self.again or self.dice

    @property
    def numbers(self) -> tuple[float, ...]:
        """The numbers that the full wording of the prompt names, in the dial's unit."""
        return tuple(float(found) for found in _NUMBER.findall(self._prompt))

    @property
    def pressure(self) -> float:
        """The first of them that is a pressure; 100 when the prompt names none."""
        found = _PRESSURE.search(self._prompt)
        return float(found.group(1)) if found else 100.0

    @property
    def _prompt(self) -> str:
        return self.asked.texts.get(Wording.FULL, "") if self.asked is not None else ""

    @property
    def calls(self) -> tuple[Decimal, ...]:
        return self.asked.calls if self.asked is not None else ()

    def needles(self) -> list[float]:
        """True positions of the needles, in psi."""
        return [self.truck.needle_psi(circuit) for circuit in self.truck.facts.needles]


_WELL_INSIDE = 0.99  # of the window's top: nobody stops on its edge

Sight = Callable[[Scene], bool]


def _inside_the_window(scene: Scene) -> bool:
    truck = scene.truck
    shown = [truck.read(circuit) for circuit in truck.facts.needles]
    return float(max(shown)) <= scene.pressure * _WELL_INSIDE


def _sounds(name: str) -> Sight:
    return lambda scene: scene.truck.heard_since(name, scene.began_ms)


SIGHTS: Mapping[str, Sight] = {
    "warning lit": lambda scene: scene.truck.warning_lit,
    "warning off": lambda scene: not scene.truck.warning_lit,
    "unloaded": lambda scene: not scene.truck.loaded,
    "at the top": lambda scene: (
        not scene.truck.loaded or scene.truck.heard_since("safety valve", scene.began_ms)
    ),
    "loading": lambda scene: scene.truck.loaded,
    "supply empty": lambda scene: scene.truck.true_psi("supply") < 1.0,
    "all empty": lambda scene: (
        max(scene.truck.true_psi(tank) for tank in ("supply", "primary", "secondary")) < 1.0
    ),
    "supply line filled": lambda scene: scene.truck.true_psi("supply-line") > 55.0,
    "red out": lambda scene: not scene.truck.controls.supply_open,
    "yellow out": lambda scene: not scene.truck.controls.parking_released,
    "over the number": lambda scene: scene.truck.lower_needle() > scene.pressure,
    "under the number": lambda scene: scene.truck.lower_needle() < scene.pressure,
    "inside the window": _inside_the_window,
    "at the window's foot": lambda scene: (
        scene.truck.lower_needle() >= min(scene.numbers[:2], default=90.0)
    ),
    "purge": _sounds("purge"),
}
"""What can be waited for, by name."""
