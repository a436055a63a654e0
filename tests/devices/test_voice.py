"""The voice with the real engine: length and loudness, never exact samples (they vary)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from walkaround.devices.voice import Pyttsx3Voice
from walkaround.errors import VoiceError

pytestmark = pytest.mark.voice


def _loudness(sound: bytes) -> float:
    samples = np.frombuffer(sound, dtype="<i2").astype(np.float64)
    return float(np.sqrt(np.mean(samples**2)))


def test_a_sentence_has_length_and_loudness(tmp_path: Path) -> None:
    sound = Pyttsx3Voice(tmp_path).sound_of("Set the parking brake and chock the wheels.")
    assert 1.5 < len(sound) / 2 / 16_000 < 5
    assert _loudness(sound) > 500


def test_a_kept_sound_is_the_same_without_the_engine(tmp_path: Path) -> None:
    first = Pyttsx3Voice(tmp_path).sound_of("One one zero.")
    again = Pyttsx3Voice(tmp_path).sound_of("One one zero.")
    assert again == first
    assert len([at for at in tmp_path.rglob("*") if at.is_file()]) == 1


def test_many_sentences_in_one_engine_stay_apart(tmp_path: Path) -> None:
    voice = Pyttsx3Voice(tmp_path)
    seen: list[tuple[int, int]] = []
    sentences = ["Yes.", "Drain the wet tank first, then the others, and say what came out.", "No."]
    assert voice.warm([*sentences, "Yes."], lambda done, of: seen.append((done, of))) == 3
    assert seen[-1] == (3, 3)
    short, long, other = (len(voice.sound_of(sentence)) for sentence in sentences)
    assert long > 2 * short
    assert long > 2 * other
    assert voice.warm(sentences) == 0


def test_the_rate_and_the_voice_are_part_of_what_is_kept(tmp_path: Path) -> None:
    sentence = "Pump the brakes until the warning comes on."
    slow = Pyttsx3Voice(tmp_path, rate=100).sound_of(sentence)
    fast = Pyttsx3Voice(tmp_path, rate=250).sound_of(sentence)
    other = Pyttsx3Voice(tmp_path, voice="gmw/en-gb-scotland", rate=100).sound_of(sentence)
    assert len(slow) > 1.5 * len(fast)
    assert other != slow


def test_a_voice_that_does_not_exist_is_a_plain_error(tmp_path: Path) -> None:
    with pytest.raises(VoiceError, match="choose another"):
        Pyttsx3Voice(tmp_path, voice="no-such-voice").sound_of("Yes.")


def test_nothing_to_say_is_an_error_and_not_silence(tmp_path: Path) -> None:
    with pytest.raises(VoiceError):
        Pyttsx3Voice(tmp_path).sound_of(" ")


def test_words_are_never_run_by_a_shell(tmp_path: Path) -> None:
    bait = tmp_path / "bait"
    sound = Pyttsx3Voice(tmp_path / "cache").sound_of(f'$(touch {bait}) `touch {bait}` "; yes')
    assert sound
    assert not bait.exists()


def test_a_cache_that_cannot_be_written_is_no_obstacle(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    assert Pyttsx3Voice(tmp_path / "file" / "cache").sound_of("Yes.")
