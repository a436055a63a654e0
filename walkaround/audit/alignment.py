"""A walk laid beside its script: what was left out, moved, repeated or put in.

Position is never a fault here; it is shown so that a trainer sees the order at a glance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rapidfuzz.distance import Indel


@dataclass(frozen=True, slots=True)
class Alignment:
    """Step ids; `distance` counts the steps to take out and put in to get the walk's order."""

    left_out: tuple[str, ...]
    moved: tuple[str, ...]
    repeated: tuple[str, ...]
    put_in: tuple[str, ...]
    distance: int

    @property
    def as_written(self) -> bool:
        return self.distance == 0


def align(script: Sequence[str], walked: Sequence[str]) -> Alignment:
    """Lay the steps walked, in order, beside the script's (longest common subsequence)."""
    opcodes = Indel.opcodes(tuple(script), tuple(walked))
    gone = [
        step for op in opcodes if op.tag != "equal" for step in script[op.src_start : op.src_end]
    ]
    come = [
        step for op in opcodes if op.tag != "equal" for step in walked[op.dest_start : op.dest_end]
    ]
    known, seen = set(script), set(walked)
    moved = [step for step in gone if step in seen]
    extra = [step for step in come if step not in moved]
    twice = [step for step in come if walked.count(step) > 1]
    return Alignment(
        left_out=tuple(step for step in gone if step not in seen),
        moved=tuple(step for step in moved if step not in twice),
        repeated=tuple(dict.fromkeys(twice)),
        put_in=tuple(step for step in extra if step not in known),
        distance=len(gone) + len(come),
    )
