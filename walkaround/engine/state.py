"""Where a walk is: one frozen value, replaced at every event."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from walkaround.exchange import Given, Point, Prompt, Verdict, Wording
from walkaround.procedure.model import Asked, Plan, Step, question_id
from walkaround.procedure.restore import UNKNOWN


class Phase(StrEnum):
    """What the walk is waiting for."""

    CLOSED = "closed"  # no sitting is open yet
    CAUTION = "caution"  # assent to a caution
    ASKING = "asking"  # an answer
    CALLING = "calling"  # the next called-out value of a rise
    ERRAND = "errand"  # the driver's return from where the headset does not reach
    HOLDING = "holding"  # the end of a timed hold
    JUDGING = "judging"  # verdicts on a finished step
    PAUSED = "paused"  # "continue"
    STOPPED = "stopped"  # "continue" or "finish"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class Visit:
    """A step being done: the asks still to be put, and whether its caution was assented to.

    Needs are looked at until the step is entered; from then on its own readings move the needle.
    """

    step: str
    asks: tuple[str, ...]
    cautioned: bool = False
    introduced: bool = False
    entered: bool = False
    told: tuple[str, ...] = ()  # asks that an errand was sent out with
    begun: bool = False  # an ask was put: the vehicle may be changed already
    gated: bool = False  # the driver decided to go on in spite of what was found
    correction: bool = False  # one earlier answer is being replaced; it keeps its first time


@dataclass(frozen=True, slots=True)
class State:
    """`conditions` is what is vouched for about the vehicle; `pending` is said before the next
    prompt; `order` lists spoken answers in the order given."""

    phase: Phase = Phase.CLOSED
    sitting: int = 0
    queue: tuple[Visit, ...] = ()
    conditions: Mapping[str, str] = field(default_factory=dict)
    given: Mapping[str, Given] = field(default_factory=dict)
    order: tuple[str, ...] = ()
    done: tuple[str, ...] = ()
    not_done: Mapping[str, str] = field(default_factory=dict)
    failed_acts: frozenset[str] = frozenset()
    verdicts: Mapping[str, tuple[Verdict, ...]] = field(default_factory=dict)
    to_judge: tuple[str, ...] = ()
    explained: str = ""  # the step whose verdicts were explained last
    repeats: Mapping[str, int] = field(default_factory=dict)  # measurements fixed, by step
    sets: Mapping[str, tuple[Mapping[str, Given], ...]] = field(default_factory=dict)
    doubted: frozenset[str] = frozenset()  # steps whose reading was asked for once more
    wording: Wording = Wording.FULL
    where: str = ""
    reach: tuple[str, ...] = ()  # places where the driver is heard; empty: everywhere
    misses: int = 0
    pending: tuple[Prompt, ...] = ()
    began_ms: int = 0
    points: tuple[Point, ...] = ()
    candidates_ms: tuple[int, ...] = ()
    deaf: bool = False  # the microphone is lost, and its return lets the walk go on
    settling_ms: int | None = None  # the onset whose number is being asked for


def fresh_visit(step: Step) -> Visit:
    """A visit that puts every ask of the step."""
    return Visit(step.id, tuple(asked.id for asked in step.asks))


def current_step(plan: Plan, state: State) -> Step:
    """The step or act at the head of the queue."""
    return plan.step(state.queue[0].step)


def current_ask(plan: Plan, state: State) -> Asked:
    """The ask being put."""
    wanted = state.queue[0].asks[0]
    return next(a for a in current_step(plan, state).asks if a.id == wanted)


def half_told(step: Step, visit: Visit) -> bool:
    """Whether some of the visit's asks were answered already."""
    return len(visit.asks) < len(step.asks)


def with_visit(state: State, visit: Visit) -> State:
    """The state with its current visit replaced."""
    return replace(state, queue=(visit, *state.queue[1:]))


def uncautioned(state: State) -> State:
    """Every caution counts only for what follows it at once: after standing still, say it again."""
    return replace(state, queue=tuple(replace(visit, cautioned=False) for visit in state.queue))


def restarted(plan: Plan, state: State) -> State:
    """The current step from its beginning; what its readings vouched for is no longer known.

    A timed measure that was broken off cannot be continued, and the needle has moved.
    """
    step = current_step(plan, state)
    visit = state.queue[0]
    if visit.correction:
        return state  # the one ask is put again
    read = {asked.sets: UNKNOWN for asked in step.asks if asked.sets}
    half_done = dict.fromkeys(_left_halfway(step), UNKNOWN) if visit.begun else {}
    started = any(question_id(step.id, asked.id) in state.given for asked in step.asks)
    return replace(
        with_visit(without_answers(state, step.id), fresh_visit(step)),
        conditions={
            **state.conditions,
            **(read if started or state.points else {}),
            **half_done,
        },
        points=(),
        candidates_ms=(),
        settling_ms=None,
        misses=0,
    )


def _left_halfway(step: Step) -> tuple[str, ...]:
    """What the step may have changed already, but for what it needs another way itself: that is
    supposed to be as it was, and the step brings it about again."""
    needed = {name for clause in step.needs for name, _ in clause.any_of}
    read = {asked.sets for asked in step.asks}
    return tuple(name for name in step.leaves if name not in needed | read)


def unvouched(step: Step) -> dict[str, str]:
    """What the step leaves or reads, as nobody knows whether it was done."""
    return dict.fromkeys((*step.leaves, *step.expects), UNKNOWN)


def put_first(state: State, visits: tuple[Visit, ...], behind: tuple[Visit, ...]) -> State:
    """These visits come next, with `behind` after them; their steps count as done no more."""
    names = {visit.step for visit in visits}
    done = tuple(step for step in state.done if step not in names)
    return replace(state, queue=(*visits, *behind), done=done)


def is_of(key: str, step: str) -> bool:
    """Whether the question of that id is the step's."""
    return key.rpartition(".")[0] == step


def without_answers(state: State, step: str) -> State:
    """None of the step's answers stands any more."""
    given = {key: value for key, value in state.given.items() if not is_of(key, step)}
    return replace(state, given=given, order=tuple(key for key in state.order if key in given))
