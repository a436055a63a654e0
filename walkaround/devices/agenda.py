"""What a stage on the real clock waits for besides its input: timers and a driver gone quiet."""

from __future__ import annotations

from walkaround.exchange import StayedQuiet, TimeReached


class Agenda:
    """Times are milliseconds of the sitting."""

    def __init__(self) -> None:
        self._timers: dict[str, int] = {}
        self._quiet: tuple[int, str] | None = None

    def wake_at(self, at_ms: int, timer: str) -> None:
        self._timers[timer] = at_ms

    def cancel(self, timer: str) -> None:
        self._timers.pop(timer, None)

    def quiet_at(self, at_ms: int | None, question: str) -> None:
        """Tell of silence under that question once, then; None: never."""
        self._quiet = None if at_ms is None else (at_ms, question)

    def due(self, now_ms: int) -> TimeReached | StayedQuiet | None:
        """The earliest thing whose time has come; it is taken off."""
        timer = min(self._timers, key=lambda name: self._timers[name], default=None)
        at_ms = self._timers[timer] if timer is not None else now_ms + 1
        if self._quiet is not None and self._quiet[0] <= min(at_ms, now_ms):
            (at_ms, question), self._quiet = self._quiet, None
            return StayedQuiet(question, at_ms, now_ms)
        if timer is None or at_ms > now_ms:
            return None
        del self._timers[timer]
        return TimeReached(timer, at_ms, now_ms)

    def wait_s(self, now_ms: int, most_s: float = 3600.0) -> float:
        """Seconds until the next thing is due, `most_s` at most."""
        times = [*self._timers.values(), *([self._quiet[0]] if self._quiet else [])]
        return max(0.0, min(most_s, (min(times, default=now_ms + 3_600_000) - now_ms) / 1000))
