"""Was the vehicle in the state that each step needs? Judged by states, never by positions.

The script says what a step needs and what it leaves; the record says what was done and
read, in which order.  A step begun in a state known to be wrong is a fault: a hazard, or
a value that is worth nothing.  A state that nobody knows any more (a new sitting, a
refused act) is no fault: it is not shown, and not held against anybody.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import islice, takewhile

from walkaround.audit.reasons import Reason, reason_for
from walkaround.audit.timeline import CAUTION, UNABLE, Timeline, Told
from walkaround.exchange import AskKind
from walkaround.procedure.model import Asked, Bands, Clause, Plan, Step
from walkaround.procedure.restore import unmet
from walkaround.quantity import Quantity, quantity

UNSURE = "unsure"
"""Of a state that was known and that nobody vouches for any more."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A step begun in a wrong state: what it needs, what was so, and why that matters."""

    step: str
    seq: int
    needs: str
    was: str
    reason: Reason

    @property
    def says(self) -> str:
        return f"begun with {self.was}; it needs {self.needs}: {self.reason.because}"


def judge_order(plan: Plan, timeline: Timeline) -> tuple[Fault, ...]:
    """Every step begun in a wrong state, in the order of the walk."""
    replay = _Replay(plan)
    reopened = list(timeline.reopened)
    for at, one in enumerate(timeline.told):
        while reopened and one.seq > reopened[0]:
            reopened.pop(0)
            replay.reopen()
        replay.take(one, islice(timeline.told, at, None))
    return tuple(replay.faults)


@dataclass(slots=True)
class _Round:
    """One going through a step: the answers so far, and whether it was brought to an end."""

    answers: dict[str, str] = field(default_factory=dict)
    ended: bool = False


class _Replay:
    def __init__(self, plan: Plan) -> None:
        self.faults: list[Fault] = []
        self._plan = plan
        self._steps = {step.id: step for step in (*plan.steps, *plan.acts)}
        self._acts = {act.id for act in plan.acts}
        self._state: dict[str, str] = dict(plan.start)
        self._rounds: dict[str, _Round] = {}
        self._last = ""

    def reopen(self) -> None:
        """A new sitting: what an act could have changed meanwhile is no longer known."""
        for act in self._plan.acts:
            self._forget(act)
        for name, going in list(self._rounds.items()):
            if not going.ended:
                del self._rounds[name]
        self._last = ""

    def take(self, one: Told, ahead: Iterable[Told]) -> None:
        """One answer; `ahead` begins with it and goes on to the walk's end."""
        step = self._steps.get(one.step)
        if step is None:
            return
        if self._begins(step, one, ahead):
            self._rounds[step.id] = _Round()
            self._check(step, one.seq)
        going = self._rounds[step.id]
        again = going.ended
        self._last = step.id
        if one.said == UNABLE:
            going.ended = True
            self._forget(step)
            return
        going.answers[one.ask] = one.said
        self._read(step, one)
        if again:
            self._corrected(step, going)
        elif all(asked.id in going.answers for asked in step.asks):
            self._end(step, going)

    def _begins(self, step: Step, one: Told, ahead: Iterable[Told]) -> bool:
        """Whether this answer opens a new going through the step, and is no correction.

        A step without a caution is gone through again when all of its questions are answered
        on end.  One that has a single question cannot be told from a correction of its answer:
        it is taken for one.
        """
        going = self._rounds.get(step.id)
        if going is None:
            return True
        first = CAUTION if step.caution else step.asks[0].id if step.asks else one.ask
        if one.ask != first:
            return False
        if step.id in self._acts:
            return going.ended
        if self._last == step.id:
            return False
        if step.caution:
            return True
        on_end = {other.ask for other in takewhile(lambda other: other.step == step.id, ahead)}
        return len(step.asks) > 1 and {asked.id for asked in step.asks} <= on_end

    def _check(self, step: Step, seq: int) -> None:
        for clause in unmet(step.needs, self._state):
            if any(self._state.get(name) == UNSURE for name, _ in clause.any_of):
                continue
            was = ", ".join(
                f"{name} {self._state.get(name, 'unknown')}" for name, _ in clause.any_of
            )
            reason = reason_for(step, clause)
            self.faults.append(Fault(step.id, seq, told_clause(clause), was, reason))

    def _read(self, step: Step, one: Told) -> None:
        asked = next((asked for asked in step.asks if asked.id == one.ask and asked.sets), None)
        if asked is None:
            return
        self._state[asked.sets] = band_of(self._plan.bands.get(asked.sets), one.said) or UNSURE

    def _end(self, step: Step, going: _Round) -> None:
        good = all(is_good(asked, going.answers[asked.id]) for asked in step.asks)
        if not good and step.id in self._acts:
            return  # asked again until it is so
        going.ended = True
        if good:
            self._state.update(step.leaves)
        else:
            self._forget(step)

    def _corrected(self, step: Step, going: _Round) -> None:
        good = all(
            is_good(asked, going.answers[asked.id])
            for asked in step.asks
            if asked.id in going.answers
        )
        if not good:
            self._forget(step)

    def _forget(self, step: Step) -> None:
        for name in (*step.leaves, *step.expects):
            self._state[name] = UNSURE


def told_clause(clause: Clause) -> str:
    """ "chocks in, or parking set"."""
    return ", or ".join(f"{name} {' / '.join(values)}" for name, values in clause.any_of)


def is_good(asked: Asked, said: str) -> bool:
    """Whether the script calls this answer no finding; readings and times always are."""
    if asked.kind not in (AskKind.YES_NO, AskKind.CHOICE):
        return True
    return not asked.good or said in asked.good


def band_of(bands: Bands | None, said: str) -> str:
    """The name of the range that the lower reading of "124 psi, 119 psi" lies in; or empty."""
    if bands is None:
        return ""
    try:
        lower = min((quantity(part) for part in said.split(", ")), key=_size)
    except ValueError:
        return ""
    if lower.kind is not Quantity(lower.value, bands.unit).kind:
        return ""
    for limit, name in bands.below:
        if lower.base < Quantity(limit, bands.unit).base:
            return name
    return bands.above


def _size(value: Quantity) -> Fraction:
    return value.base


def steps_in_order(plan: Plan, walked: Sequence[str]) -> tuple[str, ...]:
    """The script's own steps among those walked, acts left out; each at its first time and
    again where it came back after another step."""
    own = {step.id for step in plan.steps}
    steps: list[str] = []
    for name in walked:
        if name in own and (not steps or steps[-1] != name):
            steps.append(name)
    return tuple(steps)


def shortest_seconds(plan: Plan) -> Mapping[str, int]:
    """Step or act -> the shortest that its card calls plausible; 0 where it does not say."""
    return {step.id: step.seconds[0] for step in (*plan.steps, *plan.acts)}
