"""What is kept of a learner's practice between drills, and what to practise next.

The signed records are what counts.  The progress file holds only what was read out of them,
by each journal's hash, so that nothing is read twice; lost or damaged, it is made anew.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime

from walkaround.errors import JournalError, RecordError
from walkaround.learning.drill import Mark
from walkaround.learning.evidence import wall_time
from walkaround.learning.memory import Key, Memory, Review, due, remember
from walkaround.procedure.model import Plan
from walkaround.records.canonical import Json, canonical, parse_canonical
from walkaround.records.shape import Members

FORMAT = "walkaround-progress-1"
STEP = "step:"


@dataclass(frozen=True, slots=True)
class Progress:
    """The practices of each journal that was read, by the journal's hash."""

    journals: Mapping[str, tuple[Review, ...]] = field(default_factory=dict)

    def with_journal(self, digest: str, reviews: Collection[Review]) -> Progress:
        return Progress({**self.journals, digest: tuple(reviews)})

    def only(self, digests: Collection[str]) -> Progress:
        """Without journals that are no longer there."""
        return Progress({d: r for d, r in self.journals.items() if d in digests})

    @property
    def reviews(self) -> tuple[Review, ...]:
        return tuple(review for reviews in self.journals.values() for review in reviews)

    def memories(self) -> Mapping[Key, Memory]:
        return remember(self.reviews)


@dataclass(frozen=True, slots=True)
class Next:
    """What to practise in one place: cards due, least known first; and cards never practised,
    in the script's order."""

    due: tuple[Memory, ...]
    new: tuple[str, ...]

    def cards(self) -> frozenset[str]:
        """The step cards of both."""
        return frozenset(memory.key.item.removeprefix(STEP) for memory in self.due) | set(self.new)


def next_steps(progress: Progress, plan: Plan, cards: Mapping[str, str], at: datetime) -> Next:
    """What to practise of a plan; `cards` maps its step names to cards.

    Places are taken together: a step that is due in one of them is due.
    """
    wanted = {f"{STEP}{cards[step.id]}": cards[step.id] for step in plan.steps}
    known = progress.memories()
    ripe = [memory for memory in due(known, at) if memory.key.item in wanted]
    seen = {key.item for key in known}
    first = {memory.key.item: memory for memory in reversed(ripe)}
    return Next(
        due=tuple(memory for memory in ripe if first[memory.key.item] is memory),
        new=tuple(card for item, card in wanted.items() if item not in seen),
    )


# ---------------------------------------------------------------- the file


def serialise_progress(progress: Progress) -> bytes:
    """Canonical JSON, one line."""
    body: dict[str, Json] = {
        "format": FORMAT,
        "journals": {
            digest: [_review_body(review) for review in reviews]
            for digest, reviews in progress.journals.items()
        },
    }
    return canonical(body) + b"\n"


def _review_body(review: Review) -> dict[str, Json]:
    return {
        "at": review.at.astimezone(UTC).isoformat(timespec="milliseconds"),
        "item": review.key.item,
        "mark": review.mark.value,
        "place": review.key.place,
    }


def parse_progress(content: bytes) -> Progress:
    """Raises RecordError, in one sentence, for anything that is not such a file."""
    try:
        plain = parse_canonical(content.removesuffix(b"\n"))
    except ValueError:
        raise RecordError(
            "the progress file is damaged; it is made anew from your practice records"
        ) from None
    top = Members(plain, "the progress file", RecordError)
    if top.text("format") != FORMAT:
        raise RecordError("the progress file is of another version; it is made anew")
    journals = top.object("journals")
    found = {
        digest: tuple(_read_review(item) for item in journals.objects(digest))
        for digest in journals.raw
    }
    top.done()
    return Progress(found)


def _read_review(item: Members) -> Review:
    try:
        at = wall_time(item.text("at"))
    except JournalError as bad:
        raise RecordError("the progress file holds a time that is none; it is made anew") from bad
    review = Review(Key(item.text("item"), item.text("place")), at, item.member(Mark, "mark"))
    item.done()
    return review
