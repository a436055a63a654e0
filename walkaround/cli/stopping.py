"""Being told to stop from outside: between two things that are done, never in the middle of one.

A walk waits inside `Stage.next`, where nothing is half done: only there does a signal break
in.  Anywhere else it is remembered until the walk waits again.  A second Ctrl-C ends at once.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from types import FrameType, TracebackType
from typing import TypeVar

from walkaround.exchange import Prompt, Question, ToneKind
from walkaround.speech.ports import Arrival, Closed, Stage

_NAMES = ("SIGINT", "SIGTERM", "SIGHUP")
T = TypeVar("T")


class ToldToStop(BaseException):
    """Breaks in while something is waited for."""


class StopSignals(AbstractContextManager["StopSignals"]):
    """While this is open, Ctrl-C, SIGTERM and SIGHUP are asked for here and kill nothing.

    One that the caller ignores (`nohup`) stays ignored.
    """

    def __init__(self) -> None:
        self.asked: signal.Signals | None = None
        self._waiting = False
        self._before: dict[signal.Signals, object] = {}

    def __enter__(self) -> StopSignals:
        if threading.current_thread() is threading.main_thread():
            for name in _NAMES:
                number = getattr(signal, name, None)
                if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
                    self._before[number] = signal.signal(number, self._arrived)
        return self

    def __exit__(
        self,
        _kind: type[BaseException] | None,
        _error: BaseException | None,
        _trace: TracebackType | None,
    ) -> None:
        for number, handler in self._before.items():
            signal.signal(number, handler)  # type: ignore[arg-type]

    def _arrived(self, number: int, _frame: FrameType | None) -> None:
        again = self.asked is not None
        self.asked = signal.Signals(number)
        if self._waiting:
            raise ToldToStop
        if again and number == signal.SIGINT:
            raise KeyboardInterrupt

    def wait(self, take: Callable[[], T]) -> T | None:
        """What `take` gives, or None when it was broken off or not begun."""
        if self.asked is not None:
            return None
        try:
            self._waiting = True
            return take() if self.asked is None else None
        except ToldToStop:
            return None
        finally:
            self._waiting = False


class StoppableStage:
    """A stage on which the input ends when the process is told to stop."""

    def __init__(self, stage: Stage, signals: StopSignals) -> None:
        self._stage, self._signals = stage, signals

    def next(self) -> Arrival:
        arrival = self._signals.wait(self._stage.next)
        return Closed(self._stage.now_ms()) if arrival is None else arrival

    def now_ms(self) -> int:
        return self._stage.now_ms()

    def say(self, prompts: Sequence[Prompt], sentences: Sequence[str]) -> None:
        self._stage.say(prompts, sentences)

    def tone(self, kind: ToneKind) -> None:
        self._stage.tone(kind)

    def hush(self) -> None:
        self._stage.hush()

    def listen(
        self, question: Question, grammar: Sequence[str], quiet_after_ms: int | None
    ) -> None:
        self._stage.listen(question, grammar, quiet_after_ms)

    def wake_at(self, at_ms: int, timer: str) -> None:
        self._stage.wake_at(at_ms, timer)

    def cancel_wake(self, timer: str) -> None:
        self._stage.cancel_wake(timer)

    def close(self) -> None:
        self._stage.close()
