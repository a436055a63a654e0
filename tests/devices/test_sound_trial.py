"""The sound trial, held at the keyboard: what it asks, counts, says and keeps."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.speech.books import english, thresholds
from walkaround.devices.sound_trial import (
    NOT_FOUND,
    NUMBERS,
    TrialResult,
    keep,
    last_kept,
    sound_trial,
)
from walkaround.devices.stage_typed import TypedStage
from walkaround.exchange import Question

GOOD = ("yes", "continue", *map(str, NUMBERS))


class Desk(TypedStage):
    """A keyboard at which each question gets the next line; after the last nobody types."""

    def __init__(self, lines: Sequence[str]) -> None:
        read, self._hand = os.pipe()
        self._coming = list(lines)
        self.printed: list[str] = []
        super().__init__(self.printed.append, read)

    def listen(
        self, question: Question, grammar: Sequence[str], quiet_after_ms: int | None
    ) -> None:
        super().listen(question, grammar, 200 if quiet_after_ms else None)
        if self._coming:
            os.write(self._hand, f"{self._coming.pop(0)}\n".encode())


def held(*lines: str) -> tuple[TrialResult, Desk]:
    desk = Desk(lines)
    result = sound_trial(
        desk, english(), thresholds(), lambda: 14.0, when="2026-01-31T08:15:30Z", microphone="base"
    )
    return result, desk


def test_five_numbers_at_the_far_corner() -> None:
    result, desk = held(*GOOD)
    assert result == TrialResult("2026-01-31T08:15:30Z", "base", True, 5, 5, 0, 14.0)
    assert result.good
    text = "\n".join(desk.printed)
    assert "one hundred and five" in text and "5 of 5 numbers taken" in text
    assert text.index("far corner of the vehicle") < text.index("one hundred and five")


def test_a_wrong_number_is_never_good() -> None:
    result, _ = held("yes", "continue", "105", "15", "118", "15", "92")
    assert (result.right, result.wrong, result.good) == (4, 1, False)
    assert "1 of them wrongly" in result.sentence() and "try again" in result.sentence()


def test_one_number_missed_is_still_good_and_two_are_not() -> None:
    assert held("yes", "continue", "105", "mumble", "118", "15", "92")[0].good
    assert not held("yes", "continue", "105", "mumble", "118", "mumble", "92")[0].good


@pytest.mark.parametrize("lines", [(), ("no",)])
def test_nobody_heard_here_ends_it_with_a_way_on(lines: tuple[str, ...]) -> None:
    result, _ = held(*lines)
    assert (result.heard_here, result.said) == (False, 0)
    assert result.sentence() == NOT_FOUND


def test_other_words_on_the_way_are_waited_out_and_stop_ends_it() -> None:
    assert held("yes", "coming", "continue", *map(str, NUMBERS))[0].right == 5
    result, _ = held("yes", "stop")
    assert result.heard_here and not result.said and not result.good
    assert "not tried" in result.sentence()


def test_the_last_result_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "own" / "sound-trial.json"
    assert last_kept(path) is None
    result, _ = held(*GOOD)
    keep(result, path)
    assert last_kept(path) == result
    path.write_text("{", encoding="utf-8")
    assert last_kept(path) is None
    path.write_text('{"another": 1}', encoding="utf-8")
    assert last_kept(path) is None
