"""Odd terminals: full, closed, gone, with few letters. The command goes on, with no traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.home import DEMO, ROOT, Home, command, no_traceback

posix = pytest.mark.skipif(sys.platform == "win32", reason="no /dev/full, no shell")


_RECORD = ROOT / "tests" / "records" / "golden" / "simulated-plain.jws"
_ASKED_FOR = (
    ("rules",),
    ("rules", "--place", "CA-ON"),
    ("scripts",),
    ("keys", "--export"),
    ("keys",),
    ("verify", _RECORD),
)
"""Commands whose output is all that they are asked for."""


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home(tmp_path)


@posix
def test_a_walk_goes_on_when_nothing_can_be_printed(home: Home) -> None:
    with Path("/dev/full").open("w") as full:
        done = home.run(*DEMO[:2], *DEMO[3:], "--records", home.records, stdout=full)
    assert done.returncode == 0
    assert done.stderr.count("cannot print any more") == 1
    assert (home.only_walk() / "record.jws").is_file()
    no_traceback(done)


@posix
def test_a_command_that_cannot_print_says_so_and_fails(home: Home) -> None:
    with Path("/dev/full").open("w") as full:
        for words in _ASKED_FOR:
            done = home.run(*words, stdout=full)
            assert done.returncode == 24, words
            assert "cannot print" in done.stderr
            no_traceback(done)


@posix
def test_a_command_without_an_output_says_so_and_fails(home: Home) -> None:
    for asked in _ASKED_FOR:
        done = subprocess.run(
            ["sh", "-c", '"$@" >&-', "sh", *command(*asked)],
            env=home.environment, capture_output=True, text=True, check=False, timeout=120,
        )  # fmt: skip
        assert done.returncode == 24, asked
        assert "cannot print" in done.stderr
        no_traceback(done)


@posix
@pytest.mark.parametrize("closed", ["<&-", ">&-", "2>&-", "<&- >&- 2>&-"])
def test_streams_that_are_closed(home: Home, closed: str) -> None:
    """Nothing that is printed may end up in the journal, which gets a low number then."""
    words = [*command(*DEMO[:2], *DEMO[3:], "--records", home.records)]
    done = subprocess.run(
        ["sh", "-c", f'"$@" {closed}', "sh", *words],
        env=home.environment, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    no_traceback(done)
    assert home.run("verify", home.only_walk() / "record.jws").returncode == 0


@posix
def test_a_walk_whose_input_is_closed_is_kept(home: Home) -> None:
    words = command("walk", "--typed", "--vehicle", "demo-truck", "--place", "US")
    done = subprocess.run(
        ["sh", "-c", '"$@" <&-', "sh", *words, "--records", str(home.records)],
        env=home.environment, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert done.returncode == 3
    no_traceback(done)


@pytest.mark.parametrize(
    "letters", [{"PYTHONIOENCODING": "ascii"}, {"PYTHONIOENCODING": "latin-1"},
                {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"}]
)  # fmt: skip
def test_a_terminal_with_few_letters(home: Home, letters: dict[str, str]) -> None:
    for words in (("rules", "--place", "CA-QC"), ("scripts", "--steps"), DEMO[:2]):
        done = subprocess.run(
            command(*words, *(("--records", home.records) if words[0] == "demo" else ())),
            env={**home.environment, **letters}, capture_output=True, check=False, timeout=120,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        if "latin" not in str(letters):
            assert done.stdout.isascii()


@posix
def test_the_reader_may_leave(home: Home) -> None:
    words = " ".join(command("demo", "--by-text", "--records", home.records))
    done = subprocess.run(
        ["bash", "-c", f"set -o pipefail; {words} | head -1"],
        env=home.environment, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert len(done.stdout.splitlines()) == 1
    assert (home.only_walk() / "record.jws").is_file()


@posix
def test_a_terminal_that_goes_away_ends_a_typed_walk_with_its_record(home: Home) -> None:
    """The far end of a pseudo-terminal is closed: SIGHUP, reading gives an error, printing too."""
    ours, theirs = os.openpty()
    words = command("walk", "--typed", "--vehicle", "demo-truck", "--place", "US")
    process = subprocess.Popen(
        [*words, "--records", str(home.records)],
        env=home.environment, stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True,
    )  # fmt: skip
    os.close(theirs)
    seen = b""
    while b"aution" not in seen:
        seen += os.read(ours, 4096)
    os.write(ours, b"yes\n")
    os.close(ours)
    assert process.wait(timeout=60) == 3
    assert (home.only_walk() / "stopped.jws").is_file()
