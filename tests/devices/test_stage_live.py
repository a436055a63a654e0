"""The live stage: without a device it says so; with virtual ones a whole dialogue is held.

The slow test needs PipeWire (Debian: pipewire pipewire-alsa wireplumber dbus-x11 pipewire-bin)
and PortAudio (libportaudio2); two virtual nodes stand for microphone and loudspeaker.
"""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.devices.hearing import PRESSURE, ear_setup, grammar, hiss, spoken
from tests.devices.virtual_room import Room, virtual_room
from walkaround.devices.stage_live import LiveStage, SoundChoice
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.errors import MicrophoneError, RecogniserError
from walkaround.exchange import (
    AskKind,
    MicrophoneBack,
    MicrophoneLost,
    Question,
    SamplesLost,
    StayedQuiet,
    TimeReached,
)
from walkaround.speech.ports import Arrival, Transcript

pytestmark = [pytest.mark.model, pytest.mark.voice]
MARK = Question("rise.mark", AskKind.MARK, armed=True)
COMMANDS = Question("commands", AskKind.COMMAND, armed=True)


def test_a_device_that_is_not_there_is_a_plain_error(tmp_path: Path) -> None:
    sound = SoundChoice(microphone="no such microphone")
    printed: list[str] = []
    stage = LiveStage(ear_setup(), Pyttsx3Voice(tmp_path), printed.append, sound)
    with pytest.raises(MicrophoneError, match=r"cannot be opened|PortAudio is missing"):
        stage.open()
    stage.close()


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    with virtual_room(tmp_path) as room:
        yield room


def _next(stage: LiveStage, patience_s: int = 15) -> Arrival:
    stage.wake_at(stage.now_ms() + patience_s * 1000, "patience")
    arrival = stage.next()
    stage.cancel_wake("patience")
    return arrival


def _say(stage: LiveStage, cache: Path, sentence: str) -> None:
    """Until it has been said, by how long its sound is: nothing tells when a prompt has ended."""
    stage.say((), [sentence])
    own = (sentence, RecogniserError.spoken)
    time.sleep(sum(len(Pyttsx3Voice(cache).sound_of(one)) for one in own) / 32_000 + 1.0)


def _heard(stage: LiveStage) -> Transcript:
    arrival = _next(stage)
    while isinstance(arrival, SamplesLost):  # a busy machine; told honestly
        arrival = _next(stage)
    assert isinstance(arrival, Transcript), arrival
    return arrival


def _has_its_sound(heard: Transcript) -> None:
    assert heard.text == "ninety five"
    lasts_ms = len(heard.sound) // 32
    assert 700 < lasts_ms < 4000
    assert heard.sound_from_ms <= heard.onset_ms < heard.sound_from_ms + lasts_ms


@pytest.mark.slow
def test_a_dialogue_on_real_streams(room: Room, tmp_path: Path) -> None:
    printed: list[str] = []
    cache = tmp_path / "voice"
    ninety_five, stop = spoken(cache, "ninety five"), spoken(cache, "stop")
    sound = SoundChoice("pipewire", "pipewire")
    setup = replace(ear_setup(), environment=room.environment)
    stage = LiveStage(setup, Pyttsx3Voice(cache), printed.append, sound)
    stage.open()
    room.record()
    stage.listen(PRESSURE, grammar(PRESSURE), None)
    _say(stage, cache, "Read the primary gauge.")
    room.play("answer", ninety_five)
    heard = _heard(stage)
    assert (heard.text, heard.over_prompt) == ("ninety five", False)
    assert heard.sound == b""
    stage.hand_over()

    stage.say((), ["Now read the secondary gauge, and say what it shows when it is at rest."])
    stage.listen(PRESSURE, grammar(PRESSURE), 4000)
    time.sleep(0.3)
    room.play("stop", stop)
    heard = _heard(stage)
    assert (heard.text, heard.over_prompt) == ("stop", True)
    arrival = _next(stage)
    assert isinstance(arrival, StayedQuiet | SamplesLost)

    assert stage.pid is not None
    os.kill(stage.pid, signal.SIGKILL)
    arrival = _next(stage)
    while isinstance(arrival, StayedQuiet):
        arrival = _next(stage)
    assert isinstance(arrival, SamplesLost)
    _say(stage, cache, "Once more, please.")  # after what the child that took over says itself
    room.play("again", ninety_five)
    _has_its_sound(_heard(stage))  # by the child that took over, too

    room.link("-d", "mic:capture_MONO", "ALSA Capture:input_MONO")
    arrivals = [_next(stage)]
    while not isinstance(arrivals[-1], MicrophoneBack) and len(arrivals) < 10:
        arrivals.append(_next(stage))
    assert any(isinstance(one, MicrophoneLost) for one in arrivals)
    assert isinstance(arrivals[-1], MicrophoneBack)
    assert any("microphone is lost" in line for line in printed)
    room.play("back", ninety_five)
    assert _heard(stage).text == "ninety five"
    stage.close()
    out = np.frombuffer(room.recorded(), dtype="<i2")
    assert np.count_nonzero(np.abs(out) > 1000) > 16_000  # more than a second of loud samples


@pytest.mark.slow
def test_a_hold_and_two_marks_in_real_time(room: Room, tmp_path: Path) -> None:
    """Ten seconds held, two marks three seconds apart, a flood and a source that falls silent."""
    printed: list[str] = []
    cache = tmp_path / "voice"
    mark = spoken(cache, "mark")
    stage = LiveStage(
        replace(ear_setup(), environment=room.environment),
        Pyttsx3Voice(cache),
        printed.append,
        SoundChoice("pipewire", "pipewire"),
    )
    stage.open()
    _hold_ten_seconds(stage)
    pause = hiss(3.0)
    _two_marks(stage, room, mark + pause + mark, (len(mark) + len(pause)) / 32)
    _overflow(stage)
    room.link("-d", "hiss:output_MONO", "mic:input_MONO")  # digital silence from here on
    arrivals = [_next(stage, 20)]
    while not isinstance(arrivals[-1], MicrophoneLost | TimeReached):
        arrivals.append(_next(stage, 20))
    assert isinstance(arrivals[-1], MicrophoneLost), arrivals
    stage.close()


def _hold_ten_seconds(stage: LiveStage) -> None:
    """By the walk's clock and by ours, which the test asks for itself."""
    stage.listen(COMMANDS, grammar(COMMANDS), None)
    began_ms, began_s = stage.now_ms(), time.monotonic()
    stage.wake_at(began_ms + 10_000, "hold")
    arrival = stage.next()
    while isinstance(arrival, SamplesLost):
        arrival = stage.next()
    assert isinstance(arrival, TimeReached), arrival
    assert arrival.timer == "hold"
    assert arrival.occurred_ms == began_ms + 10_000
    held_s = time.monotonic() - began_s
    assert held_s > 9.998  # whole milliseconds; a busy machine may be late, never early


def _two_marks(stage: LiveStage, room: Room, sound: bytes, apart_ms: float) -> None:
    """The interval of the sound that was played, to 0.15 s: a busy machine's player stumbles."""
    stage.listen(MARK, grammar(MARK), None)
    room.play("marks", sound)
    first, second = _heard(stage), _heard(stage)
    assert [first.text, second.text] == ["mark", "mark"]
    assert second.onset_ms - first.onset_ms == pytest.approx(apart_ms, abs=150)


def _overflow(stage: LiveStage) -> None:
    """The ear's process is stopped for longer than the sound card can keep: told as lost."""
    assert stage.pid is not None
    os.kill(stage.pid, signal.SIGSTOP)
    time.sleep(3.0)
    os.kill(stage.pid, signal.SIGCONT)
    arrivals = [_next(stage)]
    while not isinstance(arrivals[-1], SamplesLost | TimeReached):
        arrivals.append(_next(stage))
    assert isinstance(arrivals[-1], SamplesLost), arrivals
    assert arrivals[-1].lost_ms > 500
