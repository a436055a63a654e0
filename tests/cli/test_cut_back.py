"""A journal that no longer reaches what was signed of it: refused, and nothing written over.

And what lies in a walk's folder and was damaged while nobody walked.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.cli.home import Done, Home, no_traceback
from walkaround.errors import JournalError, RecordError


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home(tmp_path)


def _cut(folder: Path, lines: int) -> None:
    journal = folder / "journal.jsonl"
    kept = journal.read_bytes().splitlines(keepends=True)[:-lines]
    journal.write_bytes(b"".join(kept))


def _resume(home: Home, folder: Path) -> Done:
    done = home.walk("--resume", folder)
    no_traceback(done)
    return done


def _all(folder: Path) -> dict[str, bytes]:
    return {
        at.name: at.read_bytes() for at in folder.iterdir() if at.is_file() and at.name[0] != "."
    }


@pytest.mark.parametrize("lines", [1, 2])
def test_a_cut_journal_is_not_gone_on_with(home: Home, lines: int) -> None:
    home.walk()
    folder = home.only_walk()
    _cut(folder, lines)
    before = _all(folder)
    for done in (_resume(home, folder), home.run("keys", "--sign", folder)):
        assert done.returncode == JournalError.exit_code
        assert "no longer holds what stopped.jws was signed over" in done.stderr
        assert _all(folder) == before


def test_a_finished_walk_s_journal_cut_back_is_not_gone_on_with(home: Home) -> None:
    home.demo()
    folder = home.only_walk()
    _cut(folder, 30)
    before = _all(folder)
    done = home.demo("--resume", folder)
    assert done.returncode == JournalError.exit_code
    assert "no longer holds what record.jws was signed over" in done.stderr
    assert _all(folder) == before


def test_the_device_s_log_knows_how_often_a_walk_was_signed(home: Home) -> None:
    """Both the journal's end and the signed record are gone: the log's lines stay."""
    home.walk()
    folder = home.only_walk()
    first = _all(folder)
    assert _resume(home, folder).returncode == 3
    second = (folder / "stopped.jws").read_bytes()
    for name in ("journal.jsonl", "stopped.jws"):
        (folder / name).write_bytes(first[name])  # the whole folder as it was after sitting 1
    done = _resume(home, folder)
    assert done.returncode == JournalError.exit_code
    assert "this device signed 2 records" in done.stderr
    assert (folder / "stopped.jws").read_bytes() == first["stopped.jws"] != second

    log = home.folder / "log"
    log.write_text(home.run("keys", "--log").stdout, encoding="utf-8")
    told = home.run("verify", folder, "--log", log).stdout
    assert f"in the log and not shown: an earlier record of {folder.name}" not in told
    assert f"in the log and not shown: {folder.name}, signed" in told


def test_a_walk_gone_through_twice_shows_in_the_log(home: Home) -> None:
    """On another device's disk the journal was cut back, and the log was not at hand."""
    home.walk()
    folder = home.only_walk()
    first = _all(folder)
    (logged,) = home.store.glob("device-log.*.jsonl")
    _resume(home, folder)
    aside = logged.rename(home.folder / "aside")
    for name in ("journal.jsonl", "stopped.jws"):
        (folder / name).write_bytes(first[name])
    assert _resume(home, folder).returncode == 3
    logged.unlink()
    aside.rename(logged)
    (folder / "stopped.jws").unlink()
    assert home.run("keys", "--sign", folder).returncode == 0  # noted as the third record
    done = home.run("verify", folder)
    assert "number 3 of the records of this walk in the log" in done.stdout
    assert "2 sittings: that was CUT BACK" in done.stdout
    log = home.folder / "log"
    log.write_bytes(logged.read_bytes())
    for words in (("verify", folder), ("audit", home.records, "--page", home.folder / "a.html")):
        told = home.run(*words, "--log", log).stdout
        assert told.count(f"in the log and not shown: an earlier record of {folder.name}") == 2
        assert f"in the log and not shown: {folder.name}" not in told


def test_a_record_that_was_only_lost_is_told_and_the_walk_goes_on(home: Home) -> None:
    """On a full disk the log has the line, and the record was never written."""
    home.walk()
    folder = home.only_walk()
    (folder / "stopped.jws").unlink()
    done = _resume(home, folder)
    assert done.returncode == 3
    assert "is not there any more" in done.stderr
    assert "not there any more" not in _resume(home, folder).stderr


@pytest.mark.parametrize("content", [b"", b"garbage", b"a.b.c"])
def test_a_record_that_does_not_read_is_not_written_over(home: Home, content: bytes) -> None:
    home.walk()
    folder = home.only_walk()
    (folder / "stopped.jws").write_bytes(content)
    before = _all(folder)
    done = _resume(home, folder)
    assert done.returncode == RecordError.exit_code
    assert f"{folder / 'stopped.jws'} is not intact" in done.stderr
    assert _all(folder) == before


def test_another_walk_s_record_is_not_written_over(home: Home) -> None:
    home.walk()
    one = home.only_walk()
    home.walk()
    other = max(home.records.iterdir(), key=os.path.getmtime)
    (one / "stopped.jws").write_bytes((other / "stopped.jws").read_bytes())
    done = _resume(home, one)
    assert done.returncode == RecordError.exit_code
    assert f"is the record of another walk, {other.name}" in done.stderr


@pytest.mark.parametrize("content", [b"", b"{}", b"not json"])
def test_damaged_particulars_are_told_at_resume(home: Home, content: bytes) -> None:
    home.walk("--driver", "A. Driver")
    folder = home.only_walk()
    whole = (folder / "openings.json").read_bytes()
    (folder / "openings.json").write_bytes(content)
    before = _all(folder)
    for done in (_resume(home, folder), home.run("keys", "--sign", folder)):
        assert done.returncode == RecordError.exit_code
        assert f"{folder / 'openings.json'} is not what the walk was begun with" in done.stderr
        assert _all(folder) == before
    (folder / "openings.json").write_bytes(whole)
    assert _resume(home, folder).returncode == 3
    (folder / "openings.json").write_bytes(content)
    assert home.run("forget", folder).returncode == 0  # the way on that was named
    assert _resume(home, folder).returncode == 3
    assert home.run("verify", folder).returncode == 0


def test_somebody_else_s_particulars_are_told_at_resume(home: Home) -> None:
    home.walk("--driver", "A. Driver")
    one = home.only_walk()
    home.walk("--driver", "B. Driver")
    other = max(home.records.iterdir(), key=os.path.getmtime)
    (one / "openings.json").write_bytes((other / "openings.json").read_bytes())
    done = _resume(home, one)
    assert done.returncode == RecordError.exit_code
    assert "the walk was not begun with this 'driver'" in done.stderr
