"""A walk at the keyboard: prompts are printed, answers are lines; the clock is real."""

from __future__ import annotations

import os
import queue
import threading
from collections.abc import Callable, Mapping, Sequence

from walkaround.devices.agenda import Agenda
from walkaround.devices.clock import SittingClock
from walkaround.exchange import AskKind, Prompt, Question, ToneKind
from walkaround.speech.ports import Arrival, Closed, Transcript, Word

_CHUNK = 4096
_LONGEST_LINE = 1000  # characters; the rest of a longer line is left out
_TONES: Mapping[ToneKind, str] = {
    ToneKind.TAKEN: "(taken)",
    ToneKind.HOLD_BEGINS: "(the hold begins)",
    ToneKind.HOLD_ENDS: "(the hold ends)",
    ToneKind.UNCLEAR: "(unclear)",
    ToneKind.HEARD: "",
}
_TYPE: Mapping[AskKind, str] = {
    AskKind.YES_NO: "yes or no",
    AskKind.NUMBER: "a number, such as 105",
    AskKind.PAIR: "two numbers, primary then secondary, such as 110 105",
    AskKind.MARK: "mark, at the moment",
    AskKind.RISE: "each value as the needle passes it, such as 85",
    AskKind.COUNT: "a number, such as 3",
}
"""What may be typed to a question, beside the commands."""
_COMMANDS = (
    "repeat, help, explain, previous, correction, measure again, wait, continue, unable, "
    "shorter, longer, stop, finish"
)
_Line = tuple[str | None, int]  # None: no more will come


class TypedStage:
    """Implements `speech.ports.Stage` with a file descriptor to read and a way to print.

    A line counts from the moment it arrives.  When the input ends the walk gets `Closed`,
    and gets it again however often it asks.
    """

    def __init__(
        self,
        write: Callable[[str], None],
        source: int = 0,
        clock: SittingClock | None = None,
        *,
        hints: bool = True,
    ) -> None:
        """`hints`: off where answers are free words, and a list of what may be typed misleads."""
        self._write, self._hints = write, hints
        self._clock = clock if clock is not None else SittingClock()
        self._agenda = Agenda()
        self._question = ""
        self._typed_to = ""  # the question that the last line was an answer to
        self._lines: queue.SimpleQueue[_Line] = queue.SimpleQueue()
        self._ended = False
        threading.Thread(target=self._read, args=(source,), daemon=True).start()

    def now_ms(self) -> int:
        return self._clock.now_ms()

    def say(self, prompts: Sequence[Prompt], sentences: Sequence[str]) -> None:
        del prompts
        for sentence in sentences:
            self._write(sentence)

    def tone(self, kind: ToneKind) -> None:
        if _TONES[kind]:
            self._write(_TONES[kind])

    def hush(self) -> None:
        """What is on the screen is there to stay."""

    def listen(
        self, question: Question, grammar: Sequence[str], quiet_after_ms: int | None
    ) -> None:
        del grammar  # whatever is typed is parsed whole
        if self._hints and self._typed_to == question.id and not question.armed:
            self._hint(question)
        self._question, self._typed_to = question.id, ""
        quiet = None if quiet_after_ms is None else self.now_ms() + quiet_after_ms
        self._agenda.quiet_at(quiet, question.id)

    def wake_at(self, at_ms: int, timer: str) -> None:
        self._agenda.wake_at(at_ms, timer)

    def cancel_wake(self, timer: str) -> None:
        self._agenda.cancel(timer)

    def next(self) -> Arrival:
        while True:
            due = self._agenda.due(self.now_ms())
            if due is not None:
                return due
            if self._ended:
                return Closed(self.now_ms())
            try:
                line, at_ms = self._lines.get(timeout=self._agenda.wait_s(self.now_ms()))
            except queue.Empty:
                continue
            if line is None:
                self._ended = True
                return Closed(at_ms)
            if line.strip():
                self._agenda.quiet_at(None, self._question)
                return self._typed(line, at_ms)

    def close(self) -> None:
        self._ended = True

    def _hint(self, question: Question) -> None:
        """The same question is open again after a line was typed: it was no answer to it."""
        kind = " or ".join(question.options) or _TYPE.get(question.kind, "")
        self._write(f"(type {kind}; or {_COMMANDS})" if kind else f"(type {_COMMANDS})")

    def _typed(self, line: str, at_ms: int) -> Transcript:
        self._typed_to = self._question
        words = tuple(Word(text, at_ms, at_ms, 1.0) for text in line.split())
        return Transcript(self._question, words, (), None, at_ms, at_ms, at_ms, typed=True)

    def _read(self, source: int) -> None:
        """On a thread of its own, so that a line's time is when it came."""
        rest = b""
        while chunk := _chunk(source):
            *lines, rest = (rest + chunk).split(b"\n")
            for line in lines:
                self._lines.put((_text(line), self.now_ms()))
            rest = rest[:_LONGEST_LINE]
        if rest:
            self._lines.put((_text(rest), self.now_ms()))
        self._lines.put((None, self.now_ms()))


def _chunk(source: int) -> bytes:
    try:
        return os.read(source, _CHUNK)
    except OSError:  # the terminal has gone
        return b""


def _text(line: bytes) -> str:
    return line[:_LONGEST_LINE].decode("utf-8", errors="replace")
