"""The power is cut at every write of a walk, and at every byte of it: nothing heard is lost.

The method is the one that SQLite describes for its own journal ("How SQLite Is Tested",
section 3: out of space, I/O errors, crash simulation in which unsynchronised writes are lost,
cut, reordered by sector or filled with rubbish): one walk is recorded write by write, every
state that a cut may leave is built, and each is read and gone on with as after a real crash.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache

import pytest

from tests.walks.stories import OPENING, STORIES, library
from walkaround.cli.material import Material, files_from_library, judge_of, load
from walkaround.engine.state import State
from walkaround.errors import DiskError, JournalError
from walkaround.exchange import Event, SittingOpened
from walkaround.records.journal import (
    JournalReading,
    events,
    open_journal,
    read_journal,
    write_event,
)
from walkaround.records.keys import make_key
from walkaround.records.opening import Opening, outline_of
from walkaround.records.signature import WalkKind
from walkaround.simulated.stage import SimulatedStage
from walkaround.simulated.vehicle import facts_of
from walkaround.walk import Keeper, Walk, replay

SECTOR = 512
KEY = make_key(b"p" * 32)
STORY = STORIES["straight-truck-in-ontario"]


@dataclass
class Recorder:
    """A disk that remembers each write by itself, and fails from one of them on."""

    fails_at: int = -1
    writes: list[bytes] = field(default_factory=list)

    def append(self, entry: bytes) -> None:
        if len(self.writes) == self.fails_at:
            raise DiskError("cannot write the journal: the disk is full; make room, then resume")
        self.writes.append(entry)

    @property
    def content(self) -> bytes:
        return b"".join(self.writes)


@dataclass(frozen=True)
class Recorded:
    walk: Walk
    writes: tuple[bytes, ...]  # the opening first, then one for each event
    events: tuple[Event, ...]
    states: tuple[State, ...]  # after each event


@cache
def material_of_the_story() -> Material:
    """Read once, so that nobody's edit meanwhile makes two different walks."""
    files = files_from_library(library(), STORY.script, STORY.vehicle)
    return load(files, STORY.script, STORY.places)


def _walk(disk: Recorder) -> tuple[Walk, list[Event], list[State]]:
    material = material_of_the_story()
    opening = Opening(
        kind=WalkKind.SIMULATED,
        walk_id="power-cut",
        program="test",
        script=STORY.script,
        places=material.places,
        sources=material.sources(),
        outline=outline_of(material.plan),
        device=KEY.thumbprint,
    )
    line, head = open_journal(opening)
    disk.append(line)
    seen: list[Event] = []
    states: list[State] = []

    def watch(event: Event, state: State) -> None:
        seen.append(event)
        states.append(state)

    walk = Walk(
        material.plan,
        SimulatedStage(material.plan, facts_of(material.profile), 1),
        Keeper(disk, head, WalkKind.SIMULATED, KEY),
        judge_of(material),
        material.language,
        watch=watch,
    )
    return walk, seen, states


@cache
def recorded() -> Recorded:
    """One walk, undisturbed, write by write."""
    disk = Recorder()
    walk, seen, states = _walk(disk)
    walk.run(OPENING)
    return Recorded(walk, tuple(disk.writes), tuple(seen), tuple(states))


def damaged(kept: bytes, last: bytes, at: int) -> Iterator[tuple[str, bytes]]:
    """What a cut may leave of the last write, which was not yet synced when it came."""
    yield "cut", kept + last[:at]
    yield "the length came first", kept + last[:at] + b"\0" * (len(last) - at)
    begin = len(kept)
    sectors = range(begin - begin % SECTOR, begin + len(last), SECTOR)
    whole = kept + last
    for lost in sectors:
        first, end = max(lost, begin), min(lost + SECTOR, len(whole))
        yield "a sector never came", whole[:first] + b"\0" * (end - first) + whole[end:]
    rubbish = random.Random(at).randbytes(len(last) - at)
    yield "old bytes in a new block", kept + last[:at] + rubbish


def _check(kept: bytes, content: bytes, told: str) -> JournalReading:
    """Everything synced is there, to the byte; what is dropped is of the last write alone."""
    reading = read_journal(content, after_crash=True)
    whole = content[: reading.whole_bytes]
    assert whole.startswith(kept), told
    assert content == whole + reading.torn_tail, told
    line, head = write_event(reading.head, SittingOpened(reading.head.sitting + 1, "", "", 0))
    assert read_journal(whole + line).head == head, told
    return reading


def test_every_write_is_a_place_to_cut() -> None:
    walk = recorded()
    assert walk.walk.ended is not None
    assert len(walk.writes) > 100
    # The opening, then a write for each event, then the closing.
    assert len(walk.writes) == len(walk.events) + 2


def test_cut_between_two_writes_the_state_is_as_it_was() -> None:
    """Replayed from what is on the disk, the engine is where it was: for each write."""
    walk = recorded()
    kept = walk.writes[0]
    for number, (write, event) in enumerate(zip(walk.writes[1:-1], walk.events, strict=True)):
        kept += write
        if number % 7 and number < len(walk.events) - 8:  # a replay costs 20 ms
            continue
        read = events(read_journal(kept).entries)
        assert read == walk.events[: number + 1]
        assert read[-1] == event
        assert replay(walk.walk.plan, read) == walk.states[number]


def _places(write: bytes) -> list[int]:
    return sorted({0, 1, len(write) // 3, len(write) // 2, len(write) - 2, len(write) - 1})


@pytest.mark.parametrize("number", [1, 2, 9, -1])
def test_cut_inside_a_write(number: int) -> None:
    """Early writes at many places, the last of the walk at six; every kind of damage."""
    walk = recorded()
    kept, write = b"".join(walk.writes[:number]), walk.writes[number]
    for at in _places(write) if number < 0 else range(0, len(write), 13):
        for told, content in damaged(kept, write, at):
            _check(kept, content, f"{told} at byte {at}")


def test_cut_at_every_byte_of_a_write() -> None:
    walk = recorded()
    kept, write = b"".join(walk.writes[:3]), walk.writes[3]
    for at in range(len(write)):
        _check(kept, kept + write[:at], f"byte {at}")


@pytest.mark.slow
@pytest.mark.parametrize("part", range(8))
def test_cut_inside_every_write(part: int) -> None:
    """Every write of the walk, six places in each, every kind of damage."""
    walk = recorded()
    for number in range(1 + part, len(walk.writes), 8):
        kept, write = b"".join(walk.writes[:number]), walk.writes[number]
        for at in _places(write):
            for told, content in damaged(kept, write, at):
                _check(kept, content, f"{told} in write {number} at byte {at}")


def test_a_cut_in_the_opening_leaves_no_walk() -> None:
    """Before the first line is whole nothing was heard; the folder says so and is left alone."""
    first = recorded().writes[0]
    for at in range(0, len(first), 101):
        with pytest.raises(JournalError, match="nothing was kept"):
            read_journal(first[:at], after_crash=True)


def test_verifying_is_not_lenient() -> None:
    """What is forgiven when a walk is taken up again is never forgiven in a record's journal."""
    walk = recorded()
    content = b"".join(walk.writes[:20])
    changed = content[:-40] + b"!" + content[-39:]
    assert read_journal(changed, after_crash=True).torn_tail
    with pytest.raises(JournalError, match="line"):
        read_journal(changed)
    further_up = content[:200] + b"!" + content[201:]
    with pytest.raises(JournalError, match="line 1"):
        read_journal(further_up, after_crash=True)


@pytest.mark.parametrize("share", [0.0, 0.01, 0.2, 0.5, 0.99])
def test_a_full_disk_stops_the_walk_and_keeps_what_was_heard(share: float) -> None:
    walk = recorded()
    number = 1 + int(share * (len(walk.writes) - 2))
    disk = Recorder(fails_at=number)
    failing, seen, _ = _walk(disk)
    with pytest.raises(DiskError, match="make room"):
        failing.run(OPENING)
    assert tuple(disk.writes) == walk.writes[:number]
    assert tuple(seen[: number - 1]) == walk.events[: number - 1]
