"""A driver who hears a question, does what it takes, and answers when he has seen it.

Everything random is drawn from (seed, question, how often it was put in a row), so that a walk
that was broken off and taken up again draws the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from random import Random
from typing import Any

from walkaround.errors import UsageError
from walkaround.exchange import AskKind, Question
from walkaround.procedure.model import Asked, Plan
from walkaround.simulated import hands, saying
from walkaround.simulated.behaviour import row_for
from walkaround.simulated.hands import Spoken, Work
from walkaround.simulated.mouth import PAUSE
from walkaround.simulated.scene import Scene
from walkaround.simulated.truck import Truck

COMMANDS = "commands"
"""The question under which only commands are understood, as the engine names it."""

_GIVES_UP_AFTER = 8
_ALSO = {"yes": "affirmative", "no": "negative"}
_MUMBLES = ("uh well hold on a bit", "let me see here", "where did I put that")
_OTHERS = ("there is a van going by", "tell him I am busy", "it is cold out here today")
_HELD_ON = ("leak-listened",)
"""Steps at which the pedal stays down from the step before."""

_WAITS_MS = 6000


@dataclass(frozen=True, slots=True)
class Temperament:
    """How often, per question, a driver slips: shares from 0 to 1. Default: never."""

    mumbles: float = 0.0
    talks_aside: float = 0.0
    corrects_himself: float = 0.0
    asks_repeat: float = 0.0
    asks_explain: float = 0.0
    waits: float = 0.0
    falters: float = 0.0  # within a reading, for so long that its beginning is taken for all of it
    unable_at: tuple[str, ...] = ()  # steps he cannot do


EVEN = Temperament()
HUMAN = Temperament(0.02, 0.02, 0.05, 0.03, 0.03, 0.02)


class Driver:
    """Holds what the driver remembers; `open` starts on a question, `tick` goes on with it."""

    def __init__(self, plan: Plan, seed: int, temperament: Temperament = EVEN) -> None:
        self.seed, self.temperament = seed, temperament
        self.asks = {
            f"{step.id}.{asked.id}": asked
            for step in (*plan.acts, *plan.steps)
            for asked in step.asks
        }
        self._acts = {act.id for act in plan.acts}
        self._following = _following(plan)
        self.asked: dict[str, int] = {}  # how often the open question was put in a row
        self.noted: dict[str, list[float]] = {}
        self.called = ""  # the last number called out in a rise
        self.slipped: set[str] = set()  # questions at which he has slipped once
        self.missed: list[str] = []  # those that a tone told him were not understood
        self.told: dict[str, list[str]] = {}  # at most one: the question just answered
        self.to_correct: dict[str, list[str]] = {}  # at most one: question -> the right words
        self.step = ""
        self._work: Work | None = None

    def open(self, question: Question, truck: Truck) -> None:
        """A question is put. Raises UsageError for one that no row of the table covers."""
        if question.kind is AskKind.COMMAND:
            self._work = None if question.armed else self._go_on(question, truck)
            return
        self._enter(question.id.partition(".")[0], truck)
        number = self.asked.get(question.id, 0) + 1
        self.asked = {question.id: number}
        scene = Scene(
            truck,
            question,
            self.asks.get(question.id),
            self._dice(question.id, number),
            self.noted,
            truck.now_ms,
        )
        if question.id not in self.told:
            self.told.clear()
        self._work = self._deal_with(scene, number)

    def leave(self) -> None:
        """Stop whatever was going on: another question is being put."""
        self._work = None

    def tick(self) -> Spoken | None:
        """One step of the truck has passed."""
        return next(self._work, None) if self._work is not None else None

    def _dice(self, question: str, number: int) -> Random:
        return Random(f"{self.seed}|{question}|{number}")

    def _enter(self, step: str, truck: Truck) -> None:
        """A new step: off the pedal and the hand valve."""
        if step == self.step:
            return
        self.step = step
        if step not in _HELD_ON:
            truck.controls.pedal_psi = truck.controls.hand_valve_psi = 0.0

    def hear_unclear(self) -> None:
        """The tone that says that the number just called was not understood."""
        self.missed.append(self.called)

    def _go_on(self, question: Question, truck: Truck) -> Work:
        """The walk stands still and waits for a word."""
        dice = self._dice(question.id, 1)
        yield from hands.wait(_WAITS_MS)
        yield Spoken("continue", truck.now_ms + hands.reaction_ms(dice))

    def _deal_with(self, scene: Scene, number: int) -> Work:
        key = scene.question.id
        row = row_for(key)
        if row is None:
            raise UsageError(
                f"the simulated driver does not know what to do at '{key}'; add a row for it to "
                "walkaround/simulated/behaviour.py"
            )
        if row.tells == "called-out rise" and not scene.question.armed:
            # "Which number was it?" The tones have told him.
            yield from hands.wait(1000)
            yield Spoken(
                self.missed.pop(0) if self.missed else self.called,
                scene.truck.now_ms + hands.reaction_ms(scene.dice),
            )
            return
        if number > _GIVES_UP_AFTER and not scene.question.armed:
            # Nobody says the same word a ninth time: he says that it cannot be done.
            yield Spoken("unable", scene.truck.now_ms + hands.reaction_ms(scene.dice))
            return
        if key in self.to_correct:
            self.told[key] = self.to_correct.pop(key)
        if key in self.told:
            ways = self.told[key]
            yield Spoken(
                ways[(number - 1) % len(ways)], scene.truck.now_ms + hands.reaction_ms(scene.dice)
            )
            return
        slip = self._slip(scene) if number == 1 and key not in self.slipped else ""
        if slip:
            self.slipped.add(key)
            yield from hands.wait(1200)
            yield Spoken(slip, scene.truck.now_ms + hands.reaction_ms(scene.dice))
            return
        for spoken in hands.perform(scene, row):
            yield self._worded(scene, spoken) if spoken is not None else None

    def _worded(self, scene: Scene, spoken: Spoken) -> Spoken:
        """Now and then in another word, or wrongly, to be put right at the next question."""
        dice, words, key = scene.dice, spoken.words, scene.question.id
        if words == "no" and key.partition(".")[0] in self._acts:
            words = "unable"
            spoken = replace(spoken, once_more=(words,))
        elif words in _ALSO and dice.random() < 0.08:
            words = _ALSO[words]
        if scene.question.armed:
            self.called = words
        else:
            # Asked once more, people choose the longer word, as the help suggests.
            again = [_ALSO.get(once_more, once_more) for once_more in spoken.once_more]
            self.told[key] = [words, *again]
            if self._misreads(scene):
                self.to_correct[key] = self.told.pop(key)
                words = _misread(scene)
            words = self._faltering(scene, words)
        return Spoken(words, spoken.onset_ms)

    def _faltering(self, scene: Scene, words: str) -> str:
        """What follows the last "hundred" of a reading comes late; of a pair, the second's."""
        share = self.temperament.falters
        first, hundred, rest = words.rpartition(" hundred ")
        whole = scene.question.kind is AskKind.NUMBER or " secondary " in first
        if not (share and hundred and whole):
            return words
        return f"{first}{hundred}{PAUSE} {rest}" if scene.dice.random() < share else words

    def _misreads(self, scene: Scene) -> bool:
        """Only where the next question is one at which 'correction' can be said."""
        following = self._following.get(scene.question.id)
        fits = (
            scene.question.kind is AskKind.PAIR
            and len(scene.truck.facts.needles) == 2
            and following not in (None, AskKind.MARK, AskKind.RISE, AskKind.HOLD)
        )
        return fits and scene.dice.random() < self.temperament.corrects_himself

    def _slip(self, scene: Scene) -> str:
        """What is said instead of the answer this time; empty most of the time."""
        key, manner, dice = scene.question.id, self.temperament, scene.dice
        if self.to_correct:
            return "correction"
        if key.partition(".")[0] in manner.unable_at and not key.endswith(".caution"):
            return "unable"
        if scene.question.armed:
            return ""
        chances = (
            (manner.mumbles, dice.choice(_MUMBLES)),
            (manner.talks_aside, dice.choice(_OTHERS)),
            (manner.asks_repeat, "repeat"),
            (manner.asks_explain, "explain"),
            (manner.waits, "wait"),
        )
        drawn = dice.random()
        for share, words in chances:
            if drawn < share:
                return words
            drawn -= share
        return ""

    def to_state(self) -> dict[str, Any]:
        """What the driver remembers, as plain JSON values."""
        return {
            "asked": dict(self.asked),
            "noted": {name: list(needles) for name, needles in self.noted.items()},
            "told": dict(self.told),
            "called": self.called,
            "missed": list(self.missed),
            "slipped": sorted(self.slipped),
            "to_correct": dict(self.to_correct),
            "step": self.step,
        }

    def remember(self, state: Mapping[str, Any]) -> None:
        """Take over what `to_state` kept."""
        self.asked = {str(key): int(count) for key, count in state["asked"].items()}
        self.noted = {str(key): list(needles) for key, needles in state["noted"].items()}
        self.called = str(state["called"])
        self.missed = [str(words) for words in state["missed"]]
        self.slipped = {str(key) for key in state["slipped"]}
        self.told = {str(key): list(ways) for key, ways in state["told"].items()}
        self.to_correct = {str(key): list(ways) for key, ways in state["to_correct"].items()}
        self.step = str(state["step"])


def _following(plan: Plan) -> dict[str, AskKind]:
    """Question -> the kind of the one that comes next in the plan."""
    order: list[tuple[str, Asked]] = [
        (f"{step.id}.{asked.id}", asked) for step in plan.steps for asked in step.asks
    ]
    return {here[0]: there[1].kind for here, there in pairwise(order)}


def _misread(scene: Scene) -> str:
    """The needle read one large division too low."""
    truck = scene.truck
    step = truck.facts.dial_step * 5
    low = [max(step, truck.read(circuit) - step) for circuit in truck.facts.needles]
    said = [saying.reading(value, truck.facts.dial, scene.dice) for value in low]
    return f"primary {said[0]} secondary {said[1]}"
