"""A signed summary read back as typed values: for the page, the audit and the shape check.

Members that are not known here are left alone, so that a later version may add some;
those that are known must have their type.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from walkaround.errors import RecordError
from walkaround.exchange import Outcome
from walkaround.records.canonical import Json
from walkaround.records.shape import Members
from walkaround.records.signature import WalkKind
from walkaround.records.wording import DISCLAIMERS

FORMAT = "walkaround-summary-1"


@dataclass(frozen=True, slots=True)
class AnswerView:
    """`said` is empty when no answer stands; `points` of a rise are (ms of the sitting, text)."""

    ask: str
    said: str
    words: str
    points: tuple[tuple[int, str], ...]
    amended: tuple[str, ...]
    typed: bool


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
class SittingView:
    number: int
    wall: str
    length: str


@dataclass(frozen=True, slots=True)
class SourceView:
    what: str
    name: str
    sha256: str
    origin: str


@dataclass(frozen=True, slots=True)
class SummaryView:
    """Pointers are small objects of texts: which step, which rule, what value."""

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
    findings: tuple[Mapping[str, str], ...]
    undetermined: tuple[Mapping[str, str], ...]
    near: tuple[Mapping[str, str], ...]
    not_done: tuple[Mapping[str, str], ...]
    sources: tuple[SourceView, ...]
    particulars: Mapping[str, str]
    asked_again: Mapping[str, int]
    microphone_lost: int
    lost_ms: int
    journal_entries: int
    journal_hash: str

    def title_of(self, step_id: str) -> str:
        return next((step.title for step in self.steps if step.id == step_id), step_id)


def read_summary(payload: Mapping[str, Json]) -> SummaryView:
    """The typed view. Raises RecordError, naming the member, for any other shape."""
    top = Members(payload, "the summary", RecordError)
    if top.text("format") != FORMAT:
        raise RecordError(f"this is not a summary ({FORMAT}); use the version that wrote it")
    if top.text("disclaimer") not in DISCLAIMERS:
        raise RecordError("its disclaimer is not known here; use the version that wrote it")
    citations = top.texts("citations")
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
            SittingView(item.integer("sitting"), item.text("wall"), item.text("length"))
            for item in top.objects("sittings")
        ),
        steps=tuple(_step(item, citations) for item in top.objects("steps")),
        findings=_pointers(top, "findings"),
        undetermined=_pointers(top, "undetermined"),
        near=_pointers(top, "near"),
        not_done=_pointers(top, "not_done"),
        sources=tuple(_source(item) for item in top.objects("sources")),
        particulars=top.text_map("particulars"),
        asked_again={name: asked_again.integer(name) for name in asked_again.raw},
        microphone_lost=sound.integer("microphone_lost"),
        lost_ms=sound.integer("lost_ms"),
        journal_entries=journal.integer("entries"),
        journal_hash=journal.text("hash"),
    )


def _pointers(top: Members, key: str) -> tuple[Mapping[str, str], ...]:
    return tuple({name: item.text(name) for name in item.raw} for item in top.objects(key))


def _source(item: Members) -> SourceView:
    return SourceView(item.text("what"), item.text("name"), item.text("sha256"), item.text("from"))


def _step(item: Members, citations: tuple[str, ...]) -> StepView:
    return StepView(
        id=item.text("id"),
        title=item.text("title"),
        state=item.text("state"),
        where=item.text("where", ""),
        act=item.flag("act"),
        stale=item.flag("stale"),
        answers=tuple(_answer(inner) for inner in item.objects("answers", ())),
        verdicts=tuple(_verdict(inner, citations) for inner in item.objects("verdicts", ())),
        earlier=len(item.objects("earlier", ())),
    )


def _answer(item: Members) -> AnswerView:
    return AnswerView(
        ask=item.text("ask"),
        said=item.text("said", ""),
        words=item.text("words", ""),
        points=item.timed_texts("points"),
        amended=tuple(inner.text("said") for inner in item.objects("amended", ())),
        typed=item.flag("typed"),
    )


def _verdict(item: Members, citations: tuple[str, ...]) -> VerdictView:
    index = item.integer("citation")
    if not 0 <= index < len(citations):
        raise RecordError(
            f"a verdict cites number {index}, which is not there; do not use this file"
        )
    return VerdictView(
        rule=item.text("rule"),
        place=item.text("place"),
        measure=item.text("measure"),
        outcome=item.member(Outcome, "outcome"),
        value=item.text("value"),
        limit=item.text("limit"),
        citation=citations[index],
        standing=item.text("standing"),
        severity=item.text("severity", ""),
        uncertainty=item.text("uncertainty", ""),
        why=item.text("why", ""),
        near=item.flag("near"),
    )
