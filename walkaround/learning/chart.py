"""Progress as a grid: steps against days, with how each was known and when it is due again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from walkaround.learning.drill import WORST_LAST, Mark
from walkaround.learning.memory import Key, Memory, Review
from walkaround.learning.progress import STEP, Progress
from walkaround.procedure.model import Plan

SYMBOLS: Mapping[Mark, str] = {
    Mark.RIGHT: "●",
    Mark.HELPED: "◐",
    Mark.WRONG: "○",
    Mark.FORGOTTEN: "✕",
}
"""A shape for each mark, so that no colour carries a meaning."""


@dataclass(frozen=True, slots=True)
class Row:
    """One step. `cells` has one entry for each day; `chance` is how likely it is still known,
    in percent; both it and `due` are None for a step never practised."""

    title: str
    cells: tuple[Mark | None, ...]
    due: date | None
    chance: int | None

    @property
    def practised(self) -> int:
        """On how many of the days."""
        return sum(cell is not None for cell in self.cells)


@dataclass(frozen=True, slots=True)
class Grid:
    """Steps of a plan against days of practice (UTC), at one place."""

    place: str
    days: tuple[date, ...]
    rows: tuple[Row, ...]

    def counts(self, day: int) -> Mapping[Mark, int]:
        """How many steps had each mark on a day."""
        cells = [row.cells[day] for row in self.rows]
        return {mark: cells.count(mark) for mark in Mark}


def grid(
    progress: Progress,
    plan: Plan,
    cards: Mapping[str, str],
    *,
    place: str,
    at: datetime,
    most_days: int,
) -> Grid:
    """The last `most_days` days with practice of this plan's steps at the place."""
    wanted = {f"{STEP}{cards[step.id]}" for step in plan.steps}
    reviews = [r for r in progress.reviews if r.key.place == place and r.key.item in wanted]
    days = tuple(sorted({review.at.date() for review in reviews})[-most_days:])
    memories = progress.memories()
    rows = []
    seen: set[str] = set()
    for step in plan.steps:
        item = f"{STEP}{cards[step.id]}"
        if item not in seen:
            seen.add(item)
            memory = memories.get(Key(item, place))
            mine = [review for review in reviews if review.key.item == item]
            rows.append(_row(step.title, _cells(mine, days), memory, at))
    return Grid(place, days, tuple(rows))


def _row(title: str, cells: tuple[Mark | None, ...], memory: Memory | None, at: datetime) -> Row:
    if memory is None:
        return Row(title, cells, None, None)
    return Row(title, cells, memory.due.date(), round(memory.chance(at) * 100))


def _cells(reviews: Sequence[Review], days: Sequence[date]) -> tuple[Mark | None, ...]:
    return tuple(_worst([r.mark for r in reviews if r.at.date() == day]) for day in days)


def _worst(marks: Sequence[Mark]) -> Mark | None:
    return max(marks, key=WORST_LAST.index) if marks else None
