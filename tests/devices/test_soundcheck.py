"""Which sound is refused: made sound for each reason, and human speech that must pass."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.devices.hearing import hiss
from walkaround.devices.ear.soundcheck import DEAD, OVERDRIVEN, TELEPHONE, SoundCheck
from walkaround.devices.resample import resampled


def _after(sound: bytes, block: int = 1600) -> str:
    check = SoundCheck()
    for at in range(0, len(sound), block):
        check.take(sound[at : at + block])
    return check.complaint


def _voice_like(seconds: float) -> bytes:
    """Harmonics of 120 Hz falling off, with a microphone's own hiss."""
    at = np.arange(int(seconds * 16_000)) / 16_000
    wave = sum(np.sin(2 * np.pi * 120 * n * at) / n for n in range(1, 30))
    samples = np.rint(2000 * np.asarray(wave)).astype("<i2")
    return bytes((samples + np.frombuffer(hiss(seconds), dtype="<i2")).astype("<i2"))


@pytest.mark.parametrize("level", [0, 5, -1200])
def test_a_dead_microphone_is_refused_after_two_seconds(level: int) -> None:
    flat = np.full(16_000, level, dtype="<i2").tobytes()
    assert _after(flat) == ""
    assert _after(flat * 2) == DEAD


def test_a_quiet_room_is_no_dead_microphone() -> None:
    assert _after(hiss(10.0, loudness=1.0)) == ""


def test_overdriven_sound_is_refused_and_one_shout_is_not() -> None:
    at = np.arange(16_000 * 4) / 16_000
    square = np.clip(90_000 * np.sin(2 * np.pi * 200 * at), -32768, 32767).astype("<i2").tobytes()
    assert _after(square) == OVERDRIVEN
    assert _after(square[:32_000] + _voice_like(3.0)) == ""


def test_telephone_sound_is_refused() -> None:
    wide = _voice_like(6.0)
    narrow = resampled(resampled(wide, 16_000, 8_000), 8_000, 16_000)
    assert _after(wide) == ""
    assert _after(narrow) == TELEPHONE


def test_a_complaint_ends_with_the_fault() -> None:
    assert _after(bytes(96_000) + _voice_like(2.0)) == ""


def test_human_speech_passes_and_its_telephone_copy_does_not(speech_data: Path) -> None:
    files = sorted((speech_data / "an4" / "wav").iterdir())[:6]
    sound = b"".join(soundfile.read(file, dtype="int16")[0].tobytes() for file in files)
    assert len(sound) > 8 * 32_000
    for begin in range(0, len(sound) - 160_000, 64_000):
        assert _after(sound[begin : begin + 160_000]) == ""
    narrow = resampled(resampled(sound, 16_000, 8_000), 8_000, 16_000)
    assert _after(narrow) == TELEPHONE
