"""The instant a voice sets in."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from walkaround.speech.onset import onset_of
from walkaround.speech.ports import SAMPLES_PER_SECOND

SECOND = SAMPLES_PER_SECOND


def burst(at: int, noise: float, seed: int, rise: int = 160) -> NDArray[np.int16]:
    """Two seconds of noise with a tone of 700 Hz from `at` on, risen within `rise` samples."""
    rng = np.random.default_rng(seed)
    time = np.arange(2 * SECOND)
    tone = np.sin(2 * np.pi * 700 * time / SECOND) * 6000
    gain = np.clip((time - at) / rise, 0, 1)
    gain[at + SECOND // 2 :] = 0
    return (tone * gain + rng.normal(0, noise, 2 * SECOND)).astype(np.int16)


@pytest.mark.parametrize("noise", [1.0, 300.0, 1000.0])
@pytest.mark.parametrize("offset", [0, 137, 300, 511])
def test_the_onset_is_found_inside_the_frame(noise: float, offset: int) -> None:
    at = SECOND // 2 + offset
    frame = SECOND // 2 // 512 * 512
    found = onset_of(burst(at, noise, seed=offset), frame, frame + SECOND // 2)
    # half of a rise of 10 ms, and the smoothing: within 10 ms of the true instant
    assert abs(found - at) <= SECOND // 100


def test_low_rumble_before_the_word_does_not_draw_it() -> None:
    time = np.arange(2 * SECOND)
    rumble = (np.sin(2 * np.pi * 65 * time / SECOND) * 12000).astype(np.int16)
    at = SECOND // 2
    found = onset_of(burst(at, 10.0, seed=1) + rumble, at - 300, at + SECOND // 2)
    assert abs(found - at) <= SECOND // 100


def test_a_louder_word_does_not_come_earlier() -> None:
    at = SECOND // 2
    soft = onset_of(burst(at, 5.0, seed=2) // 4, at - 200, at + SECOND // 2)
    loud = onset_of(burst(at, 5.0, seed=2), at - 200, at + SECOND // 2)
    assert abs(soft - loud) <= SECOND // 1000


def test_where_nothing_rises_the_beginning_is_given_back() -> None:
    assert onset_of(np.zeros(SECOND, np.int16), 4000, 9000) == 4000
    assert onset_of(np.zeros(0, np.int16), 0, 0) == 0
    assert onset_of(np.zeros(100, np.int16), 50, 100) == 50
