"""What this room says when something is wrong is as it was read and agreed to."""

from __future__ import annotations

import re

from tests.records.every_sentence import GOLDEN, everything


def test_every_sentence_is_the_one_agreed_to() -> None:
    """Written anew by `python -m tests.records.every_sentence`."""
    assert everything() == GOLDEN.read_text("utf-8")


def test_no_sentence_praises_a_vehicle() -> None:
    text = re.sub(r"\bnot?\b.*", "", everything().lower())
    assert not re.search(r"\b(roadworthy|approved)\b", text)
