"""A whole walk in real time through virtual sound devices: nothing on a clock that jumps.

The bus with the fewest words: the program speaks on a virtual loudspeaker and hears, by
PortAudio and PipeWire, what the simulated driver's voice plays into a virtual microphone; the
simulated truck runs by the clock on the wall.  About half an hour, and two minutes of it by
themselves; both only with --slow.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from tests.devices.hearing import ear_setup, hiss
from tests.devices.virtual_room import Room, virtual_room
from tests.walks.stories import Lines, library
from walkaround.cli.demo import DRIVER_VOICE
from walkaround.cli.material import Material, files_from_library, judge_of, load
from walkaround.devices.stage_live import LiveStage, SoundChoice
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.exchange import (
    Event,
    Heard,
    Prompt,
    Question,
    SittingOpened,
    TimeReached,
    ToneKind,
    Unclear,
    Wording,
)
from walkaround.records.journal import EMPTY, Ended
from walkaround.records.signature import WalkKind
from walkaround.simulated.piping import STEP_MS
from walkaround.simulated.stage import SimulatedStage
from walkaround.simulated.vehicle import facts_of
from walkaround.speech.ports import Arrival, Closed, Transcript
from walkaround.walk import Keeper, Walk

pytestmark = [pytest.mark.model, pytest.mark.voice, pytest.mark.slow]
TWO_MINUTES_MS, HOUR_MS = 120_000, 3_600_000
_TICK = "the truck moves on"
_AFTER_PROMPT_MS = 600  # the device's own buffer, and the echo of the last word


class RoomMouth:
    """The driver's voice, played into the microphone; what it comes to is heard elsewhere."""

    def __init__(self, room: Room, cache: Path) -> None:
        self._room, self._said = room, 0
        self._voice = Pyttsx3Voice(cache, voice=DRIVER_VOICE, rate=150)

    def say(
        self,
        words: str,
        onset_ms: int,
        question: Question,
        grammar: Sequence[str],
        noises: Sequence[str],
    ) -> tuple[tuple[Transcript, ...], int]:
        del question, grammar, noises
        self._said += 1
        # a second of quiet first: the player needs a while until it is linked
        sound = hiss(1.0) + self._voice.sound_of(words) + hiss(0.3)
        self._room.play(f"driver-{self._said}", sound)
        return (), onset_ms + len(sound) // 32


class RealTime(SimulatedStage):
    """The simulated truck and driver; prompts, ears and timers are the live stage's."""

    def __init__(self, material: Material, live: LiveStage, room: Room, cache: Path) -> None:
        mouth, voice = RoomMouth(room, cache), Pyttsx3Voice(cache)
        super().__init__(material.plan, facts_of(material.profile), 1, mouth=mouth, voice=voice)
        self.live, self.until_ms = live, HOUR_MS

    def now_ms(self) -> int:
        return self.live.now_ms()

    def say(self, prompts: Sequence[Prompt], sentences: Sequence[str]) -> None:
        self._catch_up()
        super().say(prompts, sentences)
        self._speaking_until_ms += _AFTER_PROMPT_MS
        self.live.say(prompts, sentences)

    def tone(self, kind: ToneKind) -> None:
        super().tone(kind)
        self.live.tone(kind)

    def hush(self) -> None:
        super().hush()
        self.live.hush()

    def listen(
        self, question: Question, grammar: Sequence[str], quiet_after_ms: int | None
    ) -> None:
        super().listen(question, grammar, quiet_after_ms)
        self.live.listen(question, grammar, quiet_after_ms)

    def wake_at(self, at_ms: int, timer: str) -> None:
        self.live.wake_at(at_ms, timer)

    def cancel_wake(self, timer: str) -> None:
        self.live.cancel_wake(timer)

    def next(self) -> Arrival:
        while self.now_ms() < self.until_ms:
            self.live.wake_at(self.now_ms() + STEP_MS, _TICK)
            arrival = self.live.next()
            self.live.cancel_wake(_TICK)
            self._catch_up()
            if not (isinstance(arrival, TimeReached) and arrival.timer == _TICK):
                return arrival
        return Closed(self.now_ms())

    def _catch_up(self) -> None:
        while self._clock_ms + STEP_MS <= self.now_ms():
            self._step()


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    with virtual_room(tmp_path) as room:
        room.play("long-hiss", hiss(HOUR_MS / 1000))
        yield room


def walked(room: Room, folder: Path, until_ms: int) -> tuple[Ended | None, list[Event]]:
    """How it ended and all that happened; closed at `until_ms` of the sitting."""
    material = load(files_from_library(library(), "bus", "demo-bus"), "bus", ("US",))
    cache = folder / "voice"
    setup = replace(ear_setup(), environment=room.environment)
    sound = SoundChoice("pipewire", "pipewire")
    shown: list[str] = []
    live = LiveStage(setup, Pyttsx3Voice(cache), shown.append, sound)
    live.open()
    stage = RealTime(material, live, room, cache)
    stage.until_ms = until_ms
    events: list[Event] = []
    keeper = Keeper(Lines(), EMPTY, WalkKind.SIMULATED, None)
    walk = Walk(
        material.plan,
        stage,
        keeper,
        judge_of(material),
        material.language,
        watch=lambda event, _state: events.append(event),
    )
    try:
        ended = walk.run(SittingOpened(1, "2026-01-31T08:00:00.000Z", "boot", 0, Wording.CUE))
    finally:
        live.close()
        for at_ms, who, words in stage.said:
            sys.stderr.write(f"{at_ms / 1000:8.1f} {who:7} {words}\n")
    return ended, events


def answers(events: Sequence[Event]) -> tuple[int, int]:
    """How many were taken, and how many were asked again."""
    heard = [event for event in events if isinstance(event, Heard)]
    unclear = sum(isinstance(event.meaning, Unclear) for event in heard)
    return len(heard) - unclear, unclear


def test_two_minutes_of_a_walk_in_real_time(room: Room, tmp_path: Path) -> None:
    ended, events = walked(room, tmp_path, TWO_MINUTES_MS)
    taken, unclear = answers(events)
    assert ended is not Ended.COMPLETE
    assert taken >= 4
    assert unclear <= taken / 2


def test_a_whole_walk_in_real_time(room: Room, tmp_path: Path) -> None:
    ended, events = walked(room, tmp_path, HOUR_MS)
    taken, unclear = answers(events)
    assert ended is Ended.COMPLETE
    assert unclear <= taken / 2
