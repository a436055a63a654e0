"""What was said in a walk, in the order in which it was said, out of a record alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from walkaround.records.view import SummaryView

CAUTION = "caution"
UNABLE = "unable"
"""How a record writes that the driver could not; the same text stands for any question."""


class Told(NamedTuple):
    """One answer given at one time; `ask` is empty where a step was refused as a whole."""

    seq: int
    step: str
    ask: str
    said: str


@dataclass(frozen=True, slots=True)
class Timeline:
    """`reopened` are the journal entries at which a later sitting began."""

    told: tuple[Told, ...]
    reopened: tuple[int, ...] = ()

    @property
    def walked(self) -> tuple[str, ...]:
        """Steps and acts in the order in which each was entered; one after itself counts once."""
        steps: list[str] = []
        for one in self.told:
            if not steps or steps[-1] != one.step:
                steps.append(one.step)
        return tuple(steps)


def timeline_of(view: SummaryView) -> Timeline:
    """Every answer, those amended later too, by its journal entry."""
    told = [
        Told(seq, step.id, answer.ask, said)
        for step in view.steps
        for answer in step.answers
        for seq, said in answer.heard
    ]
    told.sort()  # the entry comes first in each
    return Timeline(tuple(told), tuple(sitting.seq for sitting in view.sittings[1:]))
