"""Levels: the floor, the voice over it, and what is done about them."""

from __future__ import annotations

import numpy as np
import pytest

from walkaround.devices.ear.levels import Levels, decibels
from walkaround.devices.ear.player import Player
from walkaround.speech.ports import SAMPLES_PER_SECOND


def noise(rms: float, seconds: float, seed: int = 1) -> bytes:
    samples = np.random.default_rng(seed).normal(0, rms, int(seconds * SAMPLES_PER_SECOND))
    return np.clip(np.rint(samples), -32768, 32767).astype("<i2").tobytes()


def after(floor: float, voice: float, turns: int = 3, levels: Levels | None = None) -> Levels:
    """So many utterances of a voice's level in noise of the floor's."""
    levels = Levels() if levels is None else levels
    for turn in range(turns):
        levels.take(noise(floor, 6.0, turn), in_turn=False)
        levels.take(noise(float(np.hypot(floor, voice)), 0.8, turn), in_turn=True)
        levels.turn_ended()
    return levels


def test_nothing_is_known_before_something_was_heard() -> None:
    levels = Levels()
    assert (levels.floor_db, levels.over_floor_db, levels.gain) == (None, None, 1.0)
    assert not levels.too_loud()


@pytest.mark.parametrize("over_db", [0.0, 5.0, 10.0, 20.0])
def test_the_voice_is_measured_over_the_floor(over_db: float) -> None:
    levels = after(300, 300 * 10 ** (over_db / 20))
    assert levels.floor_db == pytest.approx(decibels(300), abs=0.5)
    assert levels.over_floor_db == pytest.approx(over_db, abs=0.8)


def test_too_loud_is_told_once_and_again_only_after_it_was_better() -> None:
    levels = after(1000, 1000)
    assert levels.too_loud()
    assert not levels.too_loud()
    after(1000, 1000, levels=levels)
    assert not levels.too_loud()
    after(100, 1000, levels=levels)
    assert not levels.too_loud()
    after(1000, 1000, levels=levels)
    assert levels.too_loud()


def test_one_mumbled_word_is_not_too_loud() -> None:
    levels = after(300, 3000, turns=2)
    after(300, 100, turns=1, levels=levels)
    assert not levels.too_loud()


def test_our_own_voice_grows_with_the_noise_and_no_further_than_whole() -> None:
    gains = [after(floor, 5000, turns=1).gain for floor in (3, 30, 100, 300, 1000, 3000)]
    assert gains == sorted(gains)
    assert gains[0] == pytest.approx(0.35) and gains[-1] == 1.0


def test_the_player_follows_without_a_step() -> None:
    player = Player()
    player.say(np.full(3200, 10_000, "<i2").tobytes())
    first = np.frombuffer(player.pull(3200), "<i2")
    assert set(first) == {10_000}
    player.gain = 0.5
    second = np.frombuffer(player.pull(3200), "<i2").astype(int)
    assert second[0] == 10_000 and second[-1] == 5000
    assert np.abs(np.diff(second)).max() <= 10
