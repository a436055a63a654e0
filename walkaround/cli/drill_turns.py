"""What a learner said in a drill, turn by turn, so that an interrupted one can be gone on with.

A file beside the journal, unsigned: a drill is its stage, its truck and what was said, and
comes out the same when that is said again.  The journal alone would not do: it holds what was
said to a step, and not the "next" in between.  The first line holds what the drill was made with.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from walkaround.devices.disk import JournalFile
from walkaround.devices.regular import LIST_BYTES, read_regular
from walkaround.errors import DiskError, NothingToResumeError

TURNS_NAME = "turns.jsonl"


@dataclass(frozen=True, slots=True)
class Made:
    """What a drill is made with, besides the data in its folder."""

    stage: str
    faults: Sequence[str]
    seed: int
    only: Sequence[str] | None
    most: int | None


@dataclass(frozen=True, slots=True)
class Turn:
    """One answer and what came of it. `said` None: the drill's opening. `did`: the moments at
    which the truck's hands began, in ms of the sitting with the truck's minutes counted in."""

    sitting: int
    said: str | None
    did: Sequence[int]


class TurnsFile:
    """Lines appended as they happen. Raises DiskError."""

    def __init__(self, folder: Path) -> None:
        self._file = JournalFile(folder / TURNS_NAME)

    def made(self, made: Made) -> None:
        self._write({"made": asdict(made)})

    def turn(self, turn: Turn) -> None:
        """Once all that came of it stands in the journal: what is half done is done again."""
        self._write(asdict(turn))

    def _write(self, line: dict[str, object]) -> None:
        self._file.append(json.dumps(line).encode() + b"\n")

    def close(self) -> None:
        self._file.close()


def read_turns(folder: Path) -> tuple[Made, tuple[Turn, ...]]:
    """Raises NothingToResumeError where there is no such file or it is damaged."""
    try:
        content = read_regular(folder / TURNS_NAME, LIST_BYTES)
    except FileNotFoundError:
        raise NothingToResumeError(
            f"{folder} is no drill that can be gone on with; start a new one"
        ) from None
    except OSError as bad:
        raise DiskError(f"cannot read {folder / TURNS_NAME} ({bad.strerror})") from bad
    whole = content[: content.rfind(b"\n") + 1]  # a last line may be torn
    try:
        first, *rest = (json.loads(line) for line in whole.splitlines())
        made = Made(**first["made"])
        turns = tuple(Turn(**line) for line in rest)
    except (ValueError, KeyError, TypeError, AttributeError):
        raise NothingToResumeError(
            f"{folder / TURNS_NAME} is damaged; what was practised counts: start a new drill"
        ) from None
    return made, turns
