"""Where a drill stands: what is true of the truck, what is done, and what is left.

An order is judged by states and needs and never by positions: whatever has its needs met is
right, wherever the script has it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from walkaround.procedure.model import Clause, Plan, Step
from walkaround.procedure.restore import UNKNOWN, acts_before, acts_to_meet, after, unmet

LAST = "sum-up"
"""The step that ends the check: named while others are left, it is only too early."""


@dataclass(frozen=True, slots=True)
class Course:
    """`cards` are the names of step cards, which a plan may use under other names; `failed` are
    acts that could not be done with this truck."""

    plan: Plan
    conditions: Mapping[str, str]
    cards: frozenset[str] = frozenset()
    done: tuple[str, ...] = ()
    failed: frozenset[str] = frozenset()

    def step(self, name: str) -> Step:
        return self.plan.step(name)

    def is_act(self, name: str) -> bool:
        return any(act.id == name for act in self.plan.acts)

    def card(self, name: str) -> str:
        """The card behind a step's name in the plan."""
        return card_of(name, self.cards)

    def left(self) -> tuple[Step, ...]:
        """Steps not done yet, in the script's order."""
        return tuple(step for step in self.plan.steps if step.id not in self.done)

    def due(self) -> Step | None:
        """The script's next step that can still be reached."""
        return next((step for step in self.left() if self.acts_for(step) is not None), None)

    def acts_for(self, step: Step) -> tuple[str, ...] | None:
        """The acts that the step's needs ask for; None when nothing leads there."""
        return acts_before(step, self.conditions, self.plan.acts, self.failed)

    def missing(self, step: Step) -> tuple[Clause, ...]:
        return unmet(step.needs, self.conditions)

    def acts_to(self, states: Collection[str]) -> tuple[str, ...] | None:
        """The acts that bring about states such as `engine: off`; None when nothing does."""
        wanted = tuple(_clause(state) for state in states)
        return acts_to_meet(wanted, self.conditions, self.plan.acts, self.failed)

    def is_true(self, state: str) -> bool:
        return not unmet((_clause(state),), self.conditions)


def begin(plan: Plan, cards: Collection[str]) -> Course:
    """Nothing is known of the vehicle yet, so the worst is supposed."""
    return Course(plan, dict(plan.start), frozenset(cards))


def done(
    course: Course, name: str, read: Mapping[str, str] | None = None, good: bool = True
) -> Course:
    """The step or act was done.

    On paper (`read` is None) it leaves what the script expects.  With a truck, `read` are the
    states that its readings showed; where an answer was not the good one, what the step would
    leave is not vouched for (as in a real walk).
    """
    step = course.step(name)
    if read is None:
        conditions = {**course.conditions, **after(step, course.conditions)}
    else:
        left = step.leaves if good else dict.fromkeys(step.leaves, UNKNOWN)
        open_ends = dict.fromkeys(step.expects, UNKNOWN)
        conditions = {**course.conditions, **open_ends, **left, **read}
    finished = course.done if course.is_act(name) else (*course.done, name)
    return replace(course, conditions=conditions, done=tuple(dict.fromkeys(finished)))


def failed(course: Course, act: str) -> Course:
    """The act could not be done: it leads nowhere any more."""
    return replace(course, failed=course.failed | {act})


def _clause(state: str) -> Clause:
    variable, _, value = state.partition(": ")
    return Clause(((variable, (value,)),))


def card_of(name: str, cards: Collection[str]) -> str:
    """The card behind a name in the order: `lines-rejoined-after-service` is `lines-rejoined`."""
    if name in cards:
        return name
    fitting = [card for card in cards if name.startswith(f"{card}-")]
    return max(fitting, key=len, default=name)
