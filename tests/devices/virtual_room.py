"""A PipeWire of its own with two virtual nodes: a microphone that hisses, and a loudspeaker.

Debian: pipewire pipewire-alsa wireplumber dbus-x11 pipewire-bin.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import time
import wave
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.devices.hearing import hiss

PROGRAMS = ("pipewire", "wireplumber", "pw-cli", "pw-cat", "pw-record", "pw-link", "dbus-daemon")
PATIENCE_S = 20.0
_NODE = (
    "{{ factory.name=support.null-audio-sink node.name={name} media.class={kind}"
    " object.linger=true audio.position=[MONO] audio.rate=16000 }}"
)


class Room:
    """A PipeWire of its own with a virtual microphone that hisses, and a loudspeaker."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        run = folder / "run"
        run.mkdir(mode=0o700)
        bus = f"unix:path={run}/bus"
        self.environment = {
            **os.environ,
            "XDG_RUNTIME_DIR": str(run),
            "DBUS_SESSION_BUS_ADDRESS": bus,
            "PIPEWIRE_LATENCY": "256/16000",
        }
        self._running = [
            self.begin("dbus-daemon", "--session", "--nofork", f"--address={bus}"),
            self.begin("pipewire"),
        ]
        self._until("core", "pw-cli", "ls", "Core")
        self._running.append(self.begin("wireplumber"))
        self._until("WirePlumber", "pw-cli", "ls", "Client")
        for name, kind in (("mic", "Audio/Source/Virtual"), ("speaker", "Audio/Sink")):
            node = _NODE.format(name=name, kind=kind)
            self._running.append(self.begin("pw-cli", "-m", "create-node", "adapter", node))
        self._until("mic:input_MONO", "pw-link", "-i")
        self._until("speaker:monitor_MONO", "pw-link", "-o")
        self.play("hiss", hiss(300.0))

    def _until(self, shown: str, *words: str) -> None:
        """The program's answer shows it: a slow machine takes its time."""
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until:
            asked = subprocess.run(
                words, env=self.environment, capture_output=True, text=True, check=False, timeout=10
            )
            if asked.returncode == 0 and shown.lower() in asked.stdout.lower():
                return
            time.sleep(0.1)
        raise AssertionError(
            f"{shown} does not come up: {asked.stdout[-300:]}{asked.stderr[-300:]}"
        )

    def begin(self, *words: str) -> subprocess.Popen[bytes]:
        null = subprocess.DEVNULL
        return subprocess.Popen(words, env=self.environment, stdout=null, stderr=null)

    def link(self, *words: str) -> None:
        subprocess.run(["pw-link", *words], env=self.environment, check=True, timeout=10)

    def play(self, name: str, sound: bytes) -> None:
        """Into the microphone; goes on while the caller does."""
        path = self.folder / f"{name}.wav"
        with wave.open(str(path), "wb") as file:
            file.setparams((1, 2, 16_000, 0, "NONE", ""))
            file.writeframes(sound)
        properties = f"{{ node.name={name} }}"
        self._running.append(self.begin("pw-cat", "-p", "--target=0", "-P", properties, str(path)))
        self._until(f"{name}:output_MONO", "pw-link", "-o")
        self.link(f"{name}:output_MONO", "mic:input_MONO")

    def record(self) -> None:
        """What the loudspeaker gets, from now on."""
        options = ("--rate=16000", "--channels=1", "--format=s16", "-P", "{ node.name=rec }")
        path = str(self.folder / "heard.wav")
        self._recorder = self.begin("pw-record", "--target=0", *options, path)
        self._until("rec:input_MONO", "pw-link", "-i")
        self.link("speaker:monitor_MONO", "rec:input_MONO")

    def recorded(self) -> bytes:
        self._recorder.send_signal(signal.SIGINT)  # so that it writes the file's head
        self._recorder.wait(10)
        with wave.open(str(self.folder / "heard.wav"), "rb") as file:
            return file.readframes(file.getnframes())

    def close(self) -> None:
        for process in reversed(self._running):
            process.terminate()
            process.wait(10)


@contextlib.contextmanager
def virtual_room(folder: Path) -> Iterator[Room]:
    """Skips, saying so, where a program is missing."""
    missing = [name for name in PROGRAMS if shutil.which(name) is None]
    if missing:
        pytest.skip(f"no virtual sound here: {', '.join(missing)} missing")
    room = Room(folder)
    try:
        yield room
    finally:
        room.close()
