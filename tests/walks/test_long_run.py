"""Many walks in one process, nothing spared: nothing grows, no walk is lost.

Each walk has a truck with faults drawn at random and a driver who mumbles, talks aside, corrects
himself, asks to wait; the ear mishears or hears nothing; the microphone goes for a minute; the
disk fails now and then and the walk is taken up again from what it kept.  6 walks in each run
of the tests, 200 with --slow.
"""

from __future__ import annotations

import gc
import os
import sys
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from random import Random

import pytest

from tests.walks.stories import library
from walkaround.cli.material import Material, files_from_library, judge_of, load
from walkaround.devices.disk import JOURNAL_NAME, FolderLock, JournalFile, make_folder
from walkaround.engine.state import State
from walkaround.errors import DiskError
from walkaround.exchange import (
    MicrophoneBack,
    MicrophoneLost,
    Question,
    SittingOpened,
    Wording,
)
from walkaround.records.journal import Ended, Head, events, open_journal, read_journal
from walkaround.records.keys import make_key
from walkaround.records.opening import Opening, outline_of
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.summary import summarise
from walkaround.records.trust import TrustedKey, TrustList
from walkaround.records.verify import verify
from walkaround.simulated.driver import Temperament
from walkaround.simulated.faults import FAULTS, with_faults
from walkaround.simulated.mouth import Letters
from walkaround.simulated.stage import SimulatedStage
from walkaround.simulated.vehicle import facts_of
from walkaround.speech.ports import Arrival, Transcript, Word
from walkaround.walk import Keeper, Walk, replay

KEY = make_key(b"l" * 32)
KIND = WalkKind.SIMULATED
TRUST = TrustList((TrustedKey(KEY.public, (KIND,), "long run", ""),))
CLUMSY = Temperament(0.06, 0.06, 0.08, 0.05, 0.05, 0.05)
VEHICLES = (
    ("straight-truck", "demo-truck"),
    ("tractor-trailer", "demo-tractor"),
    ("bus", "demo-bus"),
)
MINUTE_MS = 60_000
_MOST_SITTINGS = 12


class BadEar:
    """Hears one word in some as no word, or hears nothing at all."""

    def __init__(self, draw: Random, share: float) -> None:
        self._letters, self._draw, self._share = Letters(), draw, share

    def say(
        self,
        words: str,
        onset_ms: int,
        question: Question,
        grammar: Sequence[str],
        noises: Sequence[str],
    ) -> tuple[tuple[Transcript, ...], int]:
        heard, end_ms = self._letters.say(words, onset_ms, question, grammar, noises)
        if self._draw.random() >= self._share:
            return heard, end_ms
        if self._draw.random() < 0.3:
            return (), end_ms
        return tuple(self._garbled(transcript) for transcript in heard), end_ms

    def _garbled(self, transcript: Transcript) -> Transcript:
        words = list(transcript.words)
        if words:
            at = self._draw.randrange(len(words))
            words[at] = Word("[unk]", words[at].start_ms, words[at].end_ms, 0.3)
        return replace(transcript, words=tuple(words), free=None)


class Troubled:
    """A stage whose microphone is lost for a minute now and then."""

    def __init__(self, stage: SimulatedStage, draw: Random, share: float) -> None:
        self._stage, self._draw, self._share = stage, draw, share
        self._back: list[MicrophoneBack] = []
        self.lost = 0
        self.now_ms, self.say, self.tone = stage.now_ms, stage.say, stage.tone
        self.listen, self.wake_at, self.cancel_wake = stage.listen, stage.wake_at, stage.cancel_wake
        self.close, self.hush = stage.close, stage.hush

    def next(self) -> Arrival:
        if self._back:
            return self._back.pop()
        arrival = self._stage.next()
        if self._draw.random() < self._share:
            at = self._stage.now_ms()
            self._back.append(MicrophoneBack(at + MINUTE_MS, at + MINUTE_MS))
            self.lost += 1
            return MicrophoneLost("the headset is gone", at, at)
        return arrival


class FailingDisk:
    """A journal on a real disk that refuses a write now and then."""

    def __init__(self, file: JournalFile, draw: Random, share: float) -> None:
        self._file, self._draw, self._share = file, draw, share

    def append(self, entry: bytes) -> None:
        if self._draw.random() < self._share:
            raise DiskError("cannot write the journal: the disk is full; make room, then resume")
        self._file.append(entry)


@dataclass
class Count:
    """What the walks came to."""

    complete: int = 0
    sittings: int = 0
    disk_failures: int = 0
    microphone_lost: int = 0


@cache
def material(script: str, vehicle: str) -> Material:
    return load(files_from_library(library(), script, vehicle), script, ("CA-ON", "US"))


def one_walk(folder: Path, draw: Random, count: Count) -> None:
    """Walk to the end, over as many sittings as it takes, and verify what is left of it."""
    script, vehicle = draw.choice(VEHICLES)
    made_of = material(script, vehicle)
    plain = facts_of(made_of.profile)
    fitting = sorted(n for n, fault in FAULTS.items() if fault.needs_trailers <= plain.trailers)
    facts = with_faults(plain, draw.sample(fitting, draw.choice((0, 0, 1, 2))))
    seed = draw.randrange(10_000)
    make_folder(folder)
    kept: dict[str, object] = {}
    for _ in range(_MOST_SITTINGS):
        stage = SimulatedStage(
            made_of.plan, facts, seed, temperament=CLUMSY, mouth=BadEar(draw, 0.04)
        )
        if kept:
            stage.restore(kept)
        ended = _sitting(folder, made_of, stage, draw, count)
        kept = stage.snapshot()
        count.sittings += 1
        if ended is Ended.COMPLETE:
            count.complete += 1
            break
    _must_verify(folder)


def _sitting(
    folder: Path, made_of: Material, stage: SimulatedStage, draw: Random, count: Count
) -> Ended | None:
    with FolderLock(folder):
        file = JournalFile(folder / JOURNAL_NAME)
        try:
            head, state = _taken_up(file, folder.name, made_of)
            troubled = Troubled(stage, draw, 0.01)
            walk = Walk(
                made_of.plan,
                troubled,
                Keeper(FailingDisk(file, draw, 0.002), head, KIND, KEY),
                judge_of(made_of),
                made_of.language,
                state=state,
            )
            opening = SittingOpened(state.sitting + 1, "2026-03-01T08:00:00Z", "b", 0, Wording.CUE)
            try:
                return walk.run(opening)
            except DiskError:
                count.disk_failures += 1
                return None
            finally:
                count.microphone_lost += troubled.lost
        finally:
            file.close()


def _taken_up(file: JournalFile, name: str, made_of: Material) -> tuple[Head, State]:
    content = file.read()
    if not content:
        opening = Opening(
            KIND, name, "test", made_of.plan.script, made_of.places, made_of.sources(),
            outline_of(made_of.plan), device=KEY.thumbprint,
        )  # fmt: skip
        line, head = open_journal(opening)
        file.append(line)
        return head, replay(made_of.plan, ())
    reading = read_journal(content, after_crash=True)
    return reading.head, replay(made_of.plan, events(reading.entries))


def _must_verify(folder: Path) -> None:
    """Complete or not, what is there is whole: it is summed up, signed and verified."""
    journal = (folder / JOURNAL_NAME).read_bytes()
    summary = summarise(read_journal(journal), KEY.public.jwk())
    report = verify(sign(summary, KEY, KIND, Paper.RECORD), TRUST, journal=journal)
    assert report.trusted, report.lines()


# ---------------------------------------------------------------- what may not grow


@dataclass(frozen=True)
class Held:
    """What this process holds of the system: descriptors, threads, children, memory in kB."""

    descriptors: int
    threads: int
    children: int
    resident_kb: int
    objects: int


def held() -> Held:
    gc.collect()
    me = Path("/proc/self")
    status = dict(
        line.split(":", 1) for line in (me / "status").read_text().splitlines() if ":" in line
    )
    children = (me / "task" / str(os.getpid()) / "children").read_text().split()
    return Held(
        len(list((me / "fd").iterdir())),
        threading.active_count(),
        len(children),
        int(status["VmRSS"].split()[0]),
        len(gc.get_objects()),
    )


def many(folder: Path, walks: int, after: Callable[[int], None]) -> Count:
    draw, count = Random(7), Count()
    for kinds in VEHICLES:
        material(*kinds)  # read once for all walks: no growth
    for number in range(walks):
        one_walk(folder / f"walk-{number:04}", draw, count)
        after(number)
    return count


@pytest.mark.skipif(sys.platform != "linux", reason="what is held is read from /proc")
@pytest.mark.parametrize(
    "walks", [6, pytest.param(200, marks=pytest.mark.slow)], ids=["few", "many"]
)
def test_nothing_grows_and_no_walk_is_lost(walks: int, tmp_path: Path) -> None:
    settled, marks = walks // 3, list[Held]()

    def after(number: int) -> None:
        if number in (settled, walks - 1):
            marks.append(held())

    count = many(tmp_path, walks, after)
    sys.stdout.write(f"\n{walks} walks: {count}; {marks[0]} -> {marks[-1]}\n")
    assert count.complete == walks
    assert count.sittings >= walks
    assert count.microphone_lost > 0
    assert count.disk_failures > 0 or walks < 100
    first, last = marks
    assert (last.descriptors, last.threads, last.children) == (
        first.descriptors, first.threads, first.children,
    )  # fmt: skip
    assert last.objects < first.objects * 1.02
    assert last.resident_kb < first.resident_kb + 8_000
