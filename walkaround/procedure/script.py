"""An inspection script as it is written, before it is cut to one vehicle and one trip.

Everything carries the file and line it came from, so that the checker can point at it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from walkaround.errors import ScriptError
from walkaround.exchange import AskKind, Stake, Wording
from walkaround.procedure.model import Bands, Clause
from walkaround.quantity import Kind, Unit

Facts = Mapping[str, tuple[str, ...]]
"""What is known of the vehicle and the trip: fact -> its values ("places" -> ("CA-ON",))."""

PLACES = "places"
HALTS = ("pressure", "moving", "rising", "vehicle")
"""What a finding may make dangerous: each has its phrase, `halted.pressure`."""


GATES = ("findings",)
"""What may be said before a step that is not begun with findings: `halted.findings`."""


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a thing is written."""

    file: str
    line: int
    lines: Mapping[str, int] = field(default_factory=dict)  # key -> its line

    def error(self, problem: str, key: str = "") -> ScriptError:
        """An error that points here, or at the line of `key` when it is written here."""
        return ScriptError(problem, file=self.file, line=self.lines.get(key, self.line), key=key)


@dataclass(frozen=True, slots=True)
class When:
    """Holds when every fact of `all_of` has one of its values, and not every one of `unless`."""

    all_of: tuple[tuple[str, tuple[str, ...]], ...] = ()
    unless: tuple[tuple[str, tuple[str, ...]], ...] = ()

    def holds(self, facts: Facts) -> bool:
        return _all(self.all_of, facts) and not (self.unless and _all(self.unless, facts))


def _all(wanted: tuple[tuple[str, tuple[str, ...]], ...], facts: Facts) -> bool:
    return all(
        any(_fits(name, value, fact) for value in values for fact in facts.get(name, ()))
        for name, values in wanted
    )


def _fits(name: str, value: str, fact: str) -> bool:
    """A country stands for each of its provinces and states: `US` fits `US-CA`."""
    return fact == value or (name == PLACES and fact.startswith(value + "-"))


ALWAYS = When()


@dataclass(frozen=True, slots=True)
class Need:
    """A clause, and when it is asked for."""

    clause: Clause
    when: When
    spot: Spot


@dataclass(frozen=True, slots=True)
class AskCard:
    """One question as written. `calls` by gauge unit."""

    id: str
    kind: AskKind
    texts: Mapping[Wording, str]
    spot: Spot
    when: When = ALWAYS
    stake: Stake = Stake.ORDINARY
    quantity: Kind | None = None
    options: tuple[str, ...] = ()
    good: tuple[str, ...] = ()
    seconds: int = 0
    after: str = ""
    calls: Mapping[Unit, tuple[Decimal, ...]] = field(default_factory=dict)
    sets: str = ""
    each: str = ""
    halt: str = ""
    vouches: tuple[str, ...] = ()
    relayed: bool = False


@dataclass(frozen=True, slots=True)
class JudgeCard:
    """A measure and the asks it is made of; an input without a step means this step's."""

    measure: str
    inputs: tuple[tuple[str, str], ...]
    when: When
    spot: Spot
    rests_on: tuple[str, ...] = ()
    only: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Card:
    """A step or an act as written."""

    id: str
    title: str
    where: str
    asks: tuple[AskCard, ...]
    spot: Spot
    when: When = ALWAYS
    caution: str = ""
    explain: str = ""
    people: int = 1
    gate: str = ""
    needs: tuple[Need, ...] = ()
    wishes: tuple[Need, ...] = ()  # met on the way, where acts are done for the needs anyway
    leaves: Mapping[str, str] = field(default_factory=dict)
    judges: tuple[JudgeCard, ...] = ()
    seconds: tuple[int, int, int] = (0, 0, 0)  # shortest, usual, longest


@dataclass(frozen=True, slots=True)
class Place:
    """A card's place in the order, under the name it goes by there."""

    name: str
    card: Card
    spot: Spot
    when: When = ALWAYS

    def holds(self, facts: Facts) -> bool:
        """Whether the step is in the plan of such a vehicle and trip."""
        return self.when.holds(facts) and self.card.when.holds(facts)


@dataclass(frozen=True, slots=True)
class Say:
    """What a `{word}` in a text becomes: the first that holds."""

    choices: tuple[tuple[When, str], ...]


@dataclass(frozen=True, slots=True)
class Hazard:
    """What can hurt somebody: a step that does it must have a caution."""

    says: str
    needs: tuple[tuple[str, str], ...]  # the step allows for this state beforehand
    leaves: tuple[tuple[str, str], ...]  # the step leaves this
    where: str = ""  # the step is done there; empty: anywhere
    demands: tuple[tuple[str, str], ...] = ()  # the step must need each of these by itself


@dataclass(frozen=True, slots=True)
class States:
    """The state variables with their values, where a walk starts, and what is dangerous."""

    values: Mapping[str, tuple[str, ...]]
    start: Mapping[str, str]
    bands: Mapping[str, Bands]
    hazards: tuple[Hazard, ...]
    words: Mapping[str, Say]
    places: Sequence[str]  # where a step can be done: cab, left ...
    spot: Spot


@dataclass(frozen=True, slots=True)
class Script:
    """A whole inspection script."""

    name: str
    title: str
    vehicles: tuple[str, ...]
    order: tuple[Place, ...]
    acts: tuple[Card, ...]
    states: States
    spot: Spot
