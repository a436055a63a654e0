"""What goes out: order, tones on top, holding and dropping."""

from __future__ import annotations

import numpy as np
import pytest

from walkaround.devices.ear.player import Player, tone_sound
from walkaround.exchange import ToneKind


def test_sentences_go_out_whole_and_in_order_in_any_size_of_piece() -> None:
    one, two = b"\1\0" * 700, b"\2\0" * 300
    for size in (2, 100, 1600, 5000):
        player = Player()
        player.say(one)
        player.say(two)
        out = b"".join(player.pull(size) for _ in range(2000 // size + 2))
        assert out.rstrip(b"\0") == (one + two).rstrip(b"\0")
        assert not player.waiting


def test_nothing_to_say_is_silence() -> None:
    assert Player().pull(100) == bytes(100)


def test_a_held_sentence_begins_again() -> None:
    player = Player()
    player.say(b"\1\0\2\0\3\0")
    assert player.pull(4) == b"\1\0\2\0"
    player.hold()
    assert not player.sounding
    assert player.waiting
    assert player.pull(4) == bytes(4)
    player.resume()
    assert player.pull(6) == b"\1\0\2\0\3\0"


def test_a_dropped_prompt_is_not_said() -> None:
    player = Player()
    player.say(b"\1\0" * 10)
    player.hold()
    player.drop()
    assert not player.waiting
    player.say(b"\2\0")
    assert player.pull(2) == b"\2\0"


def test_a_tone_sounds_at_once_over_a_sentence() -> None:
    player = Player()
    player.say(b"\1\0" * 20_000)
    player.tone(tone_sound(ToneKind.TAKEN))
    out = np.frombuffer(player.pull(1600), dtype="<i2")
    assert np.abs(out).max() > 5000


@pytest.mark.parametrize("kind", list(ToneKind))
def test_every_tone_is_short_and_has_a_sound(kind: ToneKind) -> None:
    sound = np.frombuffer(tone_sound(kind), dtype="<i2")
    assert 0.05 < len(sound) / 16_000 < 0.3
    assert 5000 < np.abs(sound).max() < 32_767
