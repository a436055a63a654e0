"""What a drill is: its stages, its state, and what it asks the outside to do. All frozen.

Effects are done in order; after `Do` the outside comes back with what the truck showed.
Nothing here knows a truck, a voice or a clock.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from walkaround.learning.book import RecallBook, Why
from walkaround.learning.course import Course, begin, card_of
from walkaround.learning.match import Matcher, fault_matcher, matcher_for
from walkaround.learning.reasons import Reasons
from walkaround.learning.says import Says
from walkaround.procedure.model import Plan, Step
from walkaround.quantity import Unit


class Stage(StrEnum):
    """How much the learner is helped; each is harder than the one before."""

    TOLD = "told"
    ASKED = "asked"
    RECALLED = "recalled"
    EXAMINED = "examined"


class Mark(StrEnum):
    """How a step was known, from best to worst."""

    RIGHT = "right at once"
    HELPED = "with help"
    WRONG = "corrected"
    FORGOTTEN = "forgotten"


WORST_LAST = tuple(Mark)


class Ask(StrEnum):
    """What kind of answer is listened for."""

    NEXT = "next"  # a step in free words, or a short answer
    LOOK = "look"  # is that as it should be?
    GO_ON = "go on"
    FAULT = "fault"  # the truck's fault in free words
    NOTHING = "nothing"  # it is over


# ---------------------------------------------------------------- effects


@dataclass(frozen=True, slots=True)
class Tell:
    """Say a sentence, as it is."""

    text: str


@dataclass(frozen=True, slots=True)
class Do:
    """Have the truck's hands do this step or act; come back with `Shown`."""

    name: str


@dataclass(frozen=True, slots=True)
class Listen:
    ask: Ask


@dataclass(frozen=True, slots=True)
class Note:
    """For the record: what was said to a question of a step, and what became of it."""

    step: str
    ask: str  # recall, look, fault, help, explain
    option: str
    words: str


@dataclass(frozen=True, slots=True)
class End:
    complete: bool


Effect = Tell | Do | Listen | Note | End


@dataclass(frozen=True, slots=True)
class Shown:
    """What came of a `Do`. `lines` are what an eye and an ear would have; `finding` says what
    is not as it should be, and `sound` why it is; `read` are states that readings showed;
    `worked`: every answer was a good one."""

    name: str
    worked: bool
    lines: tuple[str, ...] = ()
    finding: str = ""
    sound: str = ""
    to_judge: bool = False  # something was measured or looked at, so it can be asked about
    read: Mapping[str, str] = field(default_factory=dict)


# ---------------------------------------------------------------- state


@dataclass(frozen=True, slots=True)
class Kit:
    """Everything that stays the same through a drill. `faults` are the truck's own names;
    `only` are the cards to be asked for (None: all); `most` steps, then the drill ends."""

    plan: Plan
    book: RecallBook
    says: Says
    reasons: Reasons
    steps: Matcher
    fault_names: Matcher
    stage: Stage
    vehicle: str
    faults: tuple[str, ...] = ()
    only: frozenset[str] | None = None
    most: int | None = None

    def card(self, name: str) -> str:
        return card_of(name, self.book.why)

    def why(self, step: Step) -> Why | None:
        return self.book.why.get(self.card(step.id))

    def title(self, name: str) -> str:
        return self.plan.step(name).title

    def say(self, key: str, **values: str) -> Tell:
        return Tell(self.says.text(key, **values))


def kit_for(
    plan: Plan,
    book: RecallBook,
    says: Says,
    *,
    gauge: Unit,
    stage: Stage,
    vehicle: str,
    faults: Collection[str] = (),
    only: frozenset[str] | None = None,
    most: int | None = None,
) -> Kit:
    """The kit of a drill; `gauge` is the unit that limits of pressure are told in."""
    return Kit(
        plan=plan,
        book=book,
        says=says,
        reasons=Reasons(book, plan, gauge),
        steps=matcher_for(book, plan),
        fault_names=fault_matcher(book),
        stage=stage,
        vehicle=vehicle,
        faults=tuple(faults),
        only=only,
        most=most,
    )


@dataclass(frozen=True, slots=True)
class Drill:
    """Where a drill is. `to_do` waits for the truck's hands; `marks` by step id, the worst so
    far; `findings` are steps with something wrong, `called` those that the learner named."""

    course: Course
    ask: Ask = Ask.NOTHING
    to_do: tuple[str, ...] = ()
    after: tuple[Effect, ...] = ()  # said once everything in `to_do` is done
    hints: int = 0
    doubt: str = ""  # an answer that may have been misunderstood, until it is confirmed
    turn: int = 0
    marks: Mapping[str, Mark] = field(default_factory=dict)
    findings: Mapping[str, str] = field(default_factory=dict)
    called: frozenset[str] = frozenset()
    latest: Shown | None = None
    slips: tuple[tuple[str, str], ...] = ()
    fault_tries: int = 0
    fault_said: str = ""
    ended: bool = False

    def marked(self, step: str, mark: Mark) -> Drill:
        """With the worse of this mark and the one before."""
        before = self.marks.get(step, Mark.RIGHT)
        worst = max(before, mark, key=WORST_LAST.index)
        return replace(self, marks={**self.marks, step: worst})


Move = tuple[Drill, tuple[Effect, ...]]


def new_drill(kit: Kit) -> Drill:
    """Before anything is said."""
    return Drill(begin(kit.plan, kit.book.why))
