"""The recall book and its neighbours as they are shipped, for the tests of this room."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from walkaround.learning.book import RecallBook, load_recall
from walkaround.learning.match import Matcher
from walkaround.learning.parts import PartsBook, load_parts
from walkaround.learning.says import Says, load_says

RECALL = Path(__file__).resolve().parents[2] / "scripts" / "recall"


def content(name: str) -> tuple[bytes, str]:
    path = RECALL / f"{name}.yaml"
    return path.read_bytes(), path.name


@cache
def book() -> RecallBook:
    return load_recall(content("en"), content("en-why"), content("en-faults"))


@cache
def says() -> Says:
    return load_says(*content("en-says"))


@cache
def parts() -> PartsBook:
    return load_parts(*content("en-parts"))


@cache
def matcher() -> Matcher:
    """Of the book alone, whatever a plan may add."""
    return Matcher(book().phrases, book().words)
