"""The rate changer against tones: what should pass passes, what would alias is gone."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from walkaround.devices.resample import Resampler, resampled


def _tone(hz: float, rate: int, seconds: float = 1.0) -> bytes:
    at = np.arange(int(rate * seconds)) / rate
    return (10_000 * np.sin(2 * np.pi * hz * at)).astype("<i2").tobytes()


def _middle(sound: bytes) -> npt.NDArray[np.float64]:
    samples = np.frombuffer(sound, dtype="<i2").astype(np.float64)
    return samples[len(samples) // 10 : -len(samples) // 10]


@pytest.mark.parametrize("rate", [22_050, 44_100, 48_000, 11_025])
@pytest.mark.parametrize("hz", [100, 1000, 3000, 4500])
def test_a_tone_passes_unchanged(rate: int, hz: int) -> None:
    heard = _middle(resampled(_tone(hz, rate), rate, 16_000))
    wanted = _middle(_tone(hz, 16_000))
    error = np.sqrt(np.mean((heard - wanted[: len(heard)]) ** 2))
    assert error < 10_000 / 1000  # -60 dB


@pytest.mark.parametrize("hz", [9000, 10_000, 10_900])
def test_a_tone_above_half_the_rate_is_gone(hz: int) -> None:
    heard = _middle(resampled(_tone(hz, 22_050), 22_050, 16_000))
    assert np.sqrt(np.mean(heard**2)) < 1


@pytest.mark.parametrize("count", [0, 1, 2, 100, 22_051, 100_003])
def test_the_length_is_in_proportion(count: int) -> None:
    sound = resampled(b"\0\0" * count, 22_050, 16_000)
    assert len(sound) // 2 == -(-count * 320 // 441)


def test_loud_sound_is_clipped_and_not_wrapped() -> None:
    square = (np.sign(np.sin(np.arange(22_050) / 20)) * 32_767).astype("<i2")
    heard = np.frombuffer(resampled(square.tobytes(), 22_050, 16_000), dtype="<i2")
    assert np.count_nonzero(np.abs(np.diff(heard.astype(int))) > 60_000) == 0


@pytest.mark.parametrize("rate", [8000, 22_050, 44_100, 48_000])
def test_blocks_of_any_size_give_the_same_sound(rate: int) -> None:
    sound = np.random.default_rng(3).normal(0, 3000, rate).astype("<i2").tobytes()
    whole = resampled(sound, rate, 16_000)
    for size in (62, 962, 4410, 20_000):
        stream = Resampler(rate, 16_000)
        pieces = [stream.feed(sound[at : at + size]) for at in range(0, len(sound), size)]
        assert (b"".join(pieces) + stream.finish())[: len(whole)] == whole
