"""A home of its own for the commands: nothing of the person who runs the tests is touched."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path
from typing import IO

ROOT = Path(__file__).resolve().parents[2]
MOST_S = 120
DEMO = ("demo", "--by-text", "--quiet", "--place", "CA-ON", "--wording", "short")
WALK = ("walk", "--typed", "--vehicle", "demo-truck", "--place", "CA-ON", "--wording", "short")
Done = subprocess.CompletedProcess[str]


class Home:
    """Runs commands as a person would, by their exit code and what they print."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.records = folder, folder / "walks"
        self.config, self.data = folder / "config", folder / "data"
        places = {
            "XDG_CONFIG_HOME": str(self.config),
            "XDG_DATA_HOME": str(self.data),
            "XDG_CACHE_HOME": str(folder / "cache"),
        }
        self.environment = {**os.environ, **places, "PYTHONPATH": str(ROOT)}
        self.environment.pop("PYTHONIOENCODING", None)

    @property
    def store(self) -> Path:
        """Where keys and the trust list lie."""
        return self.config / "walkaround"

    def run(
        self,
        *arguments: str | Path,
        typed: str = "",
        stdout: int | IO[str] = subprocess.PIPE,
        more: Mapping[str, str] | None = None,
    ) -> Done:
        return subprocess.run(
            command(*arguments),
            env={**self.environment, **(more or {})},
            input=typed,
            stdout=stdout,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
            timeout=MOST_S,
        )

    def walking(self) -> subprocess.Popen[str]:
        """A typed walk under way, which has heard its first answer."""
        process = subprocess.Popen(
            command(*WALK, "--records", self.records),
            env=self.environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        assert process.stdin is not None
        process.stdin.write("yes\n")
        process.stdin.flush()
        return process

    def written(self, lines: int) -> None:
        """Wait until the walk's journal has so many lines: its opening, its sitting, what was
        heard."""
        until = time.monotonic() + MOST_S
        while time.monotonic() < until:
            found = (path.read_bytes() for path in self.records.glob("*/journal.jsonl"))
            if any(content.count(b"\n") >= lines for content in found):
                return
            time.sleep(0.02)
        raise AssertionError("the walk wrote nothing")

    def demo(self, *more: str | Path) -> Done:
        return self.run(*DEMO, "--records", self.records, *more)

    def walk(self, *more: str | Path, typed: str = "yes\n") -> Done:
        return self.run(*WALK, "--records", self.records, *more, typed=typed)

    def only_walk(self) -> Path:
        (folder,) = self.records.iterdir()
        return folder


def command(*arguments: str | Path) -> list[str]:
    return [sys.executable, "-m", "walkaround.cli", *map(str, arguments)]


def no_traceback(done: Done) -> None:
    """Nothing of Python's own is shown to a person."""
    assert "Traceback" not in done.stderr
    assert "Exception ignored" not in done.stderr
