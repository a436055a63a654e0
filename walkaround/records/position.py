"""A place in a device's log: what a copied head pins, and what a journal says it began after."""

from __future__ import annotations

from dataclasses import dataclass

from walkaround.records.canonical import Json
from walkaround.records.shape import Members


@dataclass(frozen=True, slots=True)
class Position:
    """A line's number, counted from 0, and the SHA-256 of its bytes without the line end."""

    seq: int
    hash: str

    def plain(self) -> dict[str, Json]:
        return {"seq": self.seq, "hash": self.hash}


def read_position(members: Members) -> Position:
    """The position of {"hash":..,"seq":..}. Raises the members' own error."""
    position = Position(members.integer("seq"), members.text("hash"))
    members.done()
    return position
