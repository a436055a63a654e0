"""Starts the ear's child process, notices when it dies, and starts another.

Vosk can abort a process and PortAudio can hang one; the walk survives both.  The child is
a fresh Python (never a fork) that ends by itself when this side of the pipe closes.
"""

from __future__ import annotations

import contextlib
import os
import queue
import subprocess
import threading
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from walkaround.devices.child import child_environment, module_command
from walkaround.devices.ear.messages import Message, read_message, write_message
from walkaround.devices.library import Found, Library
from walkaround.errors import RecogniserError

SHOW_CHILD = "WALKAROUND_SHOW_CHILD"
"""Set this environment variable to see what the child and its libraries print."""
_SAY_AGAIN = "the recogniser stopped and is started anew; say that again"
_LAST_WORD_S = 1.0
Inbox = queue.SimpleQueue[tuple[Message, bytes] | None]


@dataclass(frozen=True, slots=True)
class EarSetup:
    """What the child needs to hear: the model's folder, the phrases and the thresholds."""

    model: Path
    phrases: Found
    thresholds: Found
    environment: Mapping[str, str] | None = None  # the child's, besides this process's own

    @classmethod
    def of(cls, library: Library, model: Path, phrases: str = "en") -> EarSetup:
        thresholds = library.read("thresholds", "thresholds")
        return cls(model, library.read("phrases", phrases), thresholds)

    def hello(self) -> tuple[Message, bytes]:
        message = {
            "do": "hello",
            "model": str(self.model),
            "phrases_file": self.phrases.file,
            "phrases_length": len(self.phrases.content),
            "thresholds_file": self.thresholds.file,
        }
        return message, self.phrases.content + self.thresholds.content


class EarChild:
    """One child at a time. `start` returns at once: the model loads while others speak."""

    def __init__(self, setup: EarSetup) -> None:
        self._setup = setup
        self._process: subprocess.Popen[bytes] | None = None
        self._inbox: Inbox = queue.SimpleQueue()

    @property
    def pid(self) -> int | None:
        """The child's process number, for measuring; None when there is none."""
        return None if self._process is None else self._process.pid

    def start(self) -> None:
        """Start a child if there is none. Raises RecogniserError."""
        if self._process is not None and self._process.poll() is None:
            return
        self.stop()
        try:
            self._process = subprocess.Popen(
                module_command("walkaround.devices.ear.process"),
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=None if os.environ.get(SHOW_CHILD) else subprocess.DEVNULL,
                env=child_environment(self._setup.environment),
            )
        except OSError as bad:
            raise RecogniserError(f"the recogniser cannot be started ({bad.strerror})") from bad
        self._inbox = queue.SimpleQueue()
        pipe = self._process.stdout
        assert pipe is not None
        threading.Thread(target=_read_all, args=(pipe, self._inbox), daemon=True).start()
        self.send(*self._setup.hello())

    def send(self, message: Message, blob: bytes = b"") -> None:
        """Raises RecogniserError when the child has died; the next `start` makes another."""
        process = self._process
        try:
            if process is None or process.stdin is None:
                raise BrokenPipeError
            write_message(process.stdin, message, blob)
        except OSError:
            self.stop()
            raise RecogniserError(self._last_word()) from None

    def slip_in(self, message: Message) -> None:
        """A message of our own, to be received in its turn; from any thread."""
        self._inbox.put((message, b""))

    def receive(self, timeout_s: float | None) -> tuple[Message, bytes] | None:
        """The child's next message, or None when the time is up.

        Raises RecogniserError when the child has died or says why it cannot go on.
        """
        try:
            got = self._inbox.get(timeout=timeout_s)
        except queue.Empty:
            return None
        if got is None:
            self.stop()
            raise RecogniserError(_SAY_AGAIN)
        if "error" in got[0]:
            self.stop()
            raise RecogniserError(str(got[0]["error"]))
        return got

    def _last_word(self) -> str:
        """Why a child that has gone went, if it said so."""
        with contextlib.suppress(queue.Empty):
            while (got := self._inbox.get(timeout=_LAST_WORD_S)) is not None:
                if "error" in got[0]:
                    return str(got[0]["error"])
        return _SAY_AGAIN

    def ask(self, message: Message, blob: bytes, timeout_s: float) -> Message:
        """Send and wait for the answer that carries the same "do". Raises RecogniserError."""
        self.start()
        self.send(message, blob)
        while True:
            got = self.receive(timeout_s)
            if got is None:
                self.stop()
                raise RecogniserError(
                    "the recogniser did not answer and is started anew; say that again"
                )
            if got[0].get("did") == message["do"]:
                return got[0]

    def stop(self) -> None:
        """End the child, by force if need be. Does nothing when there is none."""
        process, self._process = self._process, None
        if process is None:
            return
        with contextlib.suppress(OSError):
            if process.stdin is not None:
                process.stdin.close()
        try:
            process.wait(timeout=0.5)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _read_all(pipe: IO[bytes], inbox: Inbox) -> None:
    """Until the child closes or dies; then None, and the pipe is closed."""
    with pipe:
        while True:
            try:
                got = read_message(pipe)
            except (OSError, ValueError):
                got = None
            inbox.put(got)
            if got is None:
                return
