"""A signed summary read back as typed values: for the page, the audit and the shape check.

Members that are not known here are left alone, so that a later version may add some;
those that are known must have their type.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeVar

from msgspec import UNSET

from walkaround.errors import RecordError
from walkaround.exchange import Outcome
from walkaround.records import form
from walkaround.records.canonical import Json
from walkaround.records.signature import WalkKind
from walkaround.records.wording import DISCLAIMERS

FORMAT = "walkaround-summary-1"
_T = TypeVar("_T")


class AnswerView(NamedTuple):
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


class VerdictView(NamedTuple):
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


class StepView(NamedTuple):
    id: str
    title: str
    state: str
    where: str
    act: bool
    stale: bool
    answers: tuple[AnswerView, ...]
    verdicts: tuple[VerdictView, ...]
    earlier: int  # how often it was judged before


class Pointed(NamedTuple):
    """A verdict or an answer that a reader should look at first; one of the two is there."""

    step: StepView
    verdict: VerdictView | None
    answer: AnswerView | None


class SittingView(NamedTuple):
    number: int
    wall: str
    length: str
    seq: int = 0  # the journal entry that opened it


class SourceView(NamedTuple):
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
    if "format" not in payload:
        raise RecordError("the summary lacks 'format'; the file is damaged")
    if payload["format"] != FORMAT:
        raise RecordError(f"this is not a summary ({FORMAT}); use the version that wrote it")
    told = form.read_form(payload)
    if told.disclaimer not in DISCLAIMERS:
        raise RecordError("its disclaimer is not known here; use the version that wrote it")
    rules = [(row, _at(told.citations, row.citation, "citation")) for row in told.rules]
    steps = {step.id: _step(step, rules, told.notes) for step in told.steps}
    return SummaryView(
        walk=told.walk,
        walk_id=told.id,
        program=told.program,
        script=told.script,
        disclaimer=told.disclaimer,
        places=told.places,
        vehicle=told.vehicle,
        ended=told.ended,
        began=told.began,
        duration=told.duration,
        interruptions=told.interruptions,
        sittings=tuple(SittingView(s.sitting, s.wall, s.length, s.seq) for s in told.sittings),
        steps=tuple(steps.values()),
        findings=_pointers(told.findings, steps),
        undetermined=_pointers(told.undetermined, steps),
        near=_pointers(told.near, steps),
        not_done=tuple((_step_of(one.step, steps), one.why) for one in told.not_done),
        sources=tuple(_sources(told.sources)),
        particulars=told.particulars,
        asked_again=told.sound.asked_again,
        microphone_lost=told.sound.microphone_lost,
        lost_ms=told.sound.lost_ms,
        journal_entries=told.journal.entries,
        journal_hash=told.journal.hash,
        signed_later=form.on(told.signed_later),
    )


def _step_of(name: str, steps: Mapping[str, StepView]) -> StepView:
    step = steps.get(name)
    if step is None:
        raise RecordError("the summary points to a step that is not there; do not use this file")
    return step


def _pointers(
    pointers: Iterable[form.Pointer], steps: Mapping[str, StepView]
) -> tuple[Pointed, ...]:
    return tuple(_pointed(pointer, _step_of(pointer.step, steps)) for pointer in pointers)


def _pointed(pointer: form.Pointer, step: StepView) -> Pointed:
    if pointer.ask is UNSET:
        index = -1 if pointer.verdict is UNSET else pointer.verdict
        return Pointed(step, _at(step.verdicts, index, "verdict"), None)
    for answer in step.answers:
        if answer.ask == pointer.ask:
            return Pointed(step, None, answer)
    raise RecordError("the summary points to an answer that is not there; do not use this file")


def _at(items: Sequence[_T], index: int, what: str) -> _T:
    if not 0 <= index < len(items):
        raise RecordError(f"the summary points to a {what} that is not there; do not use this file")
    return items[index]


def _sources(sources: Mapping[str, Mapping[str, str]]) -> Iterator[SourceView]:
    for origin, files in sources.items():
        for named, sha256 in files.items():
            what, _, name = named.partition("/")
            yield SourceView(what, name, sha256, origin)


_Rules = Sequence[tuple[form.Rule, str]]
"""Rows of the table of rules, each with its citation."""


def _step(step: form.Step, rules: _Rules, notes: Sequence[str]) -> StepView:
    return StepView(
        id=step.id,
        title=step.title,
        state=step.state,
        where=step.where,
        act=form.on(step.act),
        stale=form.on(step.stale),
        answers=tuple([_answer(answer) for answer in step.answers]),
        verdicts=tuple([_verdict(verdict, rules, notes) for verdict in step.verdicts]),
        earlier=len(step.earlier),
    )


def _answer(answer: form.Answer) -> AnswerView:
    said, seq, before = answer.said, answer.seq, answer.amended
    if said and seq is UNSET:
        raise RecordError("an answer of the summary lacks 'seq'; the file is damaged")
    now = () if not said or seq is UNSET else ((seq, said),)
    return AnswerView(
        answer.ask,
        said,
        answer.words,
        answer.points,
        tuple([one.said for one in before]) if before else (),
        form.on(answer.typed),
        form.on(answer.relayed),
        (*((one.seq, one.said) for one in before), *now) if before else now,
    )


def _verdict(verdict: form.Verdict, rules: _Rules, notes: Sequence[str]) -> VerdictView:
    row, citation = _at(rules, verdict.rule, "rule")
    return VerdictView(
        rule=row.rule,
        place=row.place,
        measure=row.measure,
        outcome=verdict.outcome,
        value=verdict.value,
        limit=row.limit,
        citation=citation,
        standing=row.standing,
        severity=row.severity,
        uncertainty=verdict.uncertainty,
        why="" if verdict.note is UNSET else _at(notes, verdict.note, "note"),
        near=form.on(verdict.near),
        conformity=verdict.conformity,
        guard=verdict.guard,
        repeats=verdict.repeats,
        doubts=verdict.doubts,
    )
