"""What a plan costs: changes of place and time, worked out before anybody walks.

The talking is counted, the work is what the cards call usual.  Speech at 2.6 words a
second is what espeak-ng does at 160 words a minute; the other figures were set so that the
whole comes within a tenth of simulated walks by truck, tractor and bus: estimates.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from walkaround.exchange import AskKind, Wording
from walkaround.procedure.check import walk_on_paper
from walkaround.procedure.model import Plan, Step

_WORDS_PER_S = 2.6
_ANSWER_S = 4  # to think, to say it, to be understood
_WALK_S = 8  # from one place at the vehicle to the next
_EACH_S = 5  # from one brake to the next, tape in hand
_ASSENT_WORDS = 2  # "caution" before it and the yes after it
_READ_BACK_WORDS = {AskKind.PAIR: 12, AskKind.NUMBER: 6, AskKind.COUNT: 4}


@dataclass(frozen=True, slots=True)
class PlanReport:
    """`trips` counts changes of place; times are whole seconds, acts included in the expected."""

    script: str
    steps: int
    questions: int
    cautions: int
    trips: int
    shortest_s: int
    expected_s: int
    longest_s: int
    acts: tuple[tuple[str, tuple[str, ...]], ...]  # step -> the acts expected before it

    def lines(self) -> tuple[str, ...]:
        """The report as it is printed."""
        acts = sum(len(names) for _, names in self.acts)
        return (
            f"{self.script}: {self.steps} steps, {self.questions} questions, "
            f"{self.cautions} cautions, {acts} acts to restore a need",
            f"  trips (changes of place): {self.trips}",
            f"  expected time, short wording: {self.expected_s // 60} min {self.expected_s % 60} s"
            f" (plausible {self.shortest_s // 60} to {self.longest_s // 60} min)",
        )


def report(plan: Plan, wording: Wording = Wording.SHORT) -> PlanReport:
    """Trips and times of a plan, with the acts that are to be expected."""
    walked = walk_on_paper(plan)
    visits = [
        visit for step, acts in walked for visit in (*(plan.step(act) for act in acts or ()), step)
    ]
    trips = _trips([visit.where for visit in visits])
    talk_s = sum(_talk_s(visit, wording) for visit in visits)
    each = sum(1 for visit in visits for asked in visit.asks if asked.of)
    work_s = sum(visit.usual_s for visit in visits) + each * _EACH_S
    return PlanReport(
        script=plan.script,
        steps=len(plan.steps),
        questions=sum(len(_questions(visit)) for visit in visits),
        cautions=sum(1 for visit in visits if visit.caution),
        trips=trips,
        shortest_s=sum(step.seconds[0] for step in visits),
        expected_s=round(talk_s + work_s + trips * _WALK_S),
        longest_s=sum(step.seconds[1] for step in visits),
        acts=tuple((step.id, acts) for step, acts in walked if acts),
    )


def _trips(places: Sequence[str]) -> int:
    return sum(1 for here, there in pairwise(places) if here != there)


def _questions(step: Step) -> list[str]:
    return [asked.id for asked in step.asks if asked.kind is not AskKind.HOLD]


def _talk_s(step: Step, wording: Wording) -> float:
    texts = [asked.texts[wording] for asked in step.asks if asked.texts]
    words = sum(len(text.split()) for text in texts)
    words += sum(_READ_BACK_WORDS.get(asked.kind, 0) for asked in step.asks)
    answers = len(texts)
    if step.caution:
        words += len(step.caution.split()) + _ASSENT_WORDS
        answers += 1
    return words / _WORDS_PER_S + answers * _ANSWER_S
