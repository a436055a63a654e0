"""What a journal shows about how well each step is known: of practice, and of real walks.

A drill's own answers say it.  A real walk reads every step out, so a step that went
smoothly proves no memory and counts for nothing; help, an explanation or a correction asked
for counts as known with help, and a step left undone as one to practise.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from datetime import UTC, datetime, timedelta

from walkaround.errors import JournalError
from walkaround.exchange import Choice, Command, Heard, Said, SittingOpened
from walkaround.learning.course import card_of
from walkaround.learning.drill import WORST_LAST, Mark
from walkaround.learning.memory import Key, Review
from walkaround.records.journal import EntryKind, JournalReading, closing_of
from walkaround.records.signature import WalkKind

RECALL_ASKS = ("recall", "look", "help", "explain")
QUIZ = "questions"
"""The step of a practice record under which questions on rules and parts stand."""
_HELP = (Command.HELP, Command.EXPLAIN, Command.CORRECTION, Command.REDO)


def reviews_of(reading: JournalReading, cards: Collection[str]) -> tuple[Review, ...]:
    """The practices that a journal shows, one for each step and place.

    `cards` are the names of step cards.  A simulated walk shows nothing of a person.
    Raises JournalError for an event or a time that cannot be read.
    """
    kind = reading.opening.kind
    if kind is WalkKind.SIMULATED:
        return ()
    of = _practised if kind is WalkKind.PRACTICE else _walked
    marks: dict[Key, tuple[Mark, datetime]] = {}
    for key, mark, at in of(reading, cards):
        for place in (key.place,) if key.place else reading.opening.places:
            here = Key(key.item, place)
            before, _ = marks.get(here, (mark, at))
            marks[here] = (max(before, mark, key=WORST_LAST.index), at)
    return tuple(Review(key, at, mark) for key, (mark, at) in marks.items())


Evidence = Iterator[tuple[Key, Mark, datetime]]
"""A key without a place stands for every place of the journal."""


def _practised(reading: JournalReading, cards: Collection[str]) -> Evidence:
    names = {mark.value: mark for mark in Mark}
    for heard, at in _heard(reading):
        step, _, ask = heard.question.rpartition(".")
        meaning = heard.meaning
        if not isinstance(meaning, Choice) or meaning.option not in names:
            continue
        if step == QUIZ:
            yield key_of(ask), names[meaning.option], at
        elif ask in RECALL_ASKS:
            yield _step(step, cards), names[meaning.option], at
    yield from _undone(reading, cards, {"forgotten": Mark.FORGOTTEN})


def _walked(reading: JournalReading, cards: Collection[str]) -> Evidence:
    acts = {step.id for step in reading.opening.outline if step.act}
    steps = {step.id for step in reading.opening.outline} - acts
    for heard, at in _heard(reading):
        step = heard.question.rpartition(".")[0]
        if step in steps and isinstance(heard.meaning, Said) and heard.meaning.command in _HELP:
            yield _step(step, cards), Mark.HELPED, at
    undone = {"unable": Mark.WRONG, "unable-taken": Mark.WRONG}
    yield from _undone(reading, cards, undone)


def _undone(
    reading: JournalReading, cards: Collection[str], counts: Mapping[str, Mark]
) -> Evidence:
    began = _began(reading)
    for entry in reading.entries:
        if entry.kind is not EntryKind.CLOSING:
            continue
        closing = closing_of(entry)
        for step, why in closing.not_done.items():
            if why in counts:
                at = began + timedelta(milliseconds=closing.at_ms)
                yield _step(step, cards), counts[why], at


def _step(name: str, cards: Collection[str]) -> Key:
    return Key(f"step:{card_of(name, cards)}", "")


def note_name(key: Key) -> str:
    """The name of a rule's or a part's question in a record: without colon and full stop."""
    return f"{key.place}~{key.item}".replace(":", "~").replace(".", "~~")


def key_of(name: str) -> Key:
    """The key that `note_name` made the name of."""
    place, _, item = name.partition("~")
    kind, _, rest = item.partition("~")
    return Key(f"{kind}:{rest.replace('~~', '.')}", place)


def _heard(reading: JournalReading) -> Iterator[tuple[Heard, datetime]]:
    """Everything heard, with the wall clock's time of it."""
    began = _began(reading)
    for entry in reading.entries:
        if entry.kind not in (EntryKind.EVENT, EntryKind.SITTING):
            continue
        event = entry.event()
        if isinstance(event, SittingOpened):
            began = wall_time(event.wall)
        elif isinstance(event, Heard):
            yield event, began + timedelta(milliseconds=event.occurred_ms)


def _began(reading: JournalReading) -> datetime:
    for entry in reading.entries:
        if entry.kind is EntryKind.SITTING:
            event = entry.event()
            if isinstance(event, SittingOpened):
                return wall_time(event.wall)
    return datetime(1970, 1, 1, tzinfo=UTC)


def wall_time(text: str) -> datetime:
    """RFC 3339 in UTC as a time. Raises JournalError."""
    try:
        at = datetime.fromisoformat(text.replace("Z", "+00:00"))
    except ValueError:
        raise JournalError(f"'{text[:40]}' is no time; use your copy of the journal") from None
    if at.tzinfo is None:
        raise JournalError(f"'{text[:40]}' has no time zone; use your copy of the journal")
    return at.astimezone(UTC)
