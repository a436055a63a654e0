"""What is a person's, and can be deleted without a trace in the chain: particulars, recordings."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.records.walk_sample import CLOSING, EVENTS, KEY, joined, opening
from walkaround.devices.personal import (
    SOUND_NAME,
    delete_sounds,
    is_over,
    sounds_in,
)
from walkaround.devices.sound_clips import keep_sound, pack_sound
from walkaround.errors import JournalError
from walkaround.records.journal import (
    EntryKind,
    next_entry,
    open_journal,
    read_journal,
    write_closing,
    write_event,
    write_sound,
)
from walkaround.records.opening import Opening
from walkaround.records.report import Outcome
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.sound import Clip
from walkaround.records.summary import summarise
from walkaround.records.trust import TrustedKey, TrustList
from walkaround.records.verify import verify
from walkaround.records.wording import SOUND_NOTICE

KIND = WalkKind.WALK
TRUST = TrustList((TrustedKey(KEY.public, (KIND,), "x", ""),))


def _voice(hertz: int) -> bytes:
    t = np.arange(8000) / 16_000
    return (8000 * np.sin(2 * np.pi * hertz * t)).astype("<i2").tobytes()


def _walk_with(clips: list[Clip]) -> tuple[bytes, bytes]:
    """The journal and the record of a walk that has these recordings."""
    plain = opening(KIND)
    fields = {name: getattr(plain, name) for name in plain.__slots__}
    line, head = open_journal(Opening(**{**fields, "sound_until": "2026-05-30"}))
    parts = [line]
    for number, event in enumerate(EVENTS):
        line, head = write_event(head, event)
        parts.append(line)
        if number < len(clips):
            line, head = write_sound(head, clips[number])
            parts.append(line)
    line, _ = write_closing(head, CLOSING)
    journal = joined([*parts, line])
    summary = summarise(read_journal(journal), KEY.public.jwk())
    return journal, sign(summary, KEY, KIND, Paper.RECORD)


def kept(walk: Path, question: str, from_ms: int, sound: bytes) -> Clip:
    """Packed and written, as a walk does it."""
    clip, content = pack_sound(question, from_ms, sound)
    keep_sound(walk, clip, content)
    return clip


def test_a_recording_is_kept_as_it_was(tmp_path: Path) -> None:
    sound = _voice(220)
    clip = kept(tmp_path, "level.both", 5_000, sound)
    assert (clip.question, clip.from_ms, clip.until_ms) == ("level.both", 5_000, 5_500)
    path = tmp_path / SOUND_NAME / f"{clip.sha256}.flac"
    assert hashlib.sha256(path.read_bytes()).hexdigest() == clip.sha256
    samples, rate = soundfile.read(path, dtype="int16")
    assert rate == 16_000
    assert samples.tobytes() == sound
    assert path.stat().st_size < len(sound)


def test_deleting_leaves_the_chain_and_the_signature(tmp_path: Path) -> None:
    clips = [kept(tmp_path, "level.both", at, _voice(200 + at)) for at in (0, 100, 200)]
    journal, record = _walk_with(clips)
    whole = verify(record, TRUST, journal=journal, sounds=sounds_in(tmp_path))
    assert whole.trusted
    assert whole.steps[21].detail == "3 of 3 recordings"
    next((tmp_path / SOUND_NAME).iterdir()).unlink()
    some = verify(record, TRUST, journal=journal, sounds=sounds_in(tmp_path))
    assert some.trusted
    assert some.steps[21].detail == "2 of 3 recordings; 1 deleted"
    assert delete_sounds(tmp_path) == 2
    none = verify(record, TRUST, journal=journal, sounds=sounds_in(tmp_path))
    assert none.trusted
    assert none.steps[21].detail == "0 of 3 recordings; 3 deleted"
    assert delete_sounds(tmp_path) == 0


def test_a_recording_that_was_changed_or_put_in(tmp_path: Path) -> None:
    clip = kept(tmp_path, "level.both", 0, _voice(220))
    journal, record = _walk_with([clip])
    kept(tmp_path, "level.both", 0, _voice(330))
    report = verify(record, TRUST, journal=journal, sounds=sounds_in(tmp_path))
    assert [s.number for s in report.steps if s.outcome is Outcome.FAILED] == [22]
    assert not report.intact


def test_where_nothing_was_recorded(tmp_path: Path) -> None:
    assert sounds_in(tmp_path) is None
    assert delete_sounds(tmp_path) == 0
    journal, record = _walk_with([])
    report = verify(record, TRUST, journal=journal)
    assert report.steps[21].detail == "no sound was recorded"
    clip = Clip("level.both", "ab" * 32, 0, 1)
    journal, record = _walk_with([clip])
    assert verify(record, TRUST, journal=journal).steps[21].detail == "no recordings were given"


def test_the_journal_says_until_when_and_summing_up_does_not_change() -> None:
    clip = Clip("level.both", "ab" * 32, 0, 1)
    with_sound, without = (read_journal(_walk_with(clips)[0]) for clips in ([clip], []))
    assert with_sound.opening.sound_until == "2026-05-30"
    one, other = (summarise(reading, None) for reading in (with_sound, without))
    # Sound moves the entries' numbers and nothing else.
    assert one["findings"] == other["findings"]
    assert one["duration"] == other["duration"]


@pytest.mark.parametrize(
    "body",
    [{"question": "q"}, {"question": "q", "sha256": "x", "from_ms": 0, "until_ms": 1, "more": 1}],
)
def test_a_sound_entry_out_of_order(body: dict[str, object]) -> None:
    line, head = open_journal(opening(KIND))
    more, _ = next_entry(head, EntryKind.SOUND, body)  # type: ignore[arg-type]
    with pytest.raises(JournalError, match="line 2 "):
        read_journal(line + more)


def test_its_time_is_over_the_day_after() -> None:
    assert not is_over("2026-05-30", date(2026, 5, 30))
    assert is_over("2026-05-30", date(2026, 5, 31))
    assert is_over("when we like", date(2026, 5, 1))


def test_the_notice_is_plain() -> None:
    told = SOUND_NOTICE.format(day="30 May 2026")
    assert "30 May 2026" in told
    assert "Say stop" in told
