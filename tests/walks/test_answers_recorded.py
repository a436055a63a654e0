"""Recording answers: off unless asked for, answers only, and never a file that nobody named."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from tests.records.walk_sample import KEY
from tests.walks.stories import Lines
from tests.walks.test_power_cut import material_of_the_story
from walkaround.cli.material import judge_of
from walkaround.devices.personal import delete_sounds, sounds_in
from walkaround.devices.sound_clips import SoundRecorder
from walkaround.exchange import Heard, Question, Said, SittingOpened, Unclear, Wording
from walkaround.records.journal import EntryKind, JournalReading, open_journal, read_journal
from walkaround.records.opening import Opening, outline_of
from walkaround.records.report import Report
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.sound import Clip, clips_of
from walkaround.records.summary import summarise
from walkaround.records.trust import TrustedKey, TrustList
from walkaround.records.verify import verify
from walkaround.simulated.driver import HUMAN
from walkaround.simulated.mouth import Letters
from walkaround.simulated.stage import SimulatedStage
from walkaround.simulated.vehicle import facts_of
from walkaround.speech.ports import Transcript
from walkaround.walk import Keeper, Recorder, Walk

KIND = WalkKind.SIMULATED
TRUST = TrustList((TrustedKey(KEY.public, (KIND,), "tests", ""),))


class Murmur:
    """Letters that come with a little sound of their own, as if an ear had heard it."""

    def say(
        self,
        words: str,
        onset_ms: int,
        question: Question,
        grammar: Sequence[str],
        noises: Sequence[str],
    ) -> tuple[tuple[Transcript, ...], int]:
        heard, end_ms = Letters().say(words, onset_ms, question, grammar, noises)
        sound = (onset_ms % 30_000).to_bytes(2, "little") * 1600
        return tuple(replace(one, sound=sound, sound_from_ms=onset_ms) for one in heard), end_ms


def walked(recorder: Recorder | None, disk: Lines) -> None:
    material = material_of_the_story()
    opening = Opening(
        kind=KIND,
        walk_id="recorded",
        program="test",
        script=material.plan.script,
        places=material.places,
        sources=material.sources(),
        outline=outline_of(material.plan),
        device=KEY.thumbprint,
        sound_until="2027-01-01",
    )
    line, head = open_journal(opening)
    disk.append(line)
    stage = SimulatedStage(
        material.plan, facts_of(material.profile), 7, temperament=HUMAN, mouth=Murmur()
    )
    keeper = Keeper(disk, head, KIND, KEY, recorder)
    Walk(material.plan, stage, keeper, judge_of(material), material.language).run(
        SittingOpened(1, "2026-03-01T06:30:00Z", "b", 0, Wording.SHORT)
    )


def named(reading: JournalReading) -> tuple[Clip, ...]:
    return clips_of(e.body for e in reading.entries if e.kind is EntryKind.SOUND)


def verified(journal: bytes, folder: Path) -> Report:
    record = sign(summarise(read_journal(journal), KEY.public.jwk()), KEY, KIND, Paper.RECORD)
    return verify(record, TRUST, journal=journal, sounds=sounds_in(folder) or {})


def test_every_answer_is_kept_and_nothing_else(tmp_path: Path) -> None:
    disk = Lines()
    walked(SoundRecorder(tmp_path, pytest.fail), disk)
    reading = read_journal(bytes(disk.content))
    clips = named(reading)
    assert len(clips) > 40
    others = 0
    for before, entry in zip(reading.entries, reading.entries[1:], strict=False):
        heard = before.event() if before.kind is EntryKind.EVENT else None
        if entry.kind is EntryKind.SOUND:
            assert isinstance(heard, Heard)
            assert not isinstance(heard.meaning, (Unclear, Said))
            assert entry.body["question"] == heard.question
            assert entry.body["from_ms"] == heard.occurred_ms
        elif isinstance(heard, Heard):
            assert isinstance(heard.meaning, (Unclear, Said))
            others += 1
    assert others  # the driver of this walk slips: so there was something to leave out
    files = sounds_in(tmp_path)
    assert files is not None
    assert {f"{clip.sha256}.flac" for clip in clips} == set(files)
    assert all(name == f"{hashlib.sha256(c).hexdigest()}.flac" for name, c in files.items())
    report = verified(bytes(disk.content), tmp_path)
    assert report.trusted
    assert report.steps[21].detail == f"{len(files)} of {len(files)} recordings"
    delete_sounds(tmp_path)
    assert verified(bytes(disk.content), tmp_path).trusted


def test_without_a_recorder_the_sound_goes_nowhere(tmp_path: Path) -> None:
    disk = Lines()
    walked(None, disk)
    assert named(read_journal(bytes(disk.content))) == ()
    assert sounds_in(tmp_path) is None


class CutError(Exception):
    """The process is gone."""


class CutDisk(Lines):
    """Dies at the write of that number, before it is on the disk."""

    def __init__(self, at: int) -> None:
        super().__init__()
        self.left = at

    def append(self, entry: bytes) -> None:
        self.left -= 1
        if self.left < 0:
            raise CutError
        super().append(entry)


class CutRecorder(SoundRecorder):
    """Dies before a file is written."""

    left = 3

    def keep(self, clip: Clip, content: bytes) -> None:
        self.left -= 1
        if self.left < 0:
            raise CutError
        super().keep(clip, content)


@pytest.mark.parametrize("at", range(3, 24))
def test_cut_short_at_any_write_no_file_is_there_that_the_journal_does_not_name(
    tmp_path: Path, at: int
) -> None:
    disk = CutDisk(at)
    with pytest.raises(CutError):
        walked(SoundRecorder(tmp_path, pytest.fail), disk)
    clips = {f"{clip.sha256}.flac" for clip in named(read_journal(bytes(disk.content)))}
    assert set(sounds_in(tmp_path) or {}) <= clips


def test_cut_short_between_journal_and_file_the_recording_counts_as_deleted(tmp_path: Path) -> None:
    disk = Lines()
    with pytest.raises(CutError):
        walked(CutRecorder(tmp_path, pytest.fail), disk)
    report = verified(bytes(disk.content), tmp_path)
    assert report.trusted
    assert report.steps[21].detail == "3 of 4 recordings; 1 deleted"


def test_a_disk_that_refuses_the_sound_stops_no_walk(tmp_path: Path) -> None:
    (tmp_path / "sound").write_text("a file where the folder should be")
    told: list[str] = []
    disk = Lines()
    walked(SoundRecorder(tmp_path, told.append), disk)
    assert read_journal(bytes(disk.content)).head.complete
    assert len(told) == 1
    assert "an answer's sound is not kept" in told[0]
    assert str(tmp_path) in told[0]
