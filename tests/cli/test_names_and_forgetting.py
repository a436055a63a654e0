"""Names that could move a cursor, and particulars of a walk that is being walked."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.home import WALK, Home, no_traceback
from walkaround.devices.disk import FolderLock
from walkaround.errors import InUseError, UsageError

ODD = ("a\nb", "a\x1b[2Jb", "\u202eb")


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home(tmp_path)


def test_a_name_with_control_characters_is_refused(home: Home) -> None:
    exported = home.run("keys", "--export").stdout
    assert json.loads(exported)["crv"] == "Ed25519"
    key = home.folder / "key.json"
    key.write_text(exported, encoding="utf-8")
    before = (home.store / "trust.jsonl").read_bytes()
    for odd in ODD:
        for words in (
            ("keys", "--trust", key, "--name", odd),
            ("keys", "--distrust", "x", "--why", odd),
            (*WALK, "--records", home.records, "--driver", odd),
        ):
            done = home.run(*words)
            assert done.returncode == UsageError.exit_code
            assert "cannot be printed" in done.stderr
            no_traceback(done)
    assert (home.store / "trust.jsonl").read_bytes() == before
    assert not home.records.exists()


def test_an_audit_takes_no_more_processes_than_there_are_cores(home: Home) -> None:
    home.demo()
    page = home.folder / "page.html"
    done = home.run("audit", home.records, "--processes", "5000", "--page", page)
    no_traceback(done)
    assert done.returncode == 0, done.stderr
    assert "a mistake of ours" not in done.stderr


def test_what_is_being_walked_is_not_forgotten(home: Home) -> None:
    home.walk("--driver", "A. Driver")
    busy = home.only_walk()
    home.walk("--driver", "B. Driver")
    (free,) = set(home.records.iterdir()) - {busy}
    with FolderLock(busy):
        done = home.run("forget", home.records)
    no_traceback(done)
    assert done.returncode == InUseError.exit_code
    assert f"{busy} is in use by a walk; nothing of it was removed" in done.stderr
    assert (busy / "openings.json").is_file()
    assert not (free / "openings.json").exists()  # the others are seen to
    assert home.run("forget", busy).returncode == 0
    assert not (busy / "openings.json").exists()
