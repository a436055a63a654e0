"""A short run of every fuzz target: its seeds, what was found before, some mutants of both.

The long run is `python -m tests.fuzz.run`, which is led by coverage.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.fuzz.mutate import mutated
from tests.fuzz.targets import TARGETS

FOUND = Path(__file__).parent / "found"
MUTANTS = 300


def _found(name: str) -> list[bytes]:
    """Inputs that once broke the law, kept for ever."""
    return [path.read_bytes() for path in sorted((FOUND / name).glob("*"))]


@pytest.mark.parametrize("name", TARGETS)
def test_what_it_begins_with(name: str) -> None:
    target = TARGETS[name]
    for content in (b"", b"\0", *_found(name), *target.seeds()):
        target.law(content)


@pytest.mark.parametrize("name", TARGETS)
def test_mutants(name: str) -> None:
    target = TARGETS[name]
    seeds = [*target.seeds(), *_found(name)]
    draw = random.Random(f"short {name}")
    for _ in range(MUTANTS):
        target.law(mutated(seeds, draw, target.largest))


@pytest.mark.parametrize("name", TARGETS)
def test_any_bytes(name: str) -> None:
    target = TARGETS[name]

    @settings(max_examples=40, deadline=None)
    @given(
        st.binary(max_size=300) | st.text(max_size=200).map(lambda t: t.encode("utf-8", "replace"))
    )
    def law(content: bytes) -> None:
        target.law(content)

    law()
