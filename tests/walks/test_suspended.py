"""A walk whose process is stopped for a while and goes on, as when a lid is shut and opened.

The machine itself cannot be suspended in a test; that its clock goes on meanwhile is what
CLOCK_BOOTTIME is for (tests/devices/test_clock.py).
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from walkaround.errors import UNFINISHED
from walkaround.exchange import Heard
from walkaround.records.journal import events, read_journal

ROOT = Path(__file__).resolve().parents[2]
ASLEEP_S = 2


@pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGSTOP")
def test_time_goes_on_while_the_walk_is_stopped(tmp_path: Path) -> None:
    folders = {f"XDG_{n}_HOME": str(tmp_path / n.lower()) for n in ("CONFIG", "DATA", "CACHE")}
    records = tmp_path / "walks"
    walk = subprocess.Popen(
        [sys.executable, "-m", "walkaround.cli", "walk", "--typed", "--vehicle", "demo-truck",
         "--place", "CA-ON", "--records", str(records)],
        env={**os.environ, **folders, "PYTHONPATH": str(ROOT)}, text=True,
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    assert walk.stdin is not None
    assert walk.stdout is not None
    while not (list(records.glob("*/journal.jsonl")) and _lines(records) >= 2):
        assert walk.poll() is None
        time.sleep(0.05)
    walk.send_signal(signal.SIGSTOP)
    before = time.monotonic()
    time.sleep(ASLEEP_S)
    asleep_ms = (time.monotonic() - before) * 1000
    walk.send_signal(signal.SIGCONT)
    out, _ = walk.communicate("yes\nstop\n", timeout=60)
    assert walk.returncode == UNFINISHED, out
    journal = next(records.glob("*/journal.jsonl")).read_bytes()
    heard = [event for event in events(read_journal(journal).entries) if isinstance(event, Heard)]
    assert heard
    assert heard[0].arrived_ms >= asleep_ms - 50


def _lines(records: Path) -> int:
    return next(records.glob("*/journal.jsonl")).read_bytes().count(b"\n")
