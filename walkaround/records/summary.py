"""The summary that is signed: what was read, what the cited rules say, what is undecided.

It is made from the journal alone, so that whoever has both can make it again and
compare.  Every number is a text with its unit, except counts, entry numbers and whole
milliseconds (`_ms`).  It informs; it does not license.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from walkaround.exchange import AskKind, Outcome, Verdict
from walkaround.records.canonical import Json
from walkaround.records.journal import JournalReading, key_named
from walkaround.records.opening import OutlineStep, Source
from walkaround.records.tally import UNABLE, Answered, JudgedAt, Sitting, Tally, tally
from walkaround.records.verdict_table import VerdictTable
from walkaround.records.view import FORMAT

DISCLAIMER = "informs-1"
"""Id of the wording in `wording.py`: what a record is, and what it is not."""

Summary = dict[str, Json]


def summarise(reading: JournalReading, key: Mapping[str, Json] | None) -> Summary:
    """The summary of a journal; `key` is the public JWK of the key that will sign it, or None.

    Raises JournalError for an event that cannot be read.
    """
    opening, counted = reading.opening, tally(reading.opening, reading.entries)
    table = VerdictTable()
    steps = [body for step in opening.outline if (body := _step(step, counted, table)) is not None]
    summary: Summary = {
        "format": FORMAT,
        "disclaimer": DISCLAIMER,
        "walk": opening.kind.value,
        "id": opening.walk_id,
        "program": opening.program,
        "script": opening.script,
        "places": list(opening.places),
        "vehicle": dict(opening.vehicle),
        "ended": counted.ended,
        "began": counted.sittings[0].wall if counted.sittings else "",
        "duration": _seconds(sum(sitting.length_ms for sitting in counted.sittings)),
        "sittings": [_sitting(sitting) for sitting in counted.sittings],
        "interruptions": max(len(counted.sittings) - 1, 0),
        "sound": _sound(counted),
        "steps": list[Json](steps),
        "sources": _sources(opening.sources),
        "particulars": dict(opening.particulars),
        "journal": {"entries": len(reading.entries), "hash": reading.head.hash},
    }
    summary.update(_conclusions(opening.outline, counted))
    summary.update(table.members())
    if key is not None:
        summary["key"] = dict(key)
        if not key_named(reading):
            summary["signed_later"] = True
    return summary


def _seconds(length_ms: int) -> str:
    return f"{length_ms // 1000}.{length_ms % 1000:03d} s"


def _sitting(sitting: Sitting) -> Json:
    return {
        "sitting": sitting.number,
        "wall": sitting.wall,
        "length": _seconds(sitting.length_ms),
        "seq": sitting.seq,
    }


def _sources(sources: Sequence[Source]) -> Json:
    """From where -> what and name -> hash."""
    by_origin: dict[str, dict[str, Json]] = {}
    for source in sources:
        by_origin.setdefault(source.origin, {})[f"{source.what}/{source.name}"] = source.sha256
    return dict[str, Json](by_origin)


def _sound(counted: Tally) -> Json:
    return {
        "asked_again": dict(sorted(counted.unclear.items())),
        "lost_ms": counted.lost_ms,
        "microphone_lost": counted.microphone_lost,
    }


# ---------------------------------------------------------------- steps


def _questions(step: OutlineStep) -> list[str]:
    """Every question of a step: its caution, its asks, and what was said under none of them."""
    asks = [f"{step.id}.{ask.id}" for ask in step.asks]
    return [f"{step.id}.caution", *asks, f"{step.id}."]


def _step(step: OutlineStep, counted: Tally, table: VerdictTable) -> dict[str, Json] | None:
    relayed = {f"{step.id}.{ask.id}" for ask in step.asks if ask.relayed}
    answers = [
        _answer(
            question.removeprefix(f"{step.id}."),
            counted.answers[question],
            _standing(question, counted),
            question in relayed,
        )
        for question in _questions(step)
        if question in counted.answers
    ]
    judged = counted.judged.get(step.id, [])
    if step.act and not answers and not judged:
        return None
    body: dict[str, Json] = {"id": step.id, "title": step.title, "state": _state(step, counted)}
    if step.where:
        body["where"] = step.where
    if step.act:
        body["act"] = True
    if answers:
        body["answers"] = answers
    if judged:
        body["verdicts"] = [table.brief(v) for v in judged[-1].verdicts]
        if _newest_seq(step, counted) > judged[-1].seq:
            body["stale"] = True
    if len(judged) > 1:
        body["earlier"] = [_earlier(told, table) for told in judged[:-1]]
    return body


def _state(step: OutlineStep, counted: Tally) -> str:
    """done, unfinished, not reached, or why it was given up."""
    if counted.not_done is not None and step.id in counted.not_done:
        return counted.not_done[step.id]
    if counted.done is not None and step.id in counted.done:
        return "done"
    heard = [counted.answers[q][-1] for q in _questions(step) if q in counted.answers]
    if not heard:
        return "not reached"
    if max(heard, key=lambda answer: answer.seq).said == UNABLE:
        return UNABLE
    asked = {f"{step.id}.{ask.id}" for ask in step.asks}
    return "done" if asked <= set(counted.standing) else "unfinished"


def _standing(question: str, counted: Tally) -> Answered | None:
    """Cautions and refusals are not among the engine's answers: the last one said stands."""
    found = counted.standing.get(question)
    if found is None and question.endswith((".caution", ".")):
        return counted.answers[question][-1]
    return found


def _newest_seq(step: OutlineStep, counted: Tally) -> int:
    return max(
        (counted.standing[q].seq for q in _questions(step) if q in counted.standing), default=-1
    )


def _answer(ask: str, given: Sequence[Answered], standing: Answered | None, relayed: bool) -> Json:
    """What stands and what was said before; `said` is missing when nothing stands."""
    body: dict[str, Json] = {"ask": ask}
    if standing is not None:
        body.update({"said": standing.said, "seq": standing.seq})
        if standing.words and standing.words != standing.said and not standing.points:
            body["words"] = standing.words
        if standing.typed:
            body["typed"] = True
        if relayed:
            body["relayed"] = True
        if standing.points:
            body["points"] = _points(standing)
        elif standing.said == "mark":
            body["at_ms"] = standing.at_ms
        if standing.gap:
            body["gap"] = True
    others = [answer for answer in given if answer is not standing]
    if others:
        body["amended"] = [_amended(answer) for answer in others]
    return body


def _points(answer: Answered) -> list[Json]:
    return [[at_ms, value] for at_ms, value in answer.points]


def _amended(answer: Answered) -> Json:
    body: dict[str, Json] = {"said": answer.said, "seq": answer.seq}
    if answer.points:
        body["points"] = _points(answer)
    return body


def _earlier(told: JudgedAt, table: VerdictTable) -> Json:
    return {"seq": told.seq, "verdicts": [table.brief(v) for v in told.verdicts]}


# ---------------------------------------------------------------- conclusions


def _conclusions(outline: Sequence[OutlineStep], counted: Tally) -> Summary:
    """What a reader looks for first, as pointers into the steps; all of it follows from them."""
    standing = [
        (step.id, number, verdict)
        for step in outline
        for number, verdict in enumerate(_last_verdicts(step, counted))
    ]
    not_met = [_to(s, n) for s, n, v in standing if v.outcome is Outcome.NOT_MET]
    return {
        "findings": [*not_met, *_bad_answers(outline, counted)],
        "undetermined": [_to(s, n) for s, n, v in standing if v.outcome is Outcome.UNDETERMINED],
        "near": [_to(s, n) for s, n, v in standing if v.near],
        "not_done": [
            {"step": step.id, "why": state}
            for step in outline
            if (state := _state(step, counted)) != "done" and _was_due(step, state)
        ],
    }


def _last_verdicts(step: OutlineStep, counted: Tally) -> tuple[Verdict, ...]:
    judged = counted.judged.get(step.id)
    return judged[-1].verdicts if judged else ()


def _to(step_id: str, number: int) -> Json:
    return {"step": step_id, "verdict": number}


def _was_due(step: OutlineStep, state: str) -> bool:
    return not step.act or state != "not reached"


def _bad_answers(outline: Sequence[OutlineStep], counted: Tally) -> list[Json]:
    """Answers that the script does not call good: a "no" to "is the belt sound?"."""
    found: list[Json] = []
    for step in outline:
        for ask in step.asks:
            given = counted.standing.get(f"{step.id}.{ask.id}")
            if not ask.good or given is None or ask.kind is AskKind.RISE:
                continue
            if given.said != UNABLE and given.said not in ask.good:
                found.append({"step": step.id, "ask": ask.id})
    return found
