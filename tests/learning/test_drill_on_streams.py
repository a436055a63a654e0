"""The drill's own command by voice, on streams: a virtual headset, a voice that answers.

A learner speaks as a person does: says it, waits, and says it again when nothing came of it.
Synthetic speech over a quiet hiss: it shows that command, sound, ear, screen and record hold
together, not how well a person is heard.  Needs what tests/devices/test_stage_live.py needs.
"""

from __future__ import annotations

import json
import os
import pty
import subprocess
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.cli.home import Home, command
from tests.devices.hearing import spoken
from tests.devices.test_stage_live import room
from tests.devices.virtual_room import Room
from walkaround.cli.drill_turns import TURNS_NAME

pytestmark = [pytest.mark.model, pytest.mark.voice, pytest.mark.slow]
_PATIENCE_S, _TRIES, _MOST_S = 25, 4, 120
__all__ = ["room"]


@pytest.fixture
def home(tmp_path: Path) -> Iterator[Home]:
    yield Home(tmp_path / "home")


class Learner:
    """Speaks into the virtual microphone, and watches what the drill has kept."""

    def __init__(self, headset: Room, home: Home, cache: Path) -> None:
        self.headset, self.home, self.cache = headset, home, cache
        self._spoken = 0

    @property
    def folder(self) -> Path | None:
        practice = self.home.data / "walkaround" / "practice"
        found = [path for path in practice.glob("*-drill-*") if (path / TURNS_NAME).exists()]
        return found[0] if found else None

    def kept(self) -> list[str | None]:
        """What was taken so far, the opening (None) first."""
        if self.folder is None:
            return []
        lines = (self.folder / TURNS_NAME).read_text("utf-8").splitlines()[1:]
        return [json.loads(line)["said"] for line in lines]

    def wait_for(self, count: int, most_s: float) -> bool:
        until = time.monotonic() + most_s
        while time.monotonic() < until:
            if len(self.kept()) >= count or self.ended():
                return True
            time.sleep(0.2)
        return False

    def record(self) -> Path | None:
        return next(self.folder.glob("*.jws"), None) if self.folder is not None else None

    def ended(self) -> bool:
        return self.record() is not None

    def say(self, words: str) -> bool:
        """Until something came of it; whether it ever did."""
        wanted = len(self.kept()) + 1
        for _ in range(_TRIES):
            self._spoken += 1
            self.headset.play(f"said{self._spoken}", spoken(self.cache, words))
            if self.wait_for(wanted, _PATIENCE_S):
                return True
        return False


class Terminal(threading.Thread):
    """Takes what is drawn; a terminal that nobody reads would stop the command."""

    def __init__(self, leader: int) -> None:
        super().__init__(daemon=True)
        self._leader, self._parts = leader, list[bytes]()

    def run(self) -> None:
        try:
            while part := os.read(self._leader, 65536):
                self._parts.append(part)
        except OSError:  # the other end is closed
            return

    def text(self) -> str:
        """Once the command has ended."""
        self.join(10)
        return b"".join(self._parts).decode("utf-8", "replace")


def test_a_drill_by_voice_through_the_whole_sound_path(
    room: Room, home: Home, tmp_path: Path
) -> None:
    leader, follower = pty.openpty()
    process = subprocess.Popen(
        command(
            "drill", "--place", "CA-ON", "--stage", "recalled", "--steps", "2",
            "--microphone", "pipewire", "--loudspeaker", "pipewire",
        ),
        env={**room.environment, **home.environment, "TERM": "xterm"} | {
            name: room.environment[name]
            for name in ("XDG_RUNTIME_DIR", "DBUS_SESSION_BUS_ADDRESS", "PIPEWIRE_LATENCY")
        },
        stdin=follower, stdout=follower, stderr=follower,
    )  # fmt: skip
    os.close(follower)
    terminal = Terminal(leader)
    terminal.start()
    learner = Learner(room, home, tmp_path / "voice")
    try:
        assert learner.wait_for(1, _MOST_S), "the drill never began"
        time.sleep(20)  # the welcome
        for words in ("park on level ground", "chock the wheels", "nothing found", "stop"):
            assert learner.ended() or learner.say(words), learner.kept()
        process.wait(60)
    finally:
        process.kill()
        process.wait(10)
    shown = terminal.text()
    os.close(leader)
    assert "explain  repeat  finding  finish  stop" in shown  # the screen was drawn
    # Seen: "chock the wheels" comes as "chock let wheels" one time in three.
    assert "park on level ground" in learner.kept()[1:3]
    record = learner.record()
    assert record is not None
    checked = home.run("verify", record)
    assert checked.returncode == 0, checked.stdout
    assert checked.stdout.splitlines()[1].strip().startswith("PRACTICE")
