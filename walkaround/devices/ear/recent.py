"""The last sound that was heard, in memory only: what an answer's own sound is cut from."""

from __future__ import annotations

from collections import deque

from walkaround.speech.ports import SAMPLES_PER_SECOND

MARGIN = SAMPLES_PER_SECOND // 4
"""Samples before and after an answer: its first and last letters are soft."""
_MOST = 60 * SAMPLES_PER_SECOND


class Recent:
    """Sound from the sample `first` on; what is older than a minute is gone."""

    def __init__(self, first: int = 0) -> None:
        self._blocks: deque[bytes] = deque()
        self._first, self._end = first, first

    def take(self, block: bytes) -> None:
        """The next block, 16-bit."""
        self._blocks.append(block)
        self._end += len(block) // 2
        while self._end - self._first > _MOST:
            self._first += len(self._blocks.popleft()) // 2

    def cut(self, begin: int, end: int) -> tuple[int, bytes]:
        """From which sample, and the sound up to `end`, with a margin as far as there is one."""
        begin, end = max(begin - MARGIN, self._first), min(end + MARGIN, self._end)
        sound = b"".join(self._blocks)[(begin - self._first) * 2 : (end - self._first) * 2]
        return begin, sound
