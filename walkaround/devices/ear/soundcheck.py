"""Is what the microphone gives fit to be heard? Dead, overdriven and telephone sound is not.

A second at a time.  Telephone sound (8 kHz, brought up to 16 by the system) has nothing at
all above 4.3 kHz: less than the rounding of a real converter leaves there.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from walkaround.speech.ports import SAMPLES_PER_SECOND

DEAD = "only silence comes from the microphone; unmute it or choose another"
OVERDRIVEN = "the sound is overdriven; turn the microphone down or away from the mouth"
TELEPHONE = (
    "the microphone gives telephone sound (8 kHz); use a cable,"
    " a cordless base or the headset's 16 kHz speech profile"
)
_DEAD_S, _OVERDRIVEN_S, _TELEPHONE_S = 2, 3, 4
_FULL = 32_700
_CLIPPED = 0.01  # part of a second's samples
_LOW_HZ, _HIGH_HZ, _TOP_HZ = (300.0, 3400.0), 4300.0, 7600.0
_LOUD = 100.0  # there is something to judge by, in counts
_NOTHING = 0.6  # counts; rounding alone leaves about 0.2 in this band


class SoundCheck:
    """Feed it every block; `complaint` is the present reason to refuse the sound, or ""."""

    def __init__(self) -> None:
        self._rest = b""
        self._seconds = dict.fromkeys((DEAD, OVERDRIVEN, TELEPHONE), 0)
        self.complaint = ""

    def take(self, block: bytes) -> None:
        size = SAMPLES_PER_SECOND * 2
        self._rest += block
        while len(self._rest) >= size:
            self._judge(np.frombuffer(self._rest[:size], dtype="<i2"))
            self._rest = self._rest[size:]

    def _judge(self, second: npt.NDArray[np.int16]) -> None:
        wide = second.astype(np.float64)
        loud = _band(wide, *_LOW_HZ) > _LOUD
        self._count(DEAD, bool(np.ptp(second) == 0))
        self._count(OVERDRIVEN, bool(np.mean(np.abs(wide) >= _FULL) > _CLIPPED))
        if loud:  # a quiet second tells nothing about the band
            self._count(TELEPHONE, _band(wide, _HIGH_HZ, _TOP_HZ) < _NOTHING)
        needed = {DEAD: _DEAD_S, OVERDRIVEN: _OVERDRIVEN_S, TELEPHONE: _TELEPHONE_S}
        bad = [reason for reason, seconds in self._seconds.items() if seconds >= needed[reason]]
        self.complaint = bad[0] if bad else ""

    def _count(self, reason: str, seen: bool) -> None:
        self._seconds[reason] = self._seconds[reason] + 1 if seen else 0


def _band(second: npt.NDArray[np.float64], low_hz: float, high_hz: float) -> float:
    """Root mean square of the part of the sound between two frequencies, in counts.

    Windowed, so that a loud tone does not leak over the whole spectrum.
    """
    window = np.blackman(len(second))
    power = np.abs(np.fft.rfft(second * window)) ** 2
    hertz = np.fft.rfftfreq(len(second), 1 / SAMPLES_PER_SECOND)
    inside = power[(hertz >= low_hz) & (hertz < high_hz)].sum()
    return float(np.sqrt(2 * inside / len(second) / np.sum(window**2)))
