"""A reason to look: what was seen, in whose walks, on which records it rests. No accusation.

What was counted against chance carries the chance, adjusted for all tests of the audit.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from walkaround.audit.chances import holm

ALPHA = 0.01
"""Chance of even one false look among everything that was tested in an audit."""


class Topic(StrEnum):
    """In the order in which they are shown."""

    ORDER = "order"
    TIME = "time"
    LEFT_OUT = "left out"
    NUMBERS = "numbers"
    REPAIR = "not repaired"
    DRIFT = "drift"
    PAPERS = "papers"


@dataclass(frozen=True, slots=True)
class Look:
    """`sort` names the test; `who` or `vehicle` may be empty; `chance` is None for what is
    simply so."""

    topic: Topic
    sort: str
    says: str
    why: str
    walks: tuple[int, ...]
    who: str = ""
    vehicle: str = ""
    step: str = ""
    chance: float | None = None
    adjusted: float | None = None


@dataclass(frozen=True, slots=True)
class Tested:
    """Looks that chance may have made, and how many tests were made to find them."""

    looks: tuple[Look, ...]
    tests: int


def beyond_chance(tested: Iterable[Tested]) -> tuple[Look, ...]:
    """Those that remain after all tests of all sorts are counted together."""
    found = list(tested)
    looks = [look for one in found for look in one.looks]
    total = sum(one.tests for one in found)
    chances = [1.0 if look.chance is None else look.chance for look in looks]
    return tuple(
        replace(look, adjusted=adjusted)
        for look, adjusted in zip(looks, holm(chances, total), strict=True)
        if adjusted <= ALPHA
    )


def in_order(looks: Sequence[Look]) -> tuple[Look, ...]:
    """By topic; within one, what rests on most walks first."""
    topics = list(Topic)
    return tuple(sorted(looks, key=lambda look: (topics.index(look.topic), -len(look.walks))))
