"""When something is due for practice again: the method of the `fsrs` library, no clock of ours.

One card for each step (or rule, or part) and place.  Intervals are the library's own, with
its usual parameters and without its random spread, so that the same practice gives the
same dates.  What is handed in is the time of each practice, in UTC.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from fsrs import Card, Rating, Scheduler

from walkaround.learning.drill import Mark

RATINGS: Mapping[Mark, Rating] = {
    Mark.RIGHT: Rating.Good,
    Mark.HELPED: Rating.Hard,
    Mark.WRONG: Rating.Again,
    Mark.FORGOTTEN: Rating.Again,
}
"""How a mark counts. `Easy` is not used: nothing that we hear tells easy from good."""


@dataclass(frozen=True, slots=True, order=True)
class Key:
    """What is remembered: `step:leak-applied`, `rule:ca-on.build-up`, `part:governor`; where."""

    item: str
    place: str


@dataclass(frozen=True, slots=True)
class Review:
    """One practice of one thing."""

    key: Key
    at: datetime  # UTC
    mark: Mark


@dataclass(frozen=True, slots=True)
class Memory:
    """What is kept of one thing: when it is due, and how it was known, practice by practice."""

    key: Key
    due: datetime
    reviews: tuple[Review, ...]
    card: Card

    @property
    def last(self) -> Review:
        return self.reviews[-1]

    def chance(self, at: datetime) -> float:
        """How likely it is still known, 0 to 1, as the library estimates it."""
        return float(_scheduler().get_card_retrievability(self.card, at))


def remember(reviews: Iterable[Review]) -> Mapping[Key, Memory]:
    """The memory after these practices, in the order of their time."""
    scheduler = _scheduler()
    found: dict[Key, Memory] = {}
    for review in sorted(reviews, key=lambda each: (each.at, each.key)):
        before = found.get(review.key)
        card = before.card if before else Card(card_id=1, due=review.at)
        card, _ = scheduler.review_card(card, RATINGS[review.mark], review.at)
        earlier = before.reviews if before else ()
        found[review.key] = Memory(review.key, card.due, (*earlier, review), card)
    return found


def due(memories: Mapping[Key, Memory], at: datetime) -> tuple[Memory, ...]:
    """What is due now, what is least likely to be known first."""
    ripe = [memory for memory in memories.values() if memory.due <= at]
    return tuple(sorted(ripe, key=lambda memory: (memory.chance(at), memory.key)))


def _scheduler() -> Scheduler:
    return Scheduler(enable_fuzzing=False)
