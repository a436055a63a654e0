"""Whole drills told in text: a learner who says what a list says, everything else in earnest.

`python -m tests.learning.drills` writes the golden dialogues anew; read the difference
before you commit it.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from tests.learning.recall_books import book, says
from tests.walks.stories import Lines, library
from walkaround.cli.drill_room import Room
from walkaround.cli.drill_talks import DrillTalk
from walkaround.cli.material import Material, files_from_library, judge_of, load
from walkaround.exchange import Given, Prompt, Question, SittingOpened, ToneKind, Wording
from walkaround.learning.drill import Drill, Kit, Stage, kit_for
from walkaround.learning.outline import drill_outline
from walkaround.learning.showing import Showing, Told, showing
from walkaround.procedure.check import walk_on_paper
from walkaround.records.journal import Ended, open_journal
from walkaround.records.keys import SigningKey
from walkaround.records.opening import Opening
from walkaround.records.signature import WalkKind
from walkaround.simulated.desk import Desk
from walkaround.simulated.faults import with_faults
from walkaround.simulated.vehicle import facts_of
from walkaround.speech.ports import Arrival, Closed, Transcript, Word
from walkaround.walk import Keeper

GOLDEN = Path(__file__).parent / "golden"
WALL = "2026-01-31T08:00:00.000Z"
_A_MOMENT_MS = 3000


@dataclass(frozen=True)
class Practice:
    """One drill, by what it is made of; `says` are the learner's answers in order."""

    stage: Stage
    says: tuple[str, ...] = ()
    script: str = "straight-truck"
    vehicle: str = "demo-truck"
    places: tuple[str, ...] = ("CA-ON",)
    faults: tuple[str, ...] = ()
    only: frozenset[str] | None = None
    most: int | None = None


class Learner:
    """A stage on which a learner types; each answer takes three seconds."""

    def __init__(self, answers: Sequence[str]) -> None:
        self._answers: Iterator[str] = iter(answers)
        self._now_ms = 0
        self._question = ""
        self.lines: list[str] = []

    def now_ms(self) -> int:
        return self._now_ms

    def say(self, prompts: Sequence[Prompt], sentences: Sequence[str]) -> None:
        del prompts
        self.lines += [f"  {sentence}" for sentence in sentences]

    def tone(self, kind: ToneKind) -> None:
        self.lines.append(f"~ {kind}")

    def hush(self) -> None:
        raise AssertionError("nothing typed goes on after it was taken")

    def listen(
        self, question: Question, grammar: Sequence[str], quiet_after_ms: int | None
    ) -> None:
        del grammar, quiet_after_ms
        self._question = question.id

    def wake_at(self, at_ms: int, timer: str) -> None:
        raise AssertionError(f"a drill sets no timer, and {timer} was set to {at_ms}")

    def cancel_wake(self, timer: str) -> None:
        raise AssertionError(f"a drill sets no timer, and {timer} was cancelled")

    def next(self) -> Arrival:
        self._now_ms += _A_MOMENT_MS
        said = next(self._answers, None)
        if said is None:
            return Closed(self._now_ms)
        self.lines.append(f"> {said}")
        words = tuple(Word(word, self._now_ms, self._now_ms, 1.0) for word in said.split())
        return Transcript(
            self._question, words, (), None, self._now_ms, self._now_ms, self._now_ms, typed=True
        )

    def close(self) -> None:
        pass


@dataclass
class Drilled:
    """A drill that has been gone through."""

    material: Material
    kit: Kit
    drill: Drill
    lines: list[str]
    journal: bytes
    ended: Ended = field(default=Ended.STOPPED)


def material_of(practice: Practice) -> Material:
    return _material(practice.script, practice.vehicle, practice.places)


@cache
def _material(script: str, vehicle: str, places: tuple[str, ...]) -> Material:
    return load(files_from_library(library(), script, vehicle), script, places)


def kit_of(practice: Practice, material: Material) -> Kit:
    return kit_for(
        material.plan,
        book(),
        says(),
        gauge=material.profile.gauge,
        stage=practice.stage,
        vehicle=material.profile.name,
        faults=practice.faults,
        only=practice.only,
        most=practice.most,
    )


def opening_of(practice: Practice, material: Material, device: str = "") -> Opening:
    return Opening(
        kind=WalkKind.PRACTICE,
        walk_id="a-practice",
        program="walkaround",
        script=material.plan.script,
        places=material.places,
        sources=(),
        outline=drill_outline(material.plan),
        vehicle={"name": material.profile.name, "stage": str(practice.stage)},
        device=device,
    )


def drilled(
    practice: Practice, key: SigningKey | None = None, stage: Learner | None = None
) -> Drilled:
    """Go through it; `stage` stands in for the learner who types."""
    material = material_of(practice)
    talk = DrillTalk(kit_of(practice, material))
    facts = with_faults(facts_of(material.profile), practice.faults)
    judge, phrases = judge_of(material), material.language.phrases

    def show(
        name: str, told: Sequence[Told], before: Mapping[str, Given], _sitting: int
    ) -> Showing:
        return showing(material.plan, name, told, before=before, phrases=phrases, judge=judge)

    disk, learner = Lines(), stage or Learner(practice.says)
    device = key.thumbprint if key else ""
    line, head = open_journal(opening_of(practice, material, device))
    disk.append(line)
    room = Room(
        talk,
        learner,
        Keeper(disk, head, WalkKind.PRACTICE, key),
        sentences=lambda text: (text,),
        desk=Desk(material.plan, facts, seed=1),
        show=show,
    )
    ended = room.run(SittingOpened(1, WALL, "boot", 0, Wording.FULL))
    return Drilled(material, talk.kit, talk.drill, learner.lines, bytes(disk.content), ended)


def in_order(practice: Practice) -> tuple[str, ...]:
    """What a learner says who knows the script's own order: each step, its acts before it."""
    plan = material_of(practice).plan
    said: list[str] = []
    for step, acts in walk_on_paper(plan):
        said += [name_of(act) for act in acts or ()]
        said.append(name_of(step.id))
    return tuple(said)


def name_of(name: str) -> str:
    """The first way to say a step or act that can mean nothing else."""
    known = [phrase for phrase in book().phrases if name in phrase.of]
    cards = [p for p in book().phrases if any(name.startswith(of) for of in p.of)]
    return (known or cards)[0].text


DRILLS: Mapping[str, Practice] = {
    "told": Practice(
        Stage.TOLD,
        (
            *("next", "explain", "next", "next", "next", "next", "help", "next"),
            "next",
            "nothing found",
        ),
        most=7,
    ),
    "asked": Practice(
        Stage.ASKED,
        (
            "chock the wheels",
            "park on level ground",
            "help",
            "chocks under a wheel, with the parking brake set",
            "make sure nobody is near",
            "help",
            "help",
            "vehicle details",
            "the compressor, engine off and key out and parking brake set",
            "yes",
            "explain",
            "check the air lines with the engine off and the parking brake set",
            "yes",
            "oil in the tanks",
        ),
        places=("CA-QC",),
        faults=("oily-tanks",),
        most=6,
    ),
    "recalled": Practice(
        Stage.RECALLED,
        (
            "park it level",
            "chocks in",
            "nobody near",
            "drain the tanks",
            "the vehicle and its chambers",
            "look at the compressor",
            "pineapple",
            "leak test with the brakes applied",
            "turn the key on, then start the engine",
            "build the pressure up",
            "let the parking brake off",
            "stop the engine, then the leak test with the brakes applied",
            "that is a finding",
            "measure the pushrods",
            "no",
            "helper, then listen for leaks",
            "explain",
            "cut-in",
            "sum up",
            "finish",
            "stop",
        ),
        faults=("leaking-chamber",),
    ),
    "examined": Practice(
        Stage.EXAMINED,
        (
            "park on level ground",
            "chock the wheels",
            "release the parking brake",
            "leak test with the brakes applied",
            "out of limits",
            "cut in",
            "where the warning comes on",
            "yellow knob pops",
            "time the build up",
            "finish",
            "the governor is set too high",
        ),
        faults=("leaking-chamber",),
    ),
}
"""One for each stage."""


def main() -> None:
    """Write every golden dialogue."""
    GOLDEN.mkdir(exist_ok=True)
    for name, practice in DRILLS.items():
        done = drilled(practice)
        (GOLDEN / f"{name}.txt").write_text("\n".join(done.lines) + "\n", encoding="utf-8")
        sys.stdout.write(f"{name}: {len(done.lines)} lines, {done.ended}\n")


if __name__ == "__main__":
    main()
