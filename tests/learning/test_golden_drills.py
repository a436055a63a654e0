"""The dialogues that a person has read, one for each stage: `python -m tests.learning.drills`."""

from __future__ import annotations

import pytest

from tests.learning.drills import DRILLS, GOLDEN, drilled
from walkaround.learning.drill import Stage


@pytest.mark.parametrize("name", DRILLS)
def test_the_dialogue_is_the_one_that_was_read(name: str) -> None:
    told = "\n".join(drilled(DRILLS[name]).lines) + "\n"
    assert told == (GOLDEN / f"{name}.txt").read_text(encoding="utf-8")


def test_there_is_one_for_each_stage() -> None:
    assert [practice.stage for practice in DRILLS.values()] == list(Stage)


@pytest.mark.parametrize("name", DRILLS)
def test_no_sentence_is_too_long_to_be_heard(name: str) -> None:
    """Citations aside, at most forty words: what can be kept in mind while it is heard (common
    practice, no source). An explanation has three parts."""
    for line in drilled(DRILLS[name]).lines:
        if line.startswith(">") or "(" in line or ";" in line:
            continue
        sentences = line.replace("?", ".").split(". ")
        assert max(len(sentence.split()) for sentence in sentences) <= 40, line
