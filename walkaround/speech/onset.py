"""The instant at which a voice sets in: what a spoken mark is timed by.

The envelope of the band from 300 to 4000 Hz crosses half of its rise inside the
segment that voice activity found.  The first frame of that segment is good to 32 ms
only, and a word's end varies with how long it is drawn out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from walkaround.speech.ports import SAMPLES_PER_SECOND

LOW_HZ, HIGH_HZ = 300.0, 4000.0
_BEFORE = SAMPLES_PER_SECOND // 5  # 200 ms of what was there before, for the floor
_AFTER = SAMPLES_PER_SECOND * 3 // 10  # the rise is over within 300 ms
_SMOOTH = SAMPLES_PER_SECOND // 100  # 10 ms
_HELD = SAMPLES_PER_SECOND // 50  # 20 ms above the half: a click does not count


def onset_of(samples: NDArray[np.int16], begin: int, end: int) -> int:
    """The sample at which the voice in `samples[begin:end]` sets in.

    `samples` is 16 kHz, one channel; indices count within it, and some of what came
    before `begin` should be in it. Gives `begin` back where nothing rises.
    """
    first = max(0, begin - _BEFORE)
    last = min(len(samples), max(end, begin + 1), begin + _AFTER)
    if last - first < _SMOOTH * 2:
        return begin
    envelope = _envelope(samples[first : min(len(samples), last + _BEFORE)])
    head = envelope[: max(begin - first, _SMOOTH)]
    rise = envelope[: last - first]
    floor, peak = float(np.median(head)), float(rise.max())
    if peak <= floor:
        return begin
    start = max(0, begin - first - 2 * _HELD)
    return first + _first_held(rise, floor + (peak - floor) / 2, start, begin - first)


def _envelope(samples: NDArray[np.int16]) -> NDArray[np.float64]:
    """Rectified, band-limited without delay, smoothed over 10 ms."""
    spectrum = np.fft.rfft(samples.astype(np.float64))
    hertz = np.fft.rfftfreq(len(samples), 1 / SAMPLES_PER_SECOND)
    spectrum[(hertz < LOW_HZ) | (hertz > HIGH_HZ)] = 0
    band = np.abs(np.fft.irfft(spectrum, len(samples)))
    return np.convolve(band, np.full(_SMOOTH, 1 / _SMOOTH), mode="same")


def _first_held(rise: NDArray[np.float64], level: float, start: int, otherwise: int) -> int:
    """The first index from which the envelope stays above the level for 20 ms."""
    above = rise[start:] >= level
    held = np.convolve(above.astype(np.int64), np.ones(_HELD, np.int64), mode="full")[_HELD - 1 :]
    found = np.flatnonzero(held >= min(_HELD, len(above)))
    return start + int(found[0]) if len(found) else otherwise
