"""A drill and a few questions through the real recogniser: a voice speaks, the ear hears.

Synthetic speech without noise: it shows that the path holds together, not how well a person
is heard.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence

import pytest

from tests.learning.drills import DRILLS, Learner, drilled, opening_of
from tests.learning.recall_books import book, says
from tests.learning.test_quiz import limit_of, trip
from tests.walks.stories import Lines, library
from walkaround.cli.drill_room import Room
from walkaround.cli.drill_talks import QuizTalk
from walkaround.devices.ear.child import EarSetup
from walkaround.devices.ear.fed import FedEar
from walkaround.devices.model import decoding_folder, ensure_model
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.exchange import Question, SittingOpened
from walkaround.learning.quiz import QuizKit
from walkaround.records.journal import open_journal
from walkaround.records.signature import WalkKind
from walkaround.speech.ports import Arrival, Closed, Ear, Transcript, Voice
from walkaround.walk import Keeper

pytestmark = [pytest.mark.model, pytest.mark.voice, pytest.mark.slow]
SILENCE = b"\0\0" * 8000


class Speaker(Learner):
    """A learner who speaks: each answer is said by a voice and heard by an ear."""

    def __init__(self, answers: Sequence[str], ear: Ear, voice: Voice) -> None:
        super().__init__(answers)
        self._ear, self._voice = ear, voice
        self._asked: tuple[Question, tuple[str, ...]] | None = None
        self._heard: deque[Transcript] = deque()

    def listen(
        self, question: Question, grammar: Sequence[str], quiet_after_ms: int | None
    ) -> None:
        super().listen(question, grammar, quiet_after_ms)
        self._asked = (question, tuple(grammar))

    def next(self) -> Arrival:
        while not self._heard:
            typed = super().next()
            if not isinstance(typed, Transcript):
                return typed
            assert self._asked is not None
            sound = SILENCE + self._voice.sound_of(typed.text) + SILENCE * 2
            self._heard.extend(self._ear.hear(*self._asked, sound, self.now_ms()))
        return self._heard.popleft()


@pytest.fixture(scope="module")
def ear() -> Iterator[FedEar]:
    made = FedEar(EarSetup.of(library(), decoding_folder(ensure_model())))
    yield made
    made.close()


@pytest.fixture(scope="module")
def voice() -> Pyttsx3Voice:
    return Pyttsx3Voice(voice="gmw/en-us", rate=150)


@pytest.mark.parametrize("name", ["asked", "recalled"])
def test_a_spoken_drill_comes_to_the_typed_ones_marks(
    name: str, ear: FedEar, voice: Pyttsx3Voice
) -> None:
    typed = drilled(DRILLS[name])
    spoken = drilled(DRILLS[name], stage=Speaker(DRILLS[name].says, ear, voice))
    marks = {step: spoken.drill.marks.get(step) for step in typed.drill.marks}
    same = [step for step, mark in typed.drill.marks.items() if marks[step] is mark]
    # Seen: all of 6 asked; 10 of 12 recalled, where "let the parking brake off" is heard as "low
    # air to the parking brake off" and what rests on it goes another way.
    assert len(same) >= len(marks) - 2, (marks, dict(typed.drill.marks))


def test_spoken_numbers_answer_questions_on_limits(ear: FedEar, voice: Pyttsx3Voice) -> None:
    asked = (
        limit_of("CA-ON", "ca-on.build-up"),
        limit_of("CA-ON", "ca-on.warning-on"),
        limit_of("CA-ON", "ca-on.stroke-pressure"),
    )
    material = trip("CA-ON")
    kit = QuizKit(asked, says(), book().words, material.book.place_names)
    talk = QuizTalk(kit, material.language.phrases)
    said = ("one hundred twenty seconds", "fifty five p s i", "ninety and one hundred p s i")
    stage, disk = Speaker(said, ear, voice), Lines()
    line, head = open_journal(opening_of(DRILLS["asked"], material))
    disk.append(line)
    room = Room(
        talk, stage, Keeper(disk, head, WalkKind.PRACTICE, None), sentences=lambda text: (text,)
    )
    room.run(SittingOpened(1, "2026-01-31T08:00:00.000Z", "boot", 0))
    assert talk.quiz.right >= 2, "\n".join(stage.lines)
    assert isinstance(stage.next(), Closed)
