"""What the tables say, counted: all that the audit's conclusions are drawn from.

The edge fills this by SQL (see `devices/evidence`); everything here is small, whatever the
number of records.  Counts are of walks of one kind, by trusted keys only.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class WalkRef:
    """A walk that a conclusion rests on: `path` is its record's."""

    walk: int
    id: str
    path: str
    began_ms: int
    who: str
    vehicle: str


@dataclass(frozen=True, slots=True)
class Person:
    who: str
    walks: int
    first_ms: int
    last_ms: int
    usual_s: float  # the mean; -1 where no walk says how long it took
    unfinished: int  # walks that were stopped


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Of the walks of one person in which a step was due: how many went without it."""

    who: str
    step: str
    due: int
    left: int
    walks: tuple[int, ...]  # the latest of them


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A step that so many of one person's walks have in another place than the script."""

    who: str
    step: str
    how: str  # moved, repeated or put in
    times: int
    walks: tuple[int, ...]  # the latest of them


@dataclass(frozen=True, slots=True)
class Same:
    """One person's readings of one question on one vehicle, each held against the one before."""

    who: str
    vehicle: str
    question: str
    pairs: int
    equal: int
    first_ms: int
    last_ms: int
    value: float
    unit: str
    walk: int  # the latest


@dataclass(frozen=True, slots=True)
class Copies:
    """Of one person's walks on one vehicle: those with eight or more readings to compare, and
    those in which every one was that of an earlier walk."""

    who: str
    vehicle: str
    compared: int
    copied: int
    walks: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Copy:
    """A walk nearly all of whose readings are those of an earlier one."""

    walk: int
    earlier: int
    earlier_walks: int  # how many there were to copy from
    who: str
    vehicle: str
    equal: tuple[str, ...]
    other: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Digits:
    """End digits of one person's pressure readings in psi, each number counted once for a
    vehicle where it comes again and again; `fives` are those that end in 0 or 5."""

    who: str
    counts: tuple[int, ...]
    walk: int

    @property
    def fives(self) -> int:
        return self.counts[0] + self.counts[5]


@dataclass(frozen=True, slots=True)
class Series:
    """One measure of one vehicle by one rule, in the order of time; `limit` as worded."""

    vehicle: str
    step: str
    measure: str
    rule: str
    place: str
    unit: str
    limit: str
    days: Sequence[float]  # since the first
    values: Sequence[float]
    walks: Sequence[int]
    first_ms: int


@dataclass(frozen=True, slots=True)
class Recurring:
    """A finding that stands in so many walks of a vehicle one after the other."""

    vehicle: str
    step: str
    what: str
    walks: tuple[int, ...]
    times: int
    first_ms: int
    last_ms: int
    open: bool  # it stands in the vehicle's latest walk


@dataclass(frozen=True, slots=True)
class Note:
    """Something seen in one walk: its order or its times."""

    walk: int
    sort: str
    step: str
    says: str


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything of one kind of walk."""

    walks: int
    vehicles: tuple[str, ...]
    people: tuple[Person, ...]
    left_out: tuple[LeftOut, ...]
    elsewhere: tuple[Elsewhere, ...]
    same: tuple[Same, ...]
    copies: tuple[Copies, ...]
    copied: tuple[Copy, ...]
    copy_tests: int  # walks that had an earlier one to be a copy of
    digits: tuple[Digits, ...]
    series: tuple[Series, ...]
    recurring: tuple[Recurring, ...]
    notes: tuple[Note, ...]
    doubles: tuple[tuple[int, ...], ...]  # walks that share an id
    unplanned: int  # walks whose script was not found
    untimed: int  # walks whose journal was not read
