"""The readable page of a summary: one HTML file to read and print, with nothing to fetch or run.

Everything that comes out of the record is escaped.  No colour carries a meaning alone,
every picture has its table, and what was simulated says so first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from walkaround.exchange import Outcome
from walkaround.records.canonical import Json
from walkaround.records.curve import curve
from walkaround.records.markup import Markup, element, joined, listed, table
from walkaround.records.nearness import how_near, where_places_differ
from walkaround.records.page_style import HEAD
from walkaround.records.rounding import minutes, rounded
from walkaround.records.view import (
    AnswerView,
    Pointed,
    StepView,
    SummaryView,
    VerdictView,
    read_summary,
)
from walkaround.records.wording import BANNERS, DISCLAIMERS, NOT_PROVEN, PROVES, SIGNED_LATER

TITLE = "Air-brake check"

NOT_DONE_BECAUSE: Mapping[str, str] = MappingProxyType(
    {
        "unable": "the driver could not do it",
        "unable-taken": "the driver could not do it",
        "need-not-met": "what it needs could not be brought about",
        "unfinished": "begun and not finished",
        "not reached": "not reached",
    }
)
_ENDS: Mapping[str, str] = MappingProxyType(
    {"complete": "gone through to its end", "stopped": "stopped before its end"}
)


def page_of(summary: Mapping[str, Json], signed: bool) -> bytes:
    """The page, UTF-8. Raises RecordError when `summary` has not a summary's shape."""
    view = read_summary(summary)
    parts = (
        _top(view, signed),
        _glance(view),
        _findings(view),
        _split(view),
        _undecided(view),
        _verdicts(view),
        _rises(view),
        _readings(view),
        _course(view),
        _made_with(view),
        _meaning(view, signed),
    )
    body = element("body", element("main", *parts))
    page = element("html", HEAD, body, lang="en")
    return f"<!DOCTYPE html>\n{page}\n".encode()


def _section(title: str, *content: str) -> Markup:
    return element("section", element("h2", title), *content)


def _facts(facts: Sequence[tuple[str, str]]) -> Markup:
    pairs = [joined(element("dt", name), element("dd", text or "not said")) for name, text in facts]
    return element("dl", *pairs)


def _top(view: SummaryView, signed: bool) -> Markup:
    banner = BANNERS[view.walk]
    word, _, rest = banner.partition(": ")
    shown = element("p", element("strong", word), f" {rest}", class_="banner") if banner else ""
    unsigned = (
        "" if signed else element("p", "Not signed yet: no key was at hand.", class_="banner")
    )
    later = element("p", SIGNED_LATER, class_="banner") if view.signed_later else ""
    facts = _facts(
        [
            ("begun", view.began),
            ("time taken", minutes(view.duration)),
            ("judged for", ", ".join(view.places)),
            ("script", view.script),
            ("the check was", _ENDS.get(view.ended, "not finished")),
            ("number", view.walk_id),
            *view.vehicle.items(),
        ]
    )
    informs = element("p", DISCLAIMERS[view.disclaimer][0], class_="informs")
    return element("header", shown, unsigned, later, element("h1", TITLE), informs, facts)


def _glance(view: SummaryView) -> Markup:
    told = [verdict for step in view.steps for verdict in step.verdicts]
    rows = [
        ("verdicts: met", str(sum(v.outcome is Outcome.MET for v in told))),
        ("verdicts: not met", str(sum(v.outcome is Outcome.NOT_MET for v in told))),
        ("verdicts: undetermined", str(sum(v.outcome is Outcome.UNDETERMINED for v in told))),
        ("findings", str(len(view.findings))),
        ("near a limit", str(len(view.near))),
        ("steps not done", str(len(view.not_done))),
        ("interruptions", str(view.interruptions)),
    ]
    return _section("At a glance", table("What was found, counted", ("what", "count"), rows))


# ---------------------------------------------------------------- what was found


def _pointer(pointed: Pointed) -> str:
    """One finding in a line: the step, what was said or read, what belongs to it."""
    verdict, answer = pointed.verdict, pointed.answer
    if verdict is None:
        told = f"{answer.ask}: {answer.said}" if answer else ""
        return f"{pointed.step.title}. {told}"
    read = rounded(verdict.value, verdict.uncertainty)
    told = ": ".join(text for text in (verdict.rule or verdict.measure, read) if text)
    near = how_near(verdict) or verdict.uncertainty
    rest = (verdict.limit, verdict.severity, near, verdict.why, *_doubted(verdict))
    tail = "; ".join(text for text in rest if text)
    return f"{pointed.step.title}, {verdict.place}. {told}" + (f" ({tail})" if tail else "")


def _doubted(verdict: VerdictView) -> tuple[str, ...]:
    """What in the readings does not fit together; it changed no verdict."""
    return tuple(f"doubted: {doubt}" for doubt in verdict.doubts)


def _list_of(pointed: Sequence[Pointed], none: str) -> Markup:
    return listed([_pointer(one) for one in pointed]) if pointed else element("p", none)


def _findings(view: SummaryView) -> Markup:
    none = "Nothing that was read or answered is a finding. What was not done is listed below."
    return _section("Findings", _list_of(view.findings, none))


def _undecided(view: SummaryView) -> Markup:
    undone = [f"{step.title}: {NOT_DONE_BECAUSE.get(why, why)}" for step, why in view.not_done]
    return _section(
        "Undecided, near and not done",
        element("h3", "Undetermined"),
        _list_of(view.undetermined, "Nothing."),
        element("h3", "Near a limit: the uncertainty reaches across it"),
        _list_of(view.near, "Nothing."),
        element("h3", "Steps not done"),
        listed(undone) if undone else element("p", "None."),
    )


def _split(view: SummaryView) -> Markup:
    """Said plainly: within the limit of one place and outside that of another."""
    if len(view.places) < 2:
        return joined()
    rows = where_places_differ(view.steps)
    if not rows:
        none = "No reading is within the limit of one place and outside that of another."
        return _section("Where the places differ", element("p", none))
    parts = [joined(element("h3", title), listed(told)) for title, told in rows]
    return _section("Where the places differ", *parts)


def _verdicts(view: SummaryView) -> Markup:
    rows = [_verdict_row(step, verdict) for step in view.steps for verdict in step.verdicts]
    if not rows:
        return _section("Verdicts", element("p", "Nothing was judged."))
    headings = ("step", "place", "measure", "read", "limit", "outcome", "rule and source")
    return _section("Verdicts", table("Each verdict with its rule", headings, rows))


def _verdict_row(step: StepView, verdict: VerdictView) -> tuple[str, ...]:
    outcome = (
        element("strong", verdict.outcome.value)
        if verdict.outcome is Outcome.NOT_MET
        else (verdict.outcome.value)
    )
    notes = [
        how_near(verdict),
        verdict.severity if verdict.outcome is not Outcome.MET else "",
        verdict.why,
        *_doubted(verdict),
        "an answer was changed after this verdict" if step.stale else "",
        f"judged {step.earlier + 1} times, this is the last" if step.earlier else "",
    ]
    source = "; ".join(t for t in (verdict.rule, verdict.citation, verdict.standing) if t)
    value = rounded(verdict.value, verdict.uncertainty)
    read = " ".join(t for t in (value, "" if verdict.near else verdict.uncertainty) if t)
    return (
        step.title,
        verdict.place,
        verdict.measure,
        read,
        verdict.limit,
        joined(outcome, *(element("div", note) for note in notes if note)),
        source,
    )


# ---------------------------------------------------------------- what was said


def _rises(view: SummaryView) -> Markup:
    pictures = [
        joined(element("h3", step.title), curve(step.title, answer.points, f"rise-{number}"))
        for number, (step, answer) in enumerate(_with_points(view), start=1)
    ]
    if not pictures:
        return _section("Pressure over time", element("p", "No rise was called out."))
    return _section("Pressure over time", *pictures)


def _with_points(view: SummaryView) -> list[tuple[StepView, AnswerView]]:
    return [(step, answer) for step in view.steps for answer in step.answers if answer.points]


def _readings(view: SummaryView) -> Markup:
    rows = [
        (step.title, step.where, answer.ask, answer.said or "does not stand", _as_heard(answer))
        for step in view.steps
        for answer in step.answers
    ]
    if not rows:
        return _section("What was said", element("p", "Nothing was answered."))
    headings = ("step", "where", "asked", "answer that stands", "as heard, and said before")
    return _section("What was said", table("Every answer", headings, rows))


def _as_heard(answer: AnswerView) -> str:
    before = f"said before: {', then '.join(answer.amended)}" if answer.amended else ""
    typed = "typed" if answer.typed else ""
    relayed = "relayed: read by the helper, told by the driver" if answer.relayed else ""
    heard = f"“{answer.words}”" if answer.words else ""
    return "; ".join(text for text in (heard, typed, relayed, before) if text)


def _course(view: SummaryView) -> Markup:
    rows = [(str(s.number), s.wall, minutes(s.length)) for s in view.sittings]
    again = [f"{count} × {because}" for because, count in view.asked_again.items()]
    told = [
        f"Interrupted {view.interruptions} times: a new sitting begins after each, and nothing "
        "timed runs across."
        if view.interruptions
        else "Not interrupted.",
        f"Heard and not taken as an answer: {', '.join(again)}."
        if again
        else "Everything heard was taken as an answer.",
        f"The microphone was lost {view.microphone_lost} times; {view.lost_ms} ms of sound are "
        "missing.",
    ]
    sittings = table("Sittings", ("sitting", "begun (device clock)", "length"), rows)
    return _section("Course and interruptions", sittings, listed(told))


# ---------------------------------------------------------------- what it is worth


def _made_with(view: SummaryView) -> Markup:
    rows = [(f"{s.what}: {s.name}", s.origin, element("code", s.sha256)) for s in view.sources]
    facts = _facts(
        [
            ("program", view.program),
            ("journal", f"{view.journal_entries} entries, ending in {view.journal_hash}"),
            ("particulars, as commitments", ", ".join(view.particulars) or "none"),
        ]
    )
    files = table("Data files used", ("file", "from", "SHA-256"), rows)
    return _section("Made with", facts, files)


def _meaning(view: SummaryView, signed: bool) -> Markup:
    proves = listed(PROVES) if signed else element("p", "Nothing yet: it is not signed.")
    return _section(
        "What this is worth",
        element("h3", "What the signed record beside this page proves, once verified"),
        proves,
        element("h3", "What it does not prove"),
        listed(NOT_PROVEN),
        element("p", "This page itself is a copy to read: verify the signed file."),
        element("h3", "Cautions"),
        listed(DISCLAIMERS[view.disclaimer]),
    )
