"""What was said in a walk, in the order in which it was said, out of a record alone."""

from __future__ import annotations

from collections.abc import Iterable
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


def told_in(view: SummaryView) -> list[tuple[int, str, str, str]]:
    """(entry, step, ask, said) of every answer, those amended later too, in order of entry.

    Plain tuples with the fields of `Told`: an audit makes ten million of them.
    """
    told = [
        (seq, step.id, answer.ask, said)
        for step in view.steps
        for answer in step.answers
        for seq, said in answer.heard
    ]
    told.sort()  # the entry comes first in each
    return told


def reopened_in(view: SummaryView) -> tuple[int, ...]:
    """The journal entries at which later sittings began."""
    return tuple(sitting.seq for sitting in view.sittings[1:])


def timeline_of(
    told: Iterable[tuple[int, str, str, str]], reopened: tuple[int, ...] = ()
) -> Timeline:
    """What `told_in` gives, with names."""
    return Timeline(tuple(Told(*one) for one in told), reopened)
