"""Evidence of several parts of a fleet put together, so that all tests are corrected at once.

A vehicle's walks must lie in one part; a person's may lie in many.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from itertools import chain
from typing import TypeVar

from walkaround.audit.evidence import Digits, Evidence, LeftOut, Person
from walkaround.errors import UsageError

_T = TypeVar("_T")
_MOST_NAMED = 5
_LATEST_POINTS = 12


def joined(parts: Sequence[Evidence]) -> Evidence:
    """One evidence of many. Raises UsageError when a vehicle's walks lie in two parts."""
    seen = Counter(vehicle for part in parts for vehicle in part.vehicles)
    twice = [vehicle for vehicle, times in seen.items() if times > 1]
    if twice:
        raise UsageError(
            f"the walks of '{twice[0][:80]}' lie in {seen[twice[0]]} parts; "
            "put each vehicle's records below one folder and split by folders"
        )
    return Evidence(
        walks=sum(part.walks for part in parts),
        vehicles=tuple(sorted(seen)),
        people=tuple(_people(part.people for part in parts)),
        left_out=tuple(_left_out(part.left_out for part in parts)),
        elsewhere=tuple(chain.from_iterable(part.elsewhere for part in parts)),
        same=tuple(chain.from_iterable(part.same for part in parts)),
        copies=tuple(chain.from_iterable(part.copies for part in parts)),
        copied=tuple(chain.from_iterable(part.copied for part in parts)),
        copy_tests=sum(part.copy_tests for part in parts),
        digits=tuple(_digits(part.digits for part in parts)),
        series=tuple(chain.from_iterable(part.series for part in parts)),
        recurring=tuple(chain.from_iterable(part.recurring for part in parts)),
        notes=tuple(chain.from_iterable(part.notes for part in parts)),
        doubles=tuple(chain.from_iterable(part.doubles for part in parts)),
        unplanned=sum(part.unplanned for part in parts),
        untimed=sum(part.untimed for part in parts),
    )


def _grouped(rows: Iterable[Iterable[_T]], key: Callable[[_T], Hashable]) -> Iterable[Sequence[_T]]:
    groups: dict[Hashable, list[_T]] = defaultdict(list)
    for row in chain.from_iterable(rows):
        groups[key(row)].append(row)
    return groups.values()


def _people(rows: Iterable[Iterable[Person]]) -> Iterable[Person]:
    for same in _grouped(rows, lambda row: row.who):
        timed = [row for row in same if row.usual_s >= 0]
        walks = sum(row.walks for row in timed)
        usual = sum(row.usual_s * row.walks for row in timed) / walks if walks else -1.0
        yield Person(
            same[0].who,
            sum(row.walks for row in same),
            min(row.first_ms for row in same),
            max(row.last_ms for row in same),
            usual,
            sum(row.unfinished for row in same),
        )


def _left_out(rows: Iterable[Iterable[LeftOut]]) -> Iterable[LeftOut]:
    for same in _grouped(rows, lambda row: (row.who, row.step)):
        walks = tuple(chain.from_iterable(row.walks for row in same))[:_MOST_NAMED]
        due, left = sum(row.due for row in same), sum(row.left for row in same)
        yield LeftOut(same[0].who, same[0].step, due, left, walks)


def _digits(rows: Iterable[Iterable[Digits]]) -> Iterable[Digits]:
    for same in _grouped(rows, lambda row: row.who):
        counts = tuple(sum(row.counts[digit] for row in same) for digit in range(10))
        yield Digits(same[0].who, counts, same[-1].walk)


def mentioned(evidence: Evidence) -> frozenset[int]:
    """Every walk that a conclusion from this evidence may rest on."""
    single = chain(
        (row.walk for row in evidence.same),
        (row.walk for row in evidence.digits),
        (row.walk for row in evidence.notes),
        (walk for row in evidence.copied for walk in (row.walk, row.earlier)),
    )
    several = chain(
        (row.walks for row in evidence.left_out),
        (row.walks for row in evidence.elsewhere),
        (row.walks for row in evidence.copies),
        (row.walks for row in evidence.recurring),
        (row.walks[-_LATEST_POINTS:] for row in evidence.series),
        evidence.doubles,
    )
    return frozenset(chain(single, chain.from_iterable(several)))
