"""What a vehicle may be like by what its driver told, kept apart from what the engine believes.

Each thing is a set of what it may be: an answer that was good makes it certain, a bad one or an
"unable" adds to what it may be, and a new sitting makes everything doubtful.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

SETS: Mapping[str, Mapping[str, str]] = {
    "level-and-park.pressure": {"engine": "off", "parking": "set", "key": "on"},
    "level-and-park.parked": {"key": "off", "supply": "closed"},
    "wheels-chocked.placed": {"chocks": "in"},
    "check-valve-hold.opened": {"drains": "open"},
    "tanks-drained.came-out": {"drains": "open"},
    "tanks-drained.closed": {"drains": "closed"},
    "key-on-lamps.warning": {"key": "on"},
    "engine-start.runs": {"engine": "running", "key": "on"},
    "park-released.stays": {"parking": "released"},
    "trailer-charged.stays": {"supply": "open"},
    "trailer-brakes-on-by-valve.applied": {"supply": "closed"},
    "service-coupling-closed.silent": {"lines": "parted"},
    "lines-rejoined.joined": {"lines": "joined"},
    "lines-rejoined-after-breakaway.joined": {"lines": "joined"},
    "lines-rejoined-after-service.joined": {"lines": "joined"},
    "supply-line-parted.braked": {"lines": "parted", "supply": "closed"},
    "service-line-parted.silent": {"lines": "parted"},
    "service-line-parted.reading": {"supply": "closed"},
    "supply-valve-closes.reading": {"supply": "closed"},
    "park-valve-closes.reading": {"parking": "set"},
    "springs-off-on-the-way-up.stays": {"parking": "released"},
    "build-up-time.rise": {"engine": "running", "key": "on"},
    "park-hold-power-unit.holds": {"holds": "yes"},
    "park-hold-trailer.holds": {"supply": "closed", "parking": "released", "trailer": "holds"},
    "park-hold-trailer.restored": {"parking": "set", "supply": "open"},
    "trailer-hand-valve-stop.grabs": {"parking": "released", "trailer": "holds"},
    "service-stop.straight": {"parking": "released"},
    "service-stop.parked": {"parking": "set"},
    "chocks-away.back": {"chocks": "out"},
    "stroke-pressure.done": {"engine": "off", "key": "on"},
    "stroke-pressure-lower.done": {"engine": "off", "key": "on"},
    "key-on.done": {"key": "on"},
    "stop-engine.done": {"engine": "off", "key": "on"},
    "key-out.done": {"engine": "off", "key": "off"},
    "start-engine.done": {"engine": "running", "key": "on"},
    "close-drains.done": {"drains": "closed"},
    "set-parking.done": {"parking": "set"},
    "place-chocks.done": {"chocks": "in"},
    "take-chocks-away.done": {"chocks": "out"},
    "release-parking.done": {"parking": "released"},
    "release-parking-low.done": {"parking": "released"},
    "open-supply.done": {"supply": "open"},
    "close-supply.done": {"supply": "closed"},
    "join-lines.done": {"lines": "joined"},
    "charge-trailer.done": {"supply": "open"},
    "pump-down.done": {"parking": "set", "supply": "closed"},
}
"""Question -> what the driver has done to the vehicle when he answers it well."""

MOVING = ("park-hold-power-unit", "park-hold-trailer", "trailer-hand-valve-stop", "service-stop")
_UNDER = ("close-drains", "check-valve-hold", "tanks-drained")
_AT_WHEELS = (
    *_UNDER, "wheel-brakes-look", "stroke-applied", "stroke-applied-lower", "leak-listened",
    "free-stroke-by-pull",
)  # fmt: skip
_BEHIND = ("trailer-brakes-seen-on", "trailer-brakes-on-by-valve", "flow-to-rear")
_APART = ("service-coupling-closed", "supply-line-parted", "service-line-parted")
_JOIN = (
    "lines-rejoined", "lines-rejoined-after-breakaway", "lines-rejoined-after-service",
    "join-lines",
)  # fmt: skip
_LETS_GO = (
    "park-released", "release-parking", "release-parking-low", "springs-off-on-the-way-up",
)  # fmt: skip
_SAFE: tuple[tuple[tuple[str, ...], Mapping[str, str]], ...] = (
    (("engine-start", "start-engine"), {"drains": "closed", "parking": "set"}),
    (_UNDER, {"engine": "off", "chocks": "in", "parking": "set"}),
    (_AT_WHEELS, {"engine": "off", "chocks": "in"}),
    (("compressor-look", "free-stroke-by-pull"), {"engine": "off", "key": "off"}),
    (("chocks-away", "take-chocks-away"), {"parking": "set"}),
    (MOVING, {"chocks": "out"}),
    (_LETS_GO, {"chocks": "in"}),
    (_APART, {"chocks": "in", "engine": "off"}),
    (("service-coupling-closed",), {"supply": "closed", "parking": "released"}),
    (_JOIN, {"supply": "closed", "engine": "off"}),
    (_BEHIND, {"chocks": "in", "engine": "off"}),
    (("place-chocks", "wheels-chocked"), {"parking": "set", "engine": "off"}),
    (("sum-up",), {"parking": "set"}),
)
"""Steps and acts -> what must be certain before they are asked for. Sources stand with the needs
of the cards; what has none there is common practice, no source."""


def _nothing_known() -> dict[str, set[str]]:
    return {
        "engine": {"running", "off"},
        "key": {"on", "off"},
        "chocks": {"out"},
        "parking": {"set", "released"},
        "drains": {"closed"},
        "supply": {"open", "closed"},
        "lines": {"joined"},
        "holds": {"untried"},
        "trailer": {"untried"},
    }


@dataclass
class Witness:
    """`may_be` of each thing: every value that it may have."""

    may_be: dict[str, set[str]] = field(default_factory=_nothing_known)

    def good(self, question: str) -> None:
        """What was asked for was done, and told so."""
        for name, value in SETS.get(question, {}).items():
            self.may_be[name] = {value}

    def perhaps(self, question: str) -> None:
        """It may have been done, or half of it."""
        for name, value in SETS.get(question, {}).items():
            self.may_be[name] |= {value}

    def gave_way(self, question: str) -> None:
        """A brake that was pulled against did not hold."""
        if question == "park-hold-power-unit.holds":
            self.may_be["holds"] = {"no"}
        if question in ("park-hold-trailer.holds", "trailer-hand-valve-stop.grabs"):
            self.may_be["trailer"] = {"no"}

    def away(self) -> None:
        """A night has passed: somebody else may have done anything."""
        for name, values in (
            ("engine", {"running", "off"}), ("key", {"on", "off"}), ("chocks", {"in", "out"}),
            ("parking", {"set", "released"}), ("supply", {"open", "closed"}),
            ("drains", {"open", "closed"}),
        ):  # fmt: skip
            self.may_be[name] = set(values)

    def dangers(self, step: str, question: str, where: str) -> list[str]:
        """What is not certain and would have to be, at this question."""
        found = [
            f"{step}: {name} may be {sorted(self.may_be[name])}"
            for steps, wanted in _SAFE
            if step in steps and question not in _PAST
            for name, value in wanted.items()
            if self.may_be[name] != {value}
        ]
        if step in ("trailer-hand-valve-stop", "service-stop") and question not in _PAST:
            gave_way = (name for name in ("holds", "trailer") if "no" in self.may_be[name])
            found += [f"{step}: {name} gave way" for name in gave_way]
        if self.may_be["parking"] != {"set"} and self.may_be["chocks"] != {"in"} and where != "cab":
            found.append(f"{step}: outside, and nothing holds it for certain")
        return found


_PAST = ("tanks-drained.closed", "service-stop.parked", "park-hold-trailer.restored")
"""Asked when the step's own work is done: drains to be closed, brakes to be set."""
