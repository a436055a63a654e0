"""`--record-answers`: asked for, said plainly, kept until a day, deleted by one command."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.cli.home import WALK, Home, no_traceback
from walkaround.errors import UsageError


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home(tmp_path)


@pytest.mark.parametrize("days", ["0", "-3", "99999"])
def test_what_cannot_be_is_refused_before_a_folder_is_made(home: Home, days: str) -> None:
    words = ("demo", "--place", "CA-ON", "--records", home.records, "--record-answers", days)
    if days != "0":
        done = home.run(*words)
        assert done.returncode == UsageError.exit_code
        assert "takes 1 to 3650 days" in done.stderr
        no_traceback(done)
    for typed in (home.demo("--record-answers", "30"), home.walk("--record-answers", "30")):
        assert typed.returncode == UsageError.exit_code
        assert "no sound to record" in typed.stderr
    assert not home.records.exists()


def test_it_is_for_the_start_of_a_walk(home: Home) -> None:
    words = tuple(word for word in WALK if word != "--typed")
    done = home.run(*words, "--records", home.records, "--resume", "--record-answers", "30")
    assert done.returncode == UsageError.exit_code
    assert "a walk says at its start whether answers are recorded" in done.stderr


@pytest.mark.slow
@pytest.mark.model
@pytest.mark.voice
def test_a_spoken_demo_that_keeps_its_answers(home: Home) -> None:
    words = ("demo", "--quiet", "--place", "CA-ON", "--wording", "short")
    done = home.run(*words, "--records", home.records, "--record-answers", "30")
    assert done.returncode == 0, done.stderr
    until = (datetime.now(UTC).date() + timedelta(days=30)).isoformat()
    assert f"kept beside this record until {until}" in done.stdout
    folder = home.only_walk()
    count = len(list((folder / "sound").iterdir()))
    assert count > 40
    assert all(at.stat().st_mode & 0o077 == 0 for at in (folder / "sound").iterdir())
    told = home.run("verify", folder)
    assert told.returncode == 0
    assert f"{count} of {count} recordings" in told.stdout
    assert "removed" not in home.run("forget", "--expired", folder).stdout
    assert f"removed {count} recordings" in home.run("forget", folder).stdout
    told = home.run("verify", folder)
    assert told.returncode == 0
    assert f"0 of {count} recordings; {count} deleted" in told.stdout
