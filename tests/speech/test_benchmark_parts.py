"""The benchmarks' own tools: counts with intervals, and noise at the stated level."""

from __future__ import annotations

import numpy as np
import pytest

from tests.benchmarks.counting import rate
from tests.benchmarks.marks import true_onset
from tests.benchmarks.noise import active_rms, diesel, in_noise

SECOND = 16_000


def test_nought_of_165_only_says_under_1_8_percent() -> None:
    # 1 - 0.05^(1/n): the exact one-sided bound behind the rule of three
    found = rate((f"s{n}", False) for n in range(165))
    assert (found.k, found.n) == (0, 165)
    assert found.high == pytest.approx(0.018, abs=0.0005)


def test_clips_of_one_person_widen_the_interval() -> None:
    apart = rate((f"s{n}", n % 2 == 0) for n in range(100))
    together = rate((f"s{n % 4}", n % 4 == 0) for n in range(100))
    assert apart.high - apart.low < together.high - together.low


def test_noise_is_seeded_and_of_unit_level() -> None:
    one = diesel(SECOND, 7)
    assert np.array_equal(one, diesel(SECOND, 7))
    assert not np.array_equal(one, diesel(SECOND, 8))
    assert np.sqrt(np.mean(one**2)) == pytest.approx(1.0)


def test_the_diesel_fires_32_5_times_a_second() -> None:
    spectrum = np.abs(np.fft.rfft(diesel(8 * SECOND, 3)))
    assert np.argmax(spectrum) / 8 == pytest.approx(32.5, abs=0.5)


@pytest.mark.parametrize("snr_db", [10.0, 5.0, 0.0])
def test_the_level_is_as_stated(snr_db: float) -> None:
    speech = (np.sin(np.arange(SECOND) / 5) * 8000).astype(np.int16)
    mixed = in_noise(speech, snr_db, seed=1, before=SECOND, after=0)
    noise = mixed[:SECOND].astype(np.float64)
    measured = 20 * np.log10(active_rms(speech) / np.sqrt(np.mean(noise**2)))
    assert measured == pytest.approx(snr_db, abs=0.7)


def test_the_true_onset_of_a_plain_burst() -> None:
    sound = np.zeros(SECOND, np.int16)
    sound[5000:9000] = (np.sin(np.arange(4000)) * 9000).astype(np.int16)
    assert abs(true_onset(sound) - 5000) <= 160
