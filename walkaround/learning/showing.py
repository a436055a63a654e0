"""What the truck showed, as answers with their meaning, as lines to read, and as findings.

The words are the simulated hands'; their meaning is made out as any driver's is.  Times are
whole milliseconds of the sitting.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from walkaround.engine.findings import is_good
from walkaround.engine.moves import hold_timer
from walkaround.exchange import (
    Answer,
    AskKind,
    Choice,
    Count,
    Event,
    Given,
    Heard,
    Held,
    Judged,
    Mark,
    Meaning,
    No,
    NotDone,
    Number,
    Outcome,
    Pair,
    Point,
    Rise,
    Said,
    TimeReached,
    Verdict,
    Wanted,
    Wording,
    Yes,
)
from walkaround.learning.drill import Shown
from walkaround.procedure.model import Asked, Bands, Plan, Step, question_of
from walkaround.quantity import Quantity, compare
from walkaround.speech.meanings import meant_by
from walkaround.speech.phrases import Phrasebook

BY_THE_TRUCK = "simulated"
"""Stands as the score of what the simulated truck told, so that no record mistakes it."""
JudgeOf = Callable[[str, Sequence[Wanted]], tuple[Verdict, ...]]


@dataclass(frozen=True, slots=True)
class Told:
    """The words at one question, each with its moment; `detail` is what was seen or heard."""

    ask: str
    words: tuple[tuple[str, int], ...]
    began_ms: int
    ended_ms: int
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Showing:
    """A step done on the truck: for the drill, for the record, and the answers that stand."""

    shown: Shown
    events: tuple[Event, ...]
    given: Mapping[str, Given]


def showing(
    plan: Plan,
    name: str,
    told: Sequence[Told],
    *,
    before: Mapping[str, Given],
    phrases: Phrasebook,
    judge: JudgeOf,
    sitting: int = 1,
) -> Showing:
    """Everything that came of doing a step or act; `before` are the answers so far."""
    step = plan.step(name)
    asks = {asked.id: asked for asked in step.asks}
    given, events = dict[str, Given](), list[Event]()
    for each in told:
        asked = asks[each.ask]
        answer, heard = _answer(step, asked, each, phrases)
        events += heard
        if answer is not None:
            question = f"{name}.{asked.id}"
            at_ms = each.words[0][1] if each.words else each.ended_ms
            given[question] = Given(question, answer, sitting, at_ms)
    verdicts: tuple[Verdict, ...] = ()
    if step.judges:
        verdicts = judge(name, _wanted(step, {**before, **given}))
        at_ms = told[-1].ended_ms if told else 0
        events.append(Judged(name, verdicts, at_ms, at_ms))
    shown = _shown(plan, step, told, given, verdicts)
    return Showing(shown, tuple(events), given)


def _wanted(step: Step, given: Mapping[str, Given]) -> tuple[Wanted, ...]:
    return tuple(
        Wanted(
            spec.measure,
            tuple((name, given.get(at)) for name, at in spec.inputs),
            tuple(given.get(at) for at in spec.rests_on),
            spec.only,
        )
        for spec in step.judges
    )


# ---------------------------------------------------------------- answers


def _answer(
    step: Step, asked: Asked, told: Told, phrases: Phrasebook
) -> tuple[Answer | None, list[Event]]:
    name = f"{step.id}.{asked.id}"
    if asked.kind is AskKind.HOLD:
        held = TimeReached(hold_timer(step, asked), told.ended_ms, told.ended_ms)
        return Held(told.began_ms, told.ended_ms), [held]
    question = question_of(step.id, asked)
    events: list[Event] = []
    meanings: list[tuple[Meaning, int]] = []
    for words, at_ms in told.words:
        meant = meant_by(words.split(), question, phrases).meanings
        if len(meant) == 1:
            meanings.append((meant[0], at_ms))
            events.append(Heard(name, meant[0], words, at_ms, at_ms, at_ms, BY_THE_TRUCK))
    return _stands(asked, meanings), events


def _stands(asked: Asked, meanings: Sequence[tuple[Meaning, int]]) -> Answer | None:
    if asked.kind is AskKind.RISE:
        points = tuple(Point(at, m.value) for m, at in meanings if isinstance(m, Number))
        return Rise(points) if points else None
    for meaning, _ in meanings[-1:]:
        if isinstance(meaning, (Yes, No, Number, Pair, Mark, Choice, Count)):
            return meaning
        if isinstance(meaning, Said):
            return NotDone("unable")
    return None


# ---------------------------------------------------------------- what is shown


def _shown(
    plan: Plan,
    step: Step,
    told: Sequence[Told],
    given: Mapping[str, Given],
    verdicts: Sequence[Verdict],
) -> Shown:
    act = any(step.id == each.id for each in plan.acts)
    good = all(
        f"{step.id}.{asked.id}" in given and is_good(asked, given[f"{step.id}.{asked.id}"].answer)
        for asked in step.asks
    )
    lines = () if act and good else tuple(_lines(step, told, given))
    return Shown(
        name=step.id,
        worked=good,
        lines=lines,
        finding=" ".join(_findings(step, told, given, verdicts)),
        sound=" ".join(_met(verdicts)),
        to_judge=bool(step.judges),
        read=_read(plan.bands, step, given),
    )


def _read(bands: Mapping[str, Bands], step: Step, given: Mapping[str, Given]) -> dict[str, str]:
    """The states that gauge readings show, by the lower of two needles."""
    read = {}
    for asked in step.asks:
        answer = given.get(f"{step.id}.{asked.id}")
        if asked.sets and answer is not None:
            lowest = _lowest(answer.answer)
            if lowest is not None:
                read[asked.sets] = band_of(bands[asked.sets], lowest)
    return read


def _lowest(answer: Answer) -> Quantity | None:
    match answer:
        case Number(value):
            return value
        case Pair(primary, secondary):
            return primary if compare(primary, secondary) <= 0 else secondary
        case _:
            return None


def band_of(bands: Bands, value: Quantity) -> str:
    """The band that a reading lies in."""
    for limit, name in bands.below:
        if compare(value, Quantity(limit, bands.unit)) < 0:
            return name
    return bands.above


def _lines(step: Step, told: Sequence[Told], given: Mapping[str, Given]) -> Iterable[str]:
    first_mark: int | None = None
    for each in told:
        asked = next(asked for asked in step.asks if asked.id == each.ask)
        answer = given.get(f"{step.id}.{asked.id}")
        if answer is not None and isinstance(answer.answer, Mark):
            yield _marked(asked, answer.occurred_ms, first_mark)
            first_mark = answer.occurred_ms if first_mark is None else first_mark
            continue
        yield _line(asked, answer.answer if answer else None, each.detail)


def _line(asked: Asked, answer: Answer | None, detail: str) -> str:
    asks = asked.texts.get(Wording.SHORT, "")
    more = f": {detail}." if detail else "."
    match answer:
        case Pair(primary, secondary):
            return f"Primary {primary}, secondary {secondary}."
        case Number(value):
            return (
                f"{asked.of or 'The gauge'}: {value}."
                if asked.sets or asked.of
                else (f"{asks} {value}.")
            )
        case Yes():
            return f"{asks} Yes{more}"
        case No():
            return f"{asks} No{more}"
        case Choice(option):
            return f"{asks} {option.capitalize()}{more}"
        case Count(number):
            return f"{asks} {number}."
        case Held(began_ms, ended_ms):
            return f"{(ended_ms - began_ms) // 1000} seconds pass."
        case Rise(points):
            return _risen(points)
        case _:
            return f"{asks} It does not come."


def _marked(asked: Asked, at_ms: int, first_ms: int | None) -> str:
    asks = asked.texts.get(Wording.CUE, "")
    if first_ms is None:
        return f"{asks} The needle passes."
    return f"{asks} The needle passes {_seconds(at_ms - first_ms)} later."


def _risen(points: Sequence[Point]) -> str:
    first = points[0].at_ms
    told = [
        f"{point.value} after {_seconds(point.at_ms - first)}" if point.at_ms != first
        else f"{point.value}"
        for point in points
    ]  # fmt: skip
    return f"The lower needle passes {', '.join(told)}."


def _seconds(length_ms: int) -> str:
    return f"{(Decimal(length_ms) / 1000).quantize(Decimal('0.1'))} s"


# ---------------------------------------------------------------- findings


def _findings(
    step: Step,
    told: Sequence[Told],
    given: Mapping[str, Given],
    verdicts: Sequence[Verdict],
) -> Iterable[str]:
    """Limits not met, and answers that the script does not call good, with what they break."""
    broken = [verdict for verdict in verdicts if verdict.outcome is Outcome.NOT_MET]
    yield from (_outside(verdict) for verdict in broken if _measured(verdict))
    for each in told:
        asked = next(asked for asked in step.asks if asked.id == each.ask)
        answer = given.get(f"{step.id}.{asked.id}")
        if answer is None or not is_good(asked, answer.answer):
            yield _line(asked, answer.answer if answer else None, each.detail)
    sources = dict.fromkeys(verdict.citation for verdict in broken if not _measured(verdict))
    if sources:
        yield f"It breaks: {'; '.join(sources)}."


def _measured(verdict: Verdict) -> bool:
    return verdict.value not in ("", "yes", "no")


def _outside(verdict: Verdict) -> str:
    return (
        f"{verdict.place}: {verdict.value}, and the rule wants {verdict.limit} "
        f"({verdict.citation})."
    )


def _met(verdicts: Sequence[Verdict]) -> list[str]:
    inside = [v for v in verdicts if v.outcome is Outcome.MET and _measured(v)]
    return [f"{v.value}, and the rule wants {v.limit} ({v.citation})." for v in inside[:1]]
