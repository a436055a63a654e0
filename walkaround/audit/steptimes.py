"""How long each step and each hold took, out of a journal. Read on demand: journals are long."""

from __future__ import annotations

from walkaround.audit.timing import Times
from walkaround.exchange import Heard, SittingOpened, TimeReached
from walkaround.procedure.model import Plan
from walkaround.records.journal import EntryKind, JournalReading

_HOLD = "hold:"  # a hold's timer is named after its question


def times_of(reading: JournalReading, plan: Plan | None) -> Times:
    """Times of the last going through of each step. Raises JournalError."""
    clock = _Clock(plan)
    for entry in reading.entries:
        if entry.kind in (EntryKind.EVENT, EntryKind.SITTING):
            clock.take(entry.event())
    return Times(clock.took_ms, clock.held_ms)


class _Clock:
    def __init__(self, plan: Plan | None) -> None:
        self.took_ms: dict[str, int] = {}
        self.held_ms: dict[str, int] = {}
        self._onsets: dict[str, int] = {}
        self._step, self._before_ms, self._last_ms = "", 0, 0
        self._after = {
            f"{step.id}.{asked.id}": f"{step.id}.{asked.after}"
            for step in (plan.steps if plan else ())
            for asked in step.asks
            if asked.after
        }

    def take(self, event: object) -> None:
        match event:
            case SittingOpened():
                self._step, self._before_ms, self._last_ms = "", 0, 0
                self._onsets.clear()
            case Heard(question=question, went_on=False) if "." in question:
                self._onsets[question] = event.occurred_ms
                self._reach(question.rpartition(".")[0], event.arrived_ms)
            case TimeReached(timer=timer) if timer.startswith(_HOLD):
                question = timer.removeprefix(_HOLD)
                self._reach(question.rpartition(".")[0], event.arrived_ms)
                began = self._onsets.get(self._after.get(question, ""))
                if began is not None:
                    self.held_ms[question] = event.occurred_ms - began
            case _:
                pass

    def _reach(self, step: str, at_ms: int) -> None:
        if step != self._step:
            self._step, self._before_ms = step, self._last_ms
        self._last_ms = at_ms
        self.took_ms[step] = at_ms - self._before_ms
