"""How loud it is: the floor between words, the voice over it, and what follows from both.

The microphone's gain is unknown, so that only their ratio says whether the ear can be
trusted.  In a synthetic diesel one reading in six is asked again at 5 dB and the wrong ones
begin below: from there on the driver is told to move or turn.
"""

from __future__ import annotations

from collections import deque

import numpy as np

from walkaround.speech.ports import SAMPLES_PER_SECOND

_PIECE = SAMPLES_PER_SECOND // 10  # 100 ms
_FLOOR_S, _UTTERANCES = 5, 3
_FLOOR_PART = 0.2  # this part of the quiet pieces is below the floor
_SILENT = 0.5  # counts: less than rounding leaves
TOO_LOUD_DB, FINE_DB = 5.0, 9.0
"""Below the first the ear is not to be trusted; told again only after the second was reached."""
_QUIET_DB, _LOUD_DB, _LEAST_GAIN = 30.0, 60.0, 0.35


def decibels(rms: float) -> float:
    """Level over one count of 16-bit sound."""
    return float(20 * np.log10(max(rms, _SILENT)))


class Levels:
    """Feed it every block with whether a voice is in it. Decibels are over one count."""

    def __init__(self) -> None:
        self._rest = b""
        self._quiet: deque[float] = deque(maxlen=_FLOOR_S * 10)
        self._turn: list[float] = []
        self._voices: deque[float] = deque(maxlen=_UTTERANCES)
        self._told = False
        self.now_db = decibels(0)

    def take(self, block: bytes, in_turn: bool) -> None:
        self._rest += block
        size = _PIECE * 2
        while len(self._rest) >= size:
            piece = np.frombuffer(self._rest[:size], dtype="<i2").astype(np.float64)
            self._rest = self._rest[size:]
            self.now_db = decibels(float(np.sqrt(np.mean(piece**2))))
            (self._turn if in_turn else self._quiet).append(self.now_db)

    def turn_ended(self) -> None:
        """The loudest half of an utterance is its voice: the rest is pauses."""
        if self._turn:
            loud = sorted(self._turn)[len(self._turn) // 2 :]
            self._voices.append(float(np.mean(loud)))
        self._turn = []

    @property
    def floor_db(self) -> float | None:
        """None until half a second was heard without a voice."""
        return float(np.quantile(self._quiet, _FLOOR_PART)) if len(self._quiet) >= 5 else None

    @property
    def over_floor_db(self) -> float | None:
        """The voice itself, its power without the noise's, over the floor; None until somebody
        spoke. Not less than -10."""
        floor = self.floor_db
        if floor is None or not self._voices:
            return None
        both, noise = 10 ** (float(np.median(self._voices)) / 10), 10 ** (floor / 10)
        return float(10 * np.log10(max(both / noise - 1, 0.1)))

    def too_loud(self) -> bool:
        """True once each time that it has become too loud, by three utterances running."""
        over = self.over_floor_db
        if over is None or len(self._voices) < _UTTERANCES:
            return False
        if self._told:
            self._told = over < FINE_DB
            return False
        self._told = over < TOO_LOUD_DB
        return self._told

    @property
    def gain(self) -> float:
        """What our own voice is to be multiplied with: softer where it is quiet, whole beside
        an engine."""
        floor = self.floor_db
        if floor is None:
            return 1.0
        part = (floor - _QUIET_DB) / (_LOUD_DB - _QUIET_DB)
        return float(np.clip(_LEAST_GAIN + (1 - _LEAST_GAIN) * part, _LEAST_GAIN, 1.0))
