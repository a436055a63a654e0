"""Everything a practice is made of: the recall book, the kit of a drill or a quiz, the room."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from random import Random

from walkaround.cli.drill_room import Room
from walkaround.cli.drill_talks import DrillTalk, QuizTalk
from walkaround.cli.drill_turns import Turn
from walkaround.cli.material import Material, judge_of
from walkaround.devices.library import Found, Library
from walkaround.exchange import Given
from walkaround.learning.book import RecallBook, load_recall
from walkaround.learning.course import card_of
from walkaround.learning.drill import Kit, Stage, kit_for
from walkaround.learning.memory import Key, Memory
from walkaround.learning.parts import PartsBook, load_parts
from walkaround.learning.questions import questions_for
from walkaround.learning.quiz import QuizKit, chosen
from walkaround.learning.says import Says, load_says
from walkaround.learning.showing import Showing, Told, showing
from walkaround.procedure.measuring import vehicle_of
from walkaround.procedure.model import Plan
from walkaround.simulated.desk import Desk
from walkaround.speech.phrasing import sentences_of
from walkaround.speech.ports import Stage as Outside
from walkaround.speech.saying import for_the_ear
from walkaround.walk import Keeper

_BRACKETS = re.compile(r"\s*\((?:[^()]|\([^()]*\))*\)")
BOOKS = ("en", "en-why", "en-faults", "en-says", "en-parts")


def recall_files(library: Library) -> Mapping[str, Found]:
    """The files of the recall book, by name. Raises UsageError when one is missing."""
    return {name: library.read("recall", name) for name in BOOKS}


@dataclass(frozen=True, slots=True)
class Books:
    """The recall book and its neighbours."""

    recall: RecallBook
    says: Says
    parts: PartsBook

    @staticmethod
    def of(material: Material) -> Books:
        """From the files that the practice names. Raises ScriptError, PhraseError."""
        files = {name: (f.content, f.file) for name, f in material.files["recall"].items()}
        return Books(
            load_recall(files["en"], files["en-why"], files["en-faults"]),
            load_says(*files["en-says"]),
            load_parts(*files["en-parts"]),
        )

    @property
    def cards(self) -> tuple[str, ...]:
        """Every step card that the book knows."""
        return tuple(self.recall.why)

    def cards_of(self, plan: Plan) -> dict[str, str]:
        """The plan's steps -> their cards."""
        return {step.id: card_of(step.id, self.recall.why) for step in plan.steps}


def drill_kit(
    material: Material,
    books: Books,
    stage: Stage,
    faults: Sequence[str],
    *,
    only: frozenset[str] | None = None,
    most: int | None = None,
) -> Kit:
    """The kit of a drill with this vehicle in these places."""
    return kit_for(
        material.plan,
        books.recall,
        books.says,
        gauge=material.profile.gauge,
        stage=stage,
        vehicle=material.profile.name,
        faults=faults,
        only=only,
        most=most,
    )


def quiz_kit(
    material: Material,
    books: Books,
    memories: Mapping[Key, Memory],
    now: datetime,
    *,
    most: int,
    dice: Random,
) -> QuizKit:
    """The questions of every place of the trip, what is due first. Raises PlaceError."""
    vehicle = vehicle_of(material.profile, material.book)
    found = [
        asked
        for place in material.places
        for asked in questions_for(material.book, books.parts, place, vehicle, dice.randrange)
    ]
    dice.shuffle(found)
    picked = chosen(found, memories, now, most)
    return QuizKit(picked, books.says, books.recall.words, material.book.place_names)


def room_for_drill(
    kit: Kit,
    material: Material,
    stage: Outside,
    keeper: Keeper,
    desk: Desk,
    *,
    aloud: bool,
    note: Callable[[Turn], None],
) -> Room:
    """The room of a drill. `aloud`: texts are cut and written for the voice; `note` keeps what
    is needed to go on with it."""
    judge, phrases = judge_of(material), material.language.phrases

    def show(name: str, told: Sequence[Told], before: Mapping[str, Given], sitting: int) -> Showing:
        return showing(
            material.plan,
            name,
            told,
            before=before,
            phrases=phrases,
            judge=judge,
            sitting=sitting,
        )

    return Room(
        DrillTalk(kit),
        stage,
        keeper,
        sentences=spoken_without_sources if aloud else _whole,
        desk=desk,
        show=show,
        note=note,
    )


def room_for_quiz(
    kit: QuizKit, material: Material, stage: Outside, keeper: Keeper, *, aloud: bool
) -> Room:
    """The room of a round of questions."""
    talk = QuizTalk(kit, material.language.phrases)
    return Room(talk, stage, keeper, sentences=_spoken if aloud else _whole)


def _spoken(text: str) -> Sequence[str]:
    return sentences_of(for_the_ear(text))


def spoken_without_sources(text: str) -> Sequence[str]:
    """A citation stands in brackets: it is on the page and in the record, and not for the ear."""
    return _spoken(_BRACKETS.sub("", text))


def _whole(text: str) -> Sequence[str]:
    return (text,)
