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
_AFTER = SAMPLES_PER_SECOND * 15 // 100  # the rise is over within 150 ms
_WORD = 0.25  # of the loudest: less is the room, a breath or a knock
_SMOOTH = SAMPLES_PER_SECOND // 100  # 10 ms
_HELD = SAMPLES_PER_SECOND // 50  # 20 ms above the half: a click does not count


def onset_of(samples: NDArray[np.int16], begin: int, end: int) -> int:
    """The sample at which the voice in `samples[begin:end]` sets in.

    `samples` is 16 kHz, one channel; indices count within it, and some of what came
    before `begin` should be in it. Gives `begin` back where nothing rises.
    """
    first = max(0, begin - _BEFORE)
    last = min(len(samples), max(end, begin + 1))
    if last - first < _SMOOTH * 2:
        return begin
    envelope = _envelope(samples[first : min(len(samples), last + _BEFORE)])[: last - first]
    floor = float(np.median(envelope[: max(begin - first, _SMOOTH)]))
    start = max(0, begin - first - 2 * _HELD)
    word = _first_held(envelope, floor + (float(envelope.max()) - floor) * _WORD, start)
    if word is None:
        return begin
    # the word's own first peak: a louder syllable later on does not count
    peak = float(envelope[word : word + _AFTER].max())
    rise = _first_held(envelope, floor + (peak - floor) / 2, max(start, word - _AFTER))
    return begin if rise is None else first + rise


def _envelope(samples: NDArray[np.int16]) -> NDArray[np.float64]:
    """Rectified, band-limited without delay, smoothed over 10 ms."""
    spectrum = np.fft.rfft(samples.astype(np.float64))
    hertz = np.fft.rfftfreq(len(samples), 1 / SAMPLES_PER_SECOND)
    spectrum[(hertz < LOW_HZ) | (hertz > HIGH_HZ)] = 0
    band = np.abs(np.fft.irfft(spectrum, len(samples)))
    return np.convolve(band, np.full(_SMOOTH, 1 / _SMOOTH), mode="same")


def _first_held(envelope: NDArray[np.float64], level: float, start: int) -> int | None:
    """The first index from which the envelope stays above the level for 20 ms."""
    above = (envelope[start:] > level).astype(np.int64)
    held = np.convolve(above, np.ones(_HELD, np.int64), mode="full")[_HELD - 1 :]
    found = np.flatnonzero(held >= _HELD)
    return start + int(found[0]) if len(found) else None
