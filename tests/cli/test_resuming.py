"""Which walk is taken up, with which key; and walks that were never begun."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.home import DEMO, WALK, Home, no_traceback
from walkaround.errors import (
    InUseError,
    JournalError,
    MicrophoneError,
    NothingToResumeError,
    SigningKeyError,
    UsageError,
    VoiceError,
)


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home(tmp_path)


def _newest(home: Home) -> Path:
    return max(home.records.iterdir(), key=lambda at: (at / "journal.jsonl").stat().st_mtime_ns)


def test_a_walk_that_is_taken_up_is_named_first(home: Home) -> None:
    home.walk()
    older = home.only_walk()
    home.walk()
    newer = _newest(home)
    lines = home.walk("--resume").stdout.splitlines()
    assert lines[0] == (
        f"This is the last of the unfinished walks in {home.records}. Others there: 1; take one "
        f"up by its folder, such as --resume {older}"
    )
    assert lines[1].startswith("Going on with the walk of ")
    assert " for CA-ON, begun 20" in lines[1] and lines[1].endswith(f": {newer}")
    assert "straight truck" in lines[1] or "truck" in lines[1]
    named = home.walk("--resume", older).stdout.splitlines()
    assert named[0].startswith("Going on with the walk of ") and named[0].endswith(str(older))


def test_a_damaged_walk_is_named_with_those_that_can_be_resumed(home: Home) -> None:
    home.walk()
    older = home.only_walk()
    home.walk()
    newer = _newest(home)
    journal = newer / "journal.jsonl"
    damaged = journal.read_bytes().replace(b'"seq":1', b'"seq":7', 1)
    journal.write_bytes(damaged)
    done = home.walk("--resume")
    assert done.returncode == JournalError.exit_code
    assert str(journal) in done.stderr
    assert f"--resume FOLDER, such as {older}" in done.stderr
    assert journal.read_bytes() == damaged
    assert home.walk("--resume", older).returncode == 3
    no_traceback(done)


@pytest.mark.parametrize("left", ["nothing", "half a line", "an opening", "what was asked"])
def test_a_walk_in_which_nothing_was_heard_is_not_offered(home: Home, left: str) -> None:
    """Nor is an earlier one taken in its place: it may be another vehicle's."""
    home.walk()
    older = home.only_walk()
    home.walk()
    newer = _newest(home)
    lines = (newer / "journal.jsonl").read_bytes().splitlines(keepends=True)
    (newer / "journal.jsonl").write_bytes(
        {
            "nothing": b"",
            "half a line": lines[0][:400],
            "an opening": lines[0],
            "what was asked": b"".join(lines[:3]),
        }[left]
    )
    assert b"Heard" not in (newer / "journal.jsonl").read_bytes()
    done = home.walk("--resume")
    assert done.returncode == NothingToResumeError.exit_code
    assert f"nothing was heard yet in the last walk, {newer}; start a new one" in done.stderr
    assert done.stderr.rstrip().endswith(f"such as {older}")
    assert home.run("keys", "--sign", newer).returncode in (
        SigningKeyError.exit_code, JournalError.exit_code,
    )  # fmt: skip
    assert home.walk("--resume", older).returncode == 3
    no_traceback(done)


def test_an_empty_walk_is_not_among_those_that_can_be_resumed(home: Home) -> None:
    home.walk()
    (home.only_walk() / "journal.jsonl").write_bytes(b"")
    home.walk()
    (_newest(home) / "journal.jsonl").write_bytes(b"")
    done = home.walk("--resume")
    assert done.returncode == NothingToResumeError.exit_code
    assert "such as" not in done.stderr


def test_a_folder_without_a_walk_is_told_and_not_made(home: Home) -> None:
    nowhere = home.folder / "nowhere"
    done = home.walk("--resume", nowhere)
    assert done.returncode == UsageError.exit_code
    assert not nowhere.exists()


def test_a_demo_does_not_stand_in_the_way_of_a_walk(home: Home) -> None:
    home.walk()
    real = home.only_walk()
    killed = home.run(*DEMO[:1], "--typo")
    assert killed.returncode == 2
    demo = home.demo()
    assert demo.returncode == 0
    (_newest(home) / "record.jws").unlink()
    assert home.walk("--resume").returncode == 3
    assert (real / "stopped.jws").is_file()


def test_a_finished_walk_without_a_record_points_to_signing(home: Home) -> None:
    home.demo()
    folder = home.only_walk()
    (folder / "record.jws").unlink()
    for more in ((), (folder,)):
        done = home.demo("--resume", *more)
        assert done.returncode == NothingToResumeError.exit_code
        assert f"keys --sign {folder}" in done.stderr


def test_another_key_is_refused_and_nothing_changes(home: Home) -> None:
    home.walk()
    journal = home.only_walk() / "journal.jsonl"
    before = journal.read_bytes()
    kept = (home.store / "device.pem").rename(home.folder / "kept.pem")
    done = home.walk("--resume")
    assert done.returncode == SigningKeyError.exit_code
    assert "was begun with the key" in done.stderr
    assert journal.read_bytes() == before
    kept.replace(home.store / "device.pem")
    assert home.walk("--resume").returncode == 3
    assert home.run("verify", home.only_walk() / "stopped.jws").returncode == 0


def test_a_walk_without_sound_leaves_no_folder(home: Home) -> None:
    """There is no sound device where the tests run; where there is one this is left out."""
    words = tuple(word for word in WALK if word != "--typed")
    done = home.run(*words, "--records", home.records, "--microphone", "no such microphone")
    assert done.returncode in (MicrophoneError.exit_code, VoiceError.exit_code, 40, 42)
    assert not home.records.exists() or not list(home.records.iterdir())
    no_traceback(done)


def test_two_at_once_in_one_folder(home: Home) -> None:
    home.walk()
    from walkaround.devices.disk import FolderLock  # noqa: PLC0415 - held while the other tries

    with FolderLock(home.only_walk()):
        done = home.walk("--resume")
        assert done.returncode == InUseError.exit_code
        signing = home.run("keys", "--sign", home.only_walk())
        assert signing.returncode == InUseError.exit_code


def test_the_headset_s_reach_is_asked_about_and_kept_in_the_journal(home: Home) -> None:
    done = home.run(*WALK, "--reach", "cab", "--records", home.records, typed="yes\nstop\n")
    no_traceback(done)
    journal = (home.only_walk() / "journal.jsonl").read_text(encoding="utf-8")
    assert '"reach":["cab"]' in journal
    refused = home.run(*WALK, "--reach", "cap", "--records", home.records)
    assert "knows no 'cap'" in refused.stderr
    assert refused.returncode == UsageError.exit_code
    assert home.only_walk().is_dir()  # and no folder was made for it
