"""How to bring a vehicle into the state that a step needs: the fewest acts, in order.

A plain breadth-first search over the script's own acts; ties go to the act that
stands first in the script.  It knows only words: `chocks: in` means no more to it
than `kettle: boiled`.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Mapping, Sequence

from walkaround.procedure.model import Clause, Step

UNKNOWN = "unknown"
"""The value of a state variable that nobody vouches for."""

_MOST_ACTS = 12


def unmet(needs: Sequence[Clause], conditions: Mapping[str, str]) -> tuple[Clause, ...]:
    """The clauses that the conditions do not meet, in order."""
    return tuple(
        clause
        for clause in needs
        if not any(conditions.get(name, UNKNOWN) in values for name, values in clause.any_of)
    )


def after(step: Step, conditions: Mapping[str, str]) -> Mapping[str, str]:
    """The conditions that planning may count on once the step or act is done."""
    return {**conditions, **step.expects, **step.leaves}


def acts_before(
    step: Step,
    conditions: Mapping[str, str],
    acts: Sequence[Step],
    excluded: Collection[str] = (),
) -> tuple[str, ...] | None:
    """The acts that the step's needs ask for; where there are any, its wishes are met with them.

    A wish is advice: it never causes an act where the needs are met, and never makes a step
    unreachable.
    """
    least = acts_to_meet(step.needs, conditions, acts, excluded)
    if not least or not step.wishes:
        return least
    return acts_to_meet((*step.needs, *step.wishes), conditions, acts, excluded) or least


def acts_to_meet(
    needs: Sequence[Clause],
    conditions: Mapping[str, str],
    acts: Sequence[Step],
    excluded: Collection[str] = (),
) -> tuple[str, ...] | None:
    """Ids of the acts to do, in order; empty when nothing is missing; None when no way is known."""
    if not unmet(needs, conditions):
        return ()
    usable = [act for act in acts if act.id not in excluded]
    seen = {_key(conditions)}
    waiting: deque[tuple[Mapping[str, str], tuple[str, ...]]] = deque([(conditions, ())])
    while waiting:
        here, path = waiting.popleft()
        if len(path) == _MOST_ACTS:
            continue
        for act in usable:
            if unmet(act.needs, here):
                continue
            there = after(act, here)
            key = _key(there)
            if key in seen:
                continue
            if not unmet(needs, there):
                return (*path, act.id)
            seen.add(key)
            waiting.append((there, (*path, act.id)))
    return None


def _key(conditions: Mapping[str, str]) -> frozenset[tuple[str, str]]:
    return frozenset(conditions.items())
