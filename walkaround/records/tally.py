"""A journal's entries, sorted by question, step and sitting; nothing is judged or dropped.

Which answers stand is told by the closing entry, where the engine's own list is kept;
each must have been heard, or the journal is refused.  Without a closing the last answer
to a question stands.  All others are amended ones, and kept.  A called-out rise is one
answer of many points; it begins anew when something breaks it off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from walkaround.errors import JournalError
from walkaround.exchange import (
    AskKind,
    Choice,
    Command,
    Count,
    Event,
    Given,
    Heard,
    Held,
    Judged,
    Mark,
    Meaning,
    MicrophoneLost,
    No,
    NotDone,
    Number,
    Pair,
    Rise,
    Said,
    SamplesLost,
    SittingOpened,
    TimeReached,
    Unclear,
    Verdict,
    Yes,
)
from walkaround.records.journal import Entry, EntryKind, closing_of
from walkaround.records.opening import Opening

UNABLE = "unable"
HELD = "held"
_BREAKS = (Command.REDO, Command.PREVIOUS, Command.CORRECTION, Command.WAIT, Command.STOP)
_HOLD_TIMER = "hold:"


@dataclass(slots=True)
class Answered:
    """One answer: what was taken, the words heard, the entry; a rise has its points."""

    said: str
    words: str
    seq: int
    sitting: int
    at_ms: int
    typed: bool = False
    points: list[tuple[int, str]] = field(default_factory=list)
    gap: bool = False


@dataclass(slots=True)
class JudgedAt:
    verdicts: tuple[Verdict, ...]
    seq: int


@dataclass(slots=True)
class Sitting:
    number: int
    wall: str
    seq: int
    length_ms: int = 0


@dataclass(slots=True)
class Tally:
    """What a journal holds, by question id ("step.ask") and by step id.

    `not_done` and `done` are None while the walk has no closing.
    """

    answers: dict[str, list[Answered]] = field(default_factory=dict)
    standing: dict[str, Answered] = field(default_factory=dict)
    not_done: dict[str, str] | None = None
    done: tuple[str, ...] | None = None
    judged: dict[str, list[JudgedAt]] = field(default_factory=dict)
    sittings: list[Sitting] = field(default_factory=list)
    unclear: dict[str, int] = field(default_factory=dict)
    onsets: dict[str, set[int]] = field(default_factory=dict)  # of every voice, by question
    microphone_lost: int = 0
    lost_ms: int = 0
    ended: str = "unfinished"
    signed_heads: int = 0


def tally(opening: Opening, entries: Sequence[Entry]) -> Tally:
    """Sort the entries. Raises JournalError for an event that cannot be read."""
    sorter = _Sorter(opening)
    for entry in entries:
        sorter.take(entry)
    counted = sorter.tally
    if sorter.closing is None:
        counted.standing = {question: given[-1] for question, given in counted.answers.items()}
    else:
        _settle(counted, sorter.closing)
    return counted


class _Sorter:
    def __init__(self, opening: Opening) -> None:
        self.tally = Tally()
        self.closing: Entry | None = None
        self._kinds = {
            f"{step.id}.{ask.id}": ask.kind for step in opening.outline for ask in step.asks
        }
        self._steps = {step.id for step in opening.outline}
        self._step = ""
        self._last_question = ""
        self._restart = False

    def take(self, entry: Entry) -> None:
        if entry.kind is EntryKind.CLOSING:
            self.closing = entry
            self.tally.ended = str(entry.body["how"])
            self._lengthen(entry.body["at_ms"])
        elif entry.kind is EntryKind.HEAD:
            self.tally.signed_heads += 1
        elif entry.kind in (EntryKind.EVENT, EntryKind.SITTING):
            event = entry.event()
            self._take_event(event, entry)
            self._lengthen(event.arrived_ms)

    def _lengthen(self, at_ms: object) -> None:
        if self.tally.sittings and isinstance(at_ms, int):
            last = self.tally.sittings[-1]
            last.length_ms = max(last.length_ms, at_ms)

    def _take_event(self, event: Event, entry: Entry) -> None:
        match event:
            case SittingOpened():
                self.tally.sittings.append(Sitting(event.sitting, event.wall, entry.seq))
                self._restart = True
                self.tally.ended, self.closing = "unfinished", None
            case Heard():
                self._take_heard(event, entry)
            case Judged():
                if event.step not in self._steps:
                    raise JournalError(
                        f"line {entry.seq + 1} of the journal judges '{event.step[:40]}', "
                        "which its opening does not name; do not use it"
                    )
                told = JudgedAt(event.verdicts, entry.seq)
                self.tally.judged.setdefault(event.step, []).append(told)
            case TimeReached(timer=timer) if timer.startswith(_HOLD_TIMER):
                question = timer.removeprefix(_HOLD_TIMER)
                held = Answered(HELD, "", entry.seq, entry.sitting, event.occurred_ms)
                self._add(question, held)
            case SamplesLost():
                self.tally.lost_ms += event.lost_ms
                self._restart = True
            case MicrophoneLost():
                self.tally.microphone_lost += 1
                self._restart = True
            case _:
                pass

    def _take_heard(self, heard: Heard, entry: Entry) -> None:
        step = heard.question.rpartition(".")[0]
        if step in self._steps:
            self._step = step
        self.tally.onsets.setdefault(heard.question, set()).add(heard.occurred_ms)
        if isinstance(heard.meaning, Unclear):
            because = heard.meaning.because.value
            self.tally.unclear[because] = self.tally.unclear.get(because, 0) + 1
            return
        if isinstance(heard.meaning, Said) and heard.meaning.command in _BREAKS:
            self._restart = True
        said = meaning_text(heard.meaning)
        if not said:
            return
        question = heard.question if step in self._steps else f"{self._step}."
        answer = Answered(
            said, heard.words, entry.seq, entry.sitting, heard.occurred_ms, heard.typed
        )
        if self._kinds.get(question) is AskKind.RISE and said != UNABLE:
            self._add_point(question, answer)
        else:
            self._add(question, answer)

    def _add(self, question: str, answer: Answered) -> None:
        self.tally.answers.setdefault(question, []).append(answer)
        self._last_question, self._restart = question, False

    def _add_point(self, question: str, answer: Answered) -> None:
        point = (answer.at_ms, answer.said)
        runs = self.tally.answers.get(question, [])
        goes_on = bool(runs) and self._last_question == question and not self._restart
        if goes_on and runs[-1].points:
            run = runs[-1]
            run.points.append(point)
            run.said = f"{run.points[0][1]} to {answer.said}"
            run.seq = answer.seq
            return
        answer.points = [point]
        self._add(question, answer)


def meaning_text(meaning: Meaning) -> str:
    """An answer as text with its unit; empty for what is no answer."""
    match meaning:
        case Yes():
            return "yes"
        case No():
            return "no"
        case Number(value=value):
            return str(value)
        case Pair(primary=primary, secondary=secondary):
            return f"{primary}, {secondary}"
        case Mark():
            return "mark"
        case Choice(option=option):
            return option
        case Count(number=number):
            return str(number)
        case Said(command=Command.UNABLE):
            return UNABLE
        case _:
            return ""


# ---------------------------------------------------------------- what stands


def _settle(counted: Tally, entry: Entry) -> None:
    closing = closing_of(entry)
    counted.not_done, counted.done = dict(closing.not_done), closing.done
    for given in closing.given:
        if isinstance(given.answer, Rise):
            counted.standing[given.question] = _risen(counted, given, given.answer)
        elif not isinstance(given.answer, NotDone):
            counted.standing[given.question] = _heard(counted, given)
    for question, answer in counted.standing.items():
        if answer not in counted.answers[question]:
            counted.answers[question].append(answer)


def _heard(counted: Tally, given: Given) -> Answered:
    """The last time that this answer was given to this question."""
    answer = given.answer
    assert not isinstance(answer, (Rise, NotDone))
    text = HELD if isinstance(answer, Held) else meaning_text(answer)
    for heard in reversed(counted.answers.get(given.question, [])):
        if heard.said == text:
            return heard
    raise JournalError(
        f"'{text}' stands for {given.question} in the journal but was never heard; do not use it"
    )


def _risen(counted: Tally, given: Given, rise: Rise) -> Answered:
    """The rise that stands; it replaces the runs that it is made of.

    Each value must have been heard, and each time must be the onset of a voice: a call that
    was not understood stands at its own onset with the value that was asked for later.
    """
    points = [(point.at_ms, str(point.value)) for point in rise.points]
    runs = counted.answers.get(given.question, [])
    values, onsets = {value for _, value in points}, counted.onsets.get(given.question, set())
    heard = {value for run in runs for _, value in run.points}
    if not points or not values <= heard or not onsets.issuperset(at_ms for at_ms, _ in points):
        raise JournalError(
            f"a rise stands for {given.question} in the journal that was never heard; do not use it"
        )
    used = [run for run in runs if any(value in values for _, value in run.points)]
    whole = [run for run in used if _went_whole(run, points, values)]
    counted.answers[given.question] = [run for run in runs if run not in whole]
    last = used[-1]
    said = points[0][1] if len(points) == 1 else f"{points[0][1]} to {points[-1][1]}"
    return Answered(
        said, "", last.seq, given.sitting, points[0][0], last.typed, points, gap=rise.gap
    )


def _went_whole(run: Answered, points: Sequence[tuple[int, str]], values: set[str]) -> bool:
    """Whether all of the run is in the rise, at its own times but for values settled later."""
    shared = set(run.points).intersection(points)
    return bool(shared) and values.issuperset(value for _, value in run.points)
