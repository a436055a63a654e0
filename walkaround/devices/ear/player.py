"""What goes to the loudspeaker: sentences in their order, tones at once on top of them.

One thread fills it, the sound callback empties it; a lock held for microseconds is between.
A sentence that is held begins again from its start.  `gain` makes all of it softer.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Mapping

import numpy as np

from walkaround.exchange import ToneKind
from walkaround.speech.ports import SAMPLES_PER_SECOND

_LEVEL = 9000
_EDGE = SAMPLES_PER_SECOND // 200  # 5 ms of fade, so that a tone does not click
_NOTES: Mapping[ToneKind, tuple[tuple[int, int], ...]] = {
    ToneKind.TAKEN: ((880, 70),),
    ToneKind.HOLD_BEGINS: ((660, 90), (880, 90)),
    ToneKind.HOLD_ENDS: ((880, 90), (660, 90)),
    ToneKind.UNCLEAR: ((330, 120), (330, 120)),
    ToneKind.HEARD: ((520, 60),),
}
"""Hertz and milliseconds of each note."""


def tone_sound(kind: ToneKind) -> bytes:
    """The tone as 16 kHz 16-bit sound."""
    return b"".join(_note(hertz, ms) for hertz, ms in _NOTES[kind])


class Player:
    """Sound waiting to go out."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._sentences: deque[bytes] = deque()
        self._place = 0  # bytes of the first sentence that have gone out
        self._held = False
        self._tone = b""
        self.gain = 1.0
        self._gain_now = 1.0

    def say(self, sound: bytes) -> None:
        with self._lock:
            self._sentences.append(sound)

    def tone(self, sound: bytes) -> None:
        with self._lock:
            self._tone += sound

    def hold(self) -> None:
        """Fall silent; the sentence begins again on `resume`."""
        with self._lock:
            self._held, self._place = True, 0

    def resume(self) -> None:
        with self._lock:
            self._held = False

    def drop(self) -> None:
        """Leave the rest unsaid."""
        with self._lock:
            self._sentences.clear()
            self._held, self._place = False, 0

    @property
    def sounding(self) -> bool:
        """Whether a sentence is going out now."""
        with self._lock:
            return bool(self._sentences) and not self._held

    @property
    def waiting(self) -> bool:
        """Whether anything is still to be said."""
        with self._lock:
            return bool(self._sentences)

    def pull(self, count: int) -> bytes:
        """The next `count` bytes for the loudspeaker; silence where there is nothing."""
        with self._lock:
            speech = b"" if self._held else self._take(count)
            tone, self._tone = self._tone[:count], self._tone[count:]
        before, self._gain_now = self._gain_now, self.gain
        if not tone and before == self._gain_now == 1.0:
            return speech.ljust(count, b"\0")
        mixed = np.zeros(count // 2)
        for part in (speech, tone):
            mixed[: len(part) // 2] += np.frombuffer(part, dtype="<i2")
        mixed *= np.linspace(before, self._gain_now, len(mixed))  # no click where it changes
        return bytes(np.clip(np.rint(mixed), -32768, 32767).astype("<i2"))

    def _take(self, count: int) -> bytes:
        out = b""
        while self._sentences and len(out) < count:
            piece = self._sentences[0][self._place : self._place + count - len(out)]
            self._place += len(piece)
            out += piece
            if self._place >= len(self._sentences[0]):
                self._sentences.popleft()
                self._place = 0
        return out


def _note(hertz: int, ms: int) -> bytes:
    at = np.arange(SAMPLES_PER_SECOND * ms // 1000)
    edge = np.minimum(1.0, np.minimum(at, at[::-1]) / _EDGE)
    wave = _LEVEL * edge * np.sin(2 * np.pi * hertz * at / SAMPLES_PER_SECOND)
    return bytes(np.rint(wave).astype("<i2"))
