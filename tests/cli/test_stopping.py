"""Told to stop from outside: at a place where nothing is half done, with a record."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.cli.home import MOST_S, WALK, Home, command
from walkaround.cli.stopping import StopSignals
from walkaround.records.journal import Ended, closing_of, read_journal

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="other signals there")


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home(tmp_path)


def _under_way(home: Home) -> subprocess.Popen[str]:
    """A typed walk that has said something and heard its first answer."""
    process = home.walking()
    assert process.stdout is not None
    process.stdout.readline()
    home.written(lines=3)
    return process


@pytest.mark.parametrize(
    ("number", "code"), [(signal.SIGTERM, 3), (signal.SIGHUP, 3), (signal.SIGINT, 130)]
)
def test_a_signal_ends_a_walk_with_a_sentence_and_a_record(
    home: Home, number: signal.Signals, code: int
) -> None:
    if signal.getsignal(number) is signal.SIG_IGN:
        pytest.skip(f"whoever runs the tests ignores {number.name} (nohup), and hands that down")
    process = _under_way(home)
    process.send_signal(number)
    said, errors = process.communicate(timeout=MOST_S)
    assert process.returncode == code
    assert number.name in said
    assert "--resume" in said
    assert errors == ""
    folder = home.only_walk()
    entries = read_journal((folder / "journal.jsonl").read_bytes()).entries
    assert closing_of(entries[-1]).how is Ended.STOPPED
    assert home.run("verify", folder / "stopped.jws").returncode == 0
    again = home.walk("--resume")
    assert again.returncode == 3
    assert read_journal((folder / "journal.jsonl").read_bytes()).head.sitting == 2


@pytest.mark.voice
def test_a_signal_to_the_voice_as_well_is_no_fault_of_the_voice(home: Home) -> None:
    """A terminal's Ctrl-C goes to the whole group: the voice's own process may end first."""
    process = subprocess.Popen(
        command("demo", "--records", home.records),
        env=home.environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        start_new_session=True,
    )  # fmt: skip
    assert process.stdout is not None
    for line in process.stdout:
        if "> " in line or "fetching" in line:
            break
    os.killpg(process.pid, signal.SIGTERM)
    said, errors = process.communicate(timeout=MOST_S)
    assert "Traceback" not in errors
    if not home.records.exists():
        pytest.skip("no model and no voice here: the demo did not begin")
    assert process.returncode == 3, errors
    assert "SIGTERM" in said
    assert (home.only_walk() / "stopped.jws").is_file()


def test_the_end_of_what_is_typed_leaves_a_record(home: Home) -> None:
    done = home.walk()
    assert done.returncode == 3
    assert home.run("verify", home.only_walk() / "stopped.jws").returncode == 0


def test_a_signal_that_the_caller_ignores_stays_ignored(home: Home) -> None:
    """`nohup`: the walk outlives its terminal."""
    words = ["sh", "-c", 'trap "" HUP; exec "$@"', "sh", *command(*WALK)]
    process = subprocess.Popen(
        [*words, "--records", str(home.records)],
        env=home.environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None
    process.stdout.readline()
    home.written(lines=2)
    process.send_signal(signal.SIGHUP)
    assert process.stdin is not None
    process.stdin.write("help\n")
    process.stdin.flush()
    assert any("At any time you may say" in line for line in process.stdout)  # it still answers
    assert process.poll() is None
    process.send_signal(signal.SIGTERM)
    process.communicate(timeout=MOST_S)


@pytest.mark.parametrize("after_ms", [0, 60, 120, 200, 300, 450])
def test_an_early_ctrl_c_is_no_traceback(home: Home, after_ms: int) -> None:
    """Started as the bootstrap starts it: Ctrl-C is held back until somebody can answer it.

    Python may end itself by the signal (-2) where it broke into an import; a shell calls it 130.
    """
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        process = subprocess.Popen(
            command("demo", "--by-text", "--records", home.records),
            env=home.environment, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
    finally:
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
    time.sleep(after_ms / 1000)
    process.send_signal(signal.SIGINT)
    _, errors = process.communicate(timeout=MOST_S)
    assert "Traceback" not in errors
    assert process.returncode in (130, -signal.SIGINT)


def test_a_signal_between_two_waits_is_remembered() -> None:
    taken: list[str] = []
    with StopSignals() as signals:
        signal.raise_signal(signal.SIGTERM)
        assert signals.asked is signal.SIGTERM
        assert signals.wait(lambda: taken.append("never")) is None
    assert taken == []
    assert signal.getsignal(signal.SIGTERM) is signal.SIG_DFL
