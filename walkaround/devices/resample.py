"""Changes the sample rate of 16-bit sound by a windowed-sinc polyphase filter.

Kaiser window, 32 zero crossings a side, stop band from 0.5 of the lower rate: aliases are
below -80 dB (checked by a test with tones).  Whole sounds, or a stream in blocks of any size.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import numpy.typing as npt

_CROSSINGS: Final = 32
_ROLL_OFF: Final = 0.92  # pass band as a part of the lower rate's half
_KAISER_BETA: Final = 9.0
_BLOCK: Final = 8192  # output samples at a time, to keep memory small


def resampled(sound: bytes, from_hz: int, to_hz: int) -> bytes:
    """Signed 16-bit little-endian mono at another rate; the length is rounded up."""
    if from_hz == to_hz or not sound:
        return sound
    stream = Resampler(from_hz, to_hz)
    wanted = -(-len(sound) // 2 * to_hz // from_hz) * 2
    return (stream.feed(sound) + stream.finish())[:wanted]


class Resampler:
    """A stream at another rate. It is behind by the filter's half length: about 3 ms."""

    def __init__(self, from_hz: int, to_hz: int) -> None:
        divisor = math.gcd(from_hz, to_hz)
        self._up, self._down = to_hz // divisor, from_hz // divisor
        self._taps = _taps(self._up, self._down)
        half = self._taps.shape[1] // 2
        self._kept = np.zeros(half - 1, dtype=np.float32)  # input from `_first` on
        self._first = 1 - half
        self._made = 0  # output samples so far

    def feed(self, block: bytes) -> bytes:
        """The samples that this block makes certain."""
        samples = np.frombuffer(block, dtype="<i2").astype(np.float32)
        self._kept = np.concatenate([self._kept, samples])
        half = self._taps.shape[1] // 2
        last = self._first + len(self._kept) - 1 - half  # the last input place that can be mixed
        count = max(0, (last * self._up + self._up - 1) // self._down + 1 - self._made)
        out = [self._mix(at, min(_BLOCK, count - at)) for at in range(0, count, _BLOCK)]
        self._made += count
        done = self._made * self._down // self._up - half + 1 - self._first
        if done > 0:
            self._kept, self._first = self._kept[done:], self._first + done
        return b"".join(out)

    def finish(self) -> bytes:
        """What the stream's end makes certain."""
        return self.feed(bytes(self._taps.shape[1] * 2))

    def _mix(self, begin: int, count: int) -> bytes:
        at = np.arange(self._made + begin, self._made + begin + count, dtype=np.int64) * self._down
        width = self._taps.shape[1]
        starts = at // self._up - width // 2 + 1 - self._first
        windows = self._kept[starts[:, None] + np.arange(width)]
        mixed = np.einsum("ij,ij->i", windows, self._taps[at % self._up])
        return bytes(np.clip(np.rint(mixed), -32768, 32767).astype("<i2"))


def _taps(up: int, down: int) -> npt.NDArray[np.float32]:
    """One row of filter taps for each of the `up` places between two input samples."""
    cutoff = _ROLL_OFF * min(1.0, up / down)
    half = math.ceil(_CROSSINGS / cutoff)
    phase = np.arange(up)[:, None] / up
    distance = np.arange(-half + 1, half + 1)[None, :] - phase
    inside = np.clip(1 - (distance / half) ** 2, 0, None)
    window = np.i0(_KAISER_BETA * np.sqrt(inside)) / np.i0(_KAISER_BETA)
    taps = cutoff * np.sinc(cutoff * distance) * window
    return np.asarray(taps / taps.sum(axis=1, keepdims=True), dtype=np.float32)
