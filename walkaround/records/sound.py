"""Recordings of answers, named in the journal by their hash: evidence that can be deleted.

Off unless it was asked for.  The journal never holds sound, so that a recording may be
deleted, when its time is over or because the person wants it gone, and every hash, every
signature and the chain stay as they were.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from walkaround.errors import JournalError, RecordError
from walkaround.records.canonical import Json
from walkaround.records.shape import Members


@dataclass(frozen=True, slots=True)
class Clip:
    """One recording: under which question, from and until when in ms of the sitting, and the
    SHA-256 of its file, 64 hexadecimal letters."""

    question: str
    sha256: str
    from_ms: int
    until_ms: int


def clips_of(bodies: Iterable[Mapping[str, Json]]) -> tuple[Clip, ...]:
    """The recordings that sound entries name, in order. Raises JournalError."""
    return tuple(_clip(Members(body, "a sound entry", JournalError)) for body in bodies)


def _clip(members: Members) -> Clip:
    clip = Clip(
        members.text("question"),
        members.text("sha256"),
        members.integer("from_ms"),
        members.integer("until_ms"),
    )
    members.done()
    return clip


def match_sounds(clips: Iterable[Clip], sounds: Mapping[str, bytes]) -> str:
    """How many of the recordings are here. Raises RecordError for one that is not named."""
    wanted = {clip.sha256 for clip in clips}
    here = set()
    for name, content in sounds.items():
        digest = hashlib.sha256(content).hexdigest()
        if digest not in wanted:
            raise RecordError(
                f"the recording '{name[:80]}' is not one that was made; do not use it"
            )
        here.add(digest)
    gone = len(wanted) - len(here)
    return f"{len(here)} of {len(wanted)} recordings" + (f"; {gone} deleted" if gone else "")
