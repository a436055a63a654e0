"""What a loaded inspection is: steps with needs and leaves, expanded for one vehicle and trip.

State variables and their values are the script's own words; nothing here knows
what they mean.  Readings carry their unit in `unit`; durations are whole seconds.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from walkaround.exchange import AskKind, Question, Stake, Wording
from walkaround.quantity import Kind, Unit

TIMED = (AskKind.HOLD, AskKind.MARK, AskKind.RISE)
"""What is timed cannot be said again afterwards: it is measured again."""
ARMED = (AskKind.MARK, AskKind.RISE)
"""Every onset of a voice may be the moment that counts."""


@dataclass(frozen=True, slots=True)
class Clause:
    """Met when any one of its variables has one of the values listed for it."""

    any_of: tuple[tuple[str, tuple[str, ...]], ...]  # (("chocks", ("in",)), ("parking", ("set",)))


@dataclass(frozen=True, slots=True)
class Asked:
    """One question of a step, in its three wordings."""

    id: str  # within the step: "settled"
    kind: AskKind
    texts: Mapping[Wording, str]
    stake: Stake = Stake.ORDINARY
    quantity: Kind | None = None
    unit: Unit | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    options: tuple[str, ...] = ()
    good: tuple[str, ...] = ()  # answers that are no finding ("yes", or options); empty: any
    seconds: int = 0  # of a hold; the most a rise or a mark may take
    after: str = ""  # a hold is counted from this answer's onset, of the same step
    calls: tuple[Decimal, ...] = ()  # a rise: values to call out, in `unit`; the last one ends it
    sets: str = ""  # the state variable that the answer bands ("pressure")
    halt: str = ""  # what a finding endangers: it stops the walk until the driver decides
    vouches: tuple[str, ...] = ()  # the states of the step's leaves that it alone vouches for
    relayed: bool = False  # somebody else reads it and calls it out to the driver
    of: str = ""  # what it is asked of, when asked once for each ("axle 2 left, type 30 clamp")


@dataclass(frozen=True, slots=True)
class JudgeSpec:
    """A measure and the answers it is made of: (("start", "leak-applied.settled"), ...)."""

    measure: str
    inputs: tuple[tuple[str, str], ...]
    rests_on: tuple[str, ...] = ()  # questions; unless each was a yes, a pass shows nothing
    only: tuple[str, ...] = ()  # places of the trip that it is judged for; empty: all


@dataclass(frozen=True, slots=True)
class Step:
    """A step, or an act that restores a need."""

    id: str
    title: str
    where: str
    asks: tuple[Asked, ...]
    caution: str = ""
    explain: str = ""
    people: int = 1
    needs: tuple[Clause, ...] = ()
    wishes: tuple[Clause, ...] = ()  # never a reason for an act by themselves
    leaves: Mapping[str, str] = field(default_factory=dict)
    judges: tuple[JudgeSpec, ...] = ()
    seconds: tuple[int, int] = (0, 0)  # shortest and longest plausible; (0, 0) = not said
    gate: str = ""  # with findings it is not begun before the driver decided: why not
    usual_s: int = 0  # what the work takes by itself, without the talking; for the report only
    expects: Mapping[str, str] = field(default_factory=dict)  # where readings should end; planning


@dataclass(frozen=True, slots=True)
class Bands:
    """Names for the ranges of a state variable that is read off a gauge."""

    unit: Unit
    below: tuple[tuple[Decimal, str], ...]  # ascending: (5, "empty"), (60, "warning zone") ...
    above: str


@dataclass(frozen=True, slots=True)
class Plan:
    """A script expanded for one vehicle and one trip: what the engine walks through."""

    script: str
    title: str
    start: Mapping[str, str]  # state variable -> value before the first step
    steps: tuple[Step, ...]
    acts: tuple[Step, ...]  # in order of preference
    bands: Mapping[str, Bands]

    def step(self, step_id: str) -> Step:
        """The step or act of that id. Raises KeyError."""
        for step in (*self.steps, *self.acts):
            if step.id == step_id:
                return step
        raise KeyError(step_id)


def question_id(step: str, ask: str) -> str:
    """How an ask is named in events, answers and judge inputs."""
    return f"{step}.{ask}"


def question_of(step: str, asked: Asked) -> Question:
    """The ask as the ear needs it."""
    return Question(
        id=question_id(step, asked.id),
        kind=asked.kind,
        stake=asked.stake,
        quantity=asked.quantity,
        unit=asked.unit,
        low=asked.low,
        high=asked.high,
        options=asked.options,
        armed=asked.kind in ARMED,
    )
