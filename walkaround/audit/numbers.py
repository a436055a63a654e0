"""Do the numbers look like readings? Each test compares one person with everybody else.

Real readings repeat, and a sound governor cuts out at the same number every day.  So what
repeats is held against how often the same question repeats for others, not against a wish;
where there are too few others to compare with, nothing is said.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence

from walkaround.audit.chances import (
    all_alike,
    binomial_tail,
    even_digits,
    like_others,
    matches_tail,
)
from walkaround.audit.evidence import Copies, Copy, Digits, LeftOut, Same
from walkaround.audit.looks import Look, Tested, Topic
from walkaround.audit.wording import day, in_words, percent

FEWEST_OTHERS = 5
"""Other groups of walks without which nothing is compared."""
FEWEST_PAIRS = 9
FEWEST_DIGITS = 60
FEWEST_NUMBERS = 8
_RARE = 0.01
_TRIVIAL = 1e-4
"""Only chances under this are carried on; it is far over what would remain after correction."""


def left_out(rows: Sequence[LeftOut]) -> Tested:
    """Steps that one person goes without more often than the others do."""
    totals: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    for row in rows:
        totals[row.step][0] += row.due
        totals[row.step][1] += row.left
    looks = []
    for row in rows:
        due, left = totals[row.step][0] - row.due, totals[row.step][1] - row.left
        usual = max((left + 0.5) / (due + 1), _RARE)
        chance = binomial_tail(row.left, row.due, usual)
        if row.left and chance < _TRIVIAL:
            looks.append(
                Look(
                    Topic.LEFT_OUT,
                    "left-out",
                    f"not done in {row.left} of {row.due} walks",
                    f"others go without it in {left} of {due}; ask what keeps this one from it",
                    row.walks,
                    who=row.who,
                    step=row.step,
                    chance=chance,
                )
            )
    return Tested(tuple(looks), sum(row.left > 0 for row in rows))


# ---------------------------------------------------------------- always the same


class Usual:
    """How often a question's reading is that of the walk before, for the others."""

    def __init__(self, rows: Iterable[Same], without: Collection[str] = ()) -> None:
        """`without`: people whose repeats were explained already, and are no measure for others."""
        self._rates: dict[str, dict[tuple[str, str], float]] = defaultdict(dict)
        for row in rows:
            if row.pairs >= FEWEST_OTHERS and row.who not in without:
                rate = (row.equal + 0.5) / (row.pairs + 1)
                self._rates[row.question][row.who, row.vehicle] = rate

    def of(self, question: str, who: str) -> tuple[float, float] | None:
        """(mean, variance) over all groups that are not `who`'s; None when they are too few."""
        rates = [rate for (other, _), rate in self._rates[question].items() if other != who]
        if len(rates) < FEWEST_OTHERS:
            return None
        mean = sum(rates) / len(rates)
        return mean, sum((rate - mean) ** 2 for rate in rates) / (len(rates) - 1)


def constant(rows: Sequence[Same], usual: Usual) -> Tested:
    """A reading that never changes from walk to walk, where the same reading does for others."""
    looks, tests = [], 0
    for row in rows:
        if row.pairs < FEWEST_PAIRS:
            continue
        others = usual.of(row.question, row.who)
        if others is None:
            continue
        tests += 1
        if row.equal < row.pairs:
            continue
        chance = all_alike(row.pairs, *others)
        if chance < _TRIVIAL:
            looks.append(
                Look(
                    Topic.NUMBERS,
                    "constant",
                    f"{in_words(row.question.partition('.')[2])} is {row.value:g} {row.unit} "
                    f"in {row.pairs + 1} walks on end",
                    f"from {day(row.first_ms)} to {day(row.last_ms)} without a change; for others "
                    f"it is that of the walk before in {percent(others[0])} of the walks",
                    (row.walk,),
                    who=row.who,
                    vehicle=row.vehicle,
                    step=row.question.partition(".")[0],
                    chance=chance,
                )
            )
    return Tested(tuple(looks), tests)


def copied(rows: Sequence[Copy], tests: int, usual: Usual) -> Tested:
    """Walks nearly all of whose readings are those of an earlier day."""
    looks = []
    for row in rows:
        chances = [_as_high(usual.of(name, row.who)) for name in (*row.equal, *row.other)]
        known = [chance for chance in chances if chance is not None]
        if len(known) < FEWEST_NUMBERS:
            continue
        alike = len([n for n in row.equal if usual.of(n, row.who) is not None])
        chance = min(matches_tail(alike, known) * max(row.earlier_walks, 1), 1.0)
        if chance < _TRIVIAL:
            looks.append(
                Look(
                    Topic.NUMBERS,
                    "copied",
                    f"{len(row.equal)} of {len(row.equal) + len(row.other)} readings are those of "
                    "an earlier day",
                    "both records are named here; others' readings seldom agree so often",
                    (row.walk, row.earlier),
                    who=row.who,
                    vehicle=row.vehicle,
                    chance=chance,
                )
            )
    return Tested(tuple(looks), tests)


def _as_high(usual: tuple[float, float] | None) -> float | None:
    """A chance that errs on the side of seeing nothing: two spreads over the mean."""
    if usual is None:
        return None
    return min(usual[0] + 2 * math.sqrt(usual[1]), 0.999)


def copies(rows: Sequence[Copies]) -> Tested:
    """People whose walks are copies of earlier ones more often than the others' are."""
    by_person: dict[str, list[Copies]] = defaultdict(list)
    for row in rows:
        by_person[row.who].append(row)
    compared, alike = sum(r.compared for r in rows), sum(r.copied for r in rows)
    looks, tests = [], 0
    for who, mine in by_person.items():
        count, same = sum(r.compared for r in mine), sum(r.copied for r in mine)
        if len(rows) - len(mine) < FEWEST_OTHERS or not count:
            continue
        tests += 1
        usual = max((alike - same + 0.5) / (compared - count + 1), _RARE)
        chance = binomial_tail(same, count, usual)
        if same and chance < _TRIVIAL:
            looks.append(
                Look(
                    Topic.NUMBERS,
                    "copies",
                    f"every reading is that of an earlier day in {same} of {count} walks",
                    f"for others it is so in {alike - same} of {compared - count}",
                    tuple(walk for row in mine for walk in row.walks),
                    who=who,
                    chance=chance,
                )
            )
    return Tested(tuple(looks), tests)


# ---------------------------------------------------------------- end digits


def digits(rows: Sequence[Digits]) -> Tested:
    """Numbers rounded to fives more than others', and end digits unlike theirs."""
    looks: list[Look] = []
    tests = 0
    for row in rows:
        others = [sum(r.counts[d] for r in rows if r is not row) for d in range(10)]
        total, theirs = sum(row.counts), sum(others)
        if total >= FEWEST_NUMBERS:
            tests += 1
            usual = max(0.2, (others[0] + others[5]) / theirs if theirs else 0.2)
            chance = binomial_tail(row.fives, total, min(usual, 0.95))
            if chance < _TRIVIAL:
                looks.append(_fives(row, total, usual, chance))
        if total >= FEWEST_DIGITS:
            tests += 1
            _, chance = (
                like_others(row.counts, others) if theirs >= 100 else even_digits(row.counts)
            )
            if chance < _TRIVIAL:
                looks.append(_uneven(row, total, chance))
    return Tested(tuple(looks), tests)


def _fives(row: Digits, total: int, usual: float, chance: float) -> Look:
    return Look(
        Topic.NUMBERS,
        "fives",
        f"{row.fives} of {total} different pressures end in 0 or 5",
        f"{percent(usual)} would be usual here; the gauge may be hard to read more finely",
        (row.walk,),
        who=row.who,
        chance=chance,
    )


def _uneven(row: Digits, total: int, chance: float) -> Look:
    most = max(range(10), key=lambda digit: row.counts[digit])
    return Look(
        Topic.NUMBERS,
        "digits",
        f"{row.counts[most]} of {total} pressures end in {most}",
        "the end digits are not spread like those of others",
        (row.walk,),
        who=row.who,
        chance=chance,
    )
