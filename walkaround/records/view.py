"""A signed summary read back as typed values: for the page, the audit and the shape check.

Members that are not known here are left alone, so that a later version may add some;
those that are known must have their type.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TypeVar

from walkaround.errors import RecordError
from walkaround.exchange import Outcome
from walkaround.records.canonical import Json
from walkaround.records.shape import Members
from walkaround.records.signature import WalkKind
from walkaround.records.wording import DISCLAIMERS

FORMAT = "walkaround-summary-1"
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class AnswerView:
    """`said` is empty when no answer stands; `points` of a rise are (ms of the sitting, text)."""

    ask: str
    said: str
    words: str
    points: tuple[tuple[int, str], ...]
    amended: tuple[str, ...]
    typed: bool
    relayed: bool = False  # read by somebody else, and told by the driver
    heard: tuple[tuple[int, str], ...] = ()
    """(journal entry, text) of each time it was said, the earliest first."""


@dataclass(frozen=True, slots=True)
class VerdictView:
    rule: str
    place: str
    measure: str
    outcome: Outcome
    value: str
    limit: str
    citation: str
    standing: str
    severity: str
    uncertainty: str
    why: str
    near: bool
    conformity: str = ""  # of a near one: how likely it is within the limit, "93.3 %"
    guard: str = ""  # "conditional pass" or "conditional fail"
    repeats: int = 0  # so many measurements, averaged, would settle it
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StepView:
    id: str
    title: str
    state: str
    where: str
    act: bool
    stale: bool
    answers: tuple[AnswerView, ...]
    verdicts: tuple[VerdictView, ...]
    earlier: int  # how often it was judged before


@dataclass(frozen=True, slots=True)
class Pointed:
    """A verdict or an answer that a reader should look at first; one of the two is there."""

    step: StepView
    verdict: VerdictView | None
    answer: AnswerView | None


@dataclass(frozen=True, slots=True)
class SittingView:
    number: int
    wall: str
    length: str
    seq: int = 0  # the journal entry that opened it


@dataclass(frozen=True, slots=True)
class SourceView:
    what: str
    name: str
    sha256: str
    origin: str


@dataclass(frozen=True, slots=True)
class SummaryView:
    """Everything in it; `not_done` holds (step, why), `near` verdicts within the guard band."""

    walk: WalkKind
    walk_id: str
    program: str
    script: str
    disclaimer: str
    places: tuple[str, ...]
    vehicle: Mapping[str, str]
    ended: str
    began: str
    duration: str
    interruptions: int
    sittings: tuple[SittingView, ...]
    steps: tuple[StepView, ...]
    findings: tuple[Pointed, ...]
    undetermined: tuple[Pointed, ...]
    near: tuple[Pointed, ...]
    not_done: tuple[tuple[StepView, str], ...]
    sources: tuple[SourceView, ...]
    particulars: Mapping[str, str]
    asked_again: Mapping[str, int]
    microphone_lost: int
    lost_ms: int
    journal_entries: int
    journal_hash: str
    signed_later: bool  # its journal named no key


def read_summary(payload: Mapping[str, Json]) -> SummaryView:
    """The typed view. Raises RecordError, naming the member, for any other shape."""
    top = Members(payload, "the summary", RecordError)
    if top.text("format") != FORMAT:
        raise RecordError(f"this is not a summary ({FORMAT}); use the version that wrote it")
    if top.text("disclaimer") not in DISCLAIMERS:
        raise RecordError("its disclaimer is not known here; use the version that wrote it")
    rules = _Rules(top)
    steps = {step.id: step for step in (_step(item, rules) for item in top.objects("steps"))}
    journal, sound = top.object("journal"), top.object("sound")
    asked_again = sound.object("asked_again")
    return SummaryView(
        walk=top.member(WalkKind, "walk"),
        walk_id=top.text("id"),
        program=top.text("program"),
        script=top.text("script"),
        disclaimer=top.text("disclaimer"),
        places=top.texts("places"),
        vehicle=top.text_map("vehicle"),
        ended=top.text("ended"),
        began=top.text("began"),
        duration=top.text("duration"),
        interruptions=top.integer("interruptions"),
        sittings=tuple(
            SittingView(
                item.integer("sitting"),
                item.text("wall"),
                item.text("length"),
                item.integer("seq"),
            )
            for item in top.objects("sittings")
        ),
        steps=tuple(steps.values()),
        findings=_pointers(top, "findings", steps),
        undetermined=_pointers(top, "undetermined", steps),
        near=_pointers(top, "near", steps),
        not_done=tuple(
            (_step_of(item, steps), item.text("why")) for item in top.objects("not_done")
        ),
        sources=tuple(_sources(top.object("sources"))),
        particulars=top.text_map("particulars"),
        asked_again={name: asked_again.integer(name) for name in asked_again.raw},
        microphone_lost=sound.integer("microphone_lost"),
        lost_ms=sound.integer("lost_ms"),
        journal_entries=journal.integer("entries"),
        journal_hash=journal.text("hash"),
        signed_later=top.flag("signed_later"),
    )


def _step_of(item: Members, steps: Mapping[str, StepView]) -> StepView:
    step = steps.get(item.text("step"))
    if step is None:
        raise RecordError("the summary points to a step that is not there; do not use this file")
    return step


def _pointers(top: Members, key: str, steps: Mapping[str, StepView]) -> tuple[Pointed, ...]:
    return tuple(_pointed(item, _step_of(item, steps)) for item in top.objects(key))


def _pointed(item: Members, step: StepView) -> Pointed:
    if "ask" in item.raw:
        asked = item.text("ask")
        for answer in step.answers:
            if answer.ask == asked:
                return Pointed(step, None, answer)
        raise RecordError("the summary points to an answer that is not there; do not use this file")
    return Pointed(step, _at(step.verdicts, item.integer("verdict"), "verdict"), None)


def _at(items: tuple[_T, ...], index: int, what: str) -> _T:
    if not 0 <= index < len(items):
        raise RecordError(f"the summary points to a {what} that is not there; do not use this file")
    return items[index]


def _sources(item: Members) -> Iterator[SourceView]:
    for origin in item.raw:
        for named, sha256 in item.text_map(origin).items():
            what, _, name = named.partition("/")
            yield SourceView(what, name, sha256, origin)


class _Rules:
    """What the numbers in a verdict point to."""

    def __init__(self, top: Members) -> None:
        self._citations, self._notes = top.texts("citations"), top.texts("notes")
        self._rows = tuple(self._row(item) for item in top.objects("rules"))

    def _row(self, item: Members) -> dict[str, str]:
        row = {name: item.text(name) for name in ("rule", "place", "measure", "limit", "standing")}
        row["citation"] = _at(self._citations, item.integer("citation"), "citation")
        row["severity"] = item.text("severity", "")
        return row

    def verdict(self, item: Members) -> VerdictView:
        note = item.integer("note") if "note" in item.raw else None
        return VerdictView(
            outcome=item.member(Outcome, "outcome"),
            value=item.text("value", ""),
            uncertainty=item.text("uncertainty", ""),
            why="" if note is None else _at(self._notes, note, "note"),
            near=item.flag("near"),
            conformity=item.text("conformity", ""),
            guard=item.text("guard", ""),
            repeats=item.integer("repeats") if "repeats" in item.raw else 0,
            doubts=item.texts("doubts", ()),
            **_at(self._rows, item.integer("rule"), "rule"),
        )


def _step(item: Members, rules: _Rules) -> StepView:
    return StepView(
        id=item.text("id"),
        title=item.text("title"),
        state=item.text("state"),
        where=item.text("where", ""),
        act=item.flag("act"),
        stale=item.flag("stale"),
        answers=tuple(_answers(item)),
        verdicts=tuple(rules.verdict(inner) for inner in item.objects("verdicts", ())),
        earlier=len(item.objects("earlier", ())),
    )


def _answers(step: Members) -> Iterator[AnswerView]:
    raw = step.raw.get("answers")
    if not isinstance(raw, list):
        raw = []
        step.objects("answers", ())  # raises, unless there are none
    for number, plain in enumerate(raw, start=1):
        # Most answers are just these three, and a record has a hundred of them.
        if type(plain) is dict and len(plain) == 3:
            ask, told, seq = plain.get("ask"), plain.get("said"), plain.get("seq")
            if type(ask) is str and type(told) is str and told and type(seq) is int:
                yield AnswerView(ask, told, "", (), (), False, heard=((seq, told),))
                continue
        yield _answer(Members(plain, (step, "answers", number), RecordError))


def _answer(item: Members) -> AnswerView:
    before = tuple(
        (inner.integer("seq"), inner.text("said")) for inner in item.objects("amended", ())
    )
    said = item.text("said", "")
    now = ((item.integer("seq"), said),) if said else ()
    return AnswerView(
        ask=item.text("ask"),
        said=said,
        words=item.text("words", ""),
        points=item.timed_texts("points"),
        amended=tuple(text for _, text in before),
        typed=item.flag("typed"),
        relayed=item.flag("relayed"),
        heard=(*before, *now),
    )
