"""The summary: what stands, what was amended, what was left open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest

from tests.records.walk_sample import (
    EVENTS,
    GIVEN,
    KEY,
    OUTLINE,
    heard,
    joined,
    journal,
    lines,
    opening,
    psi,
    verdict,
)
from walkaround.errors import JournalError
from walkaround.exchange import (
    AskKind,
    Because,
    Choice,
    Command,
    Count,
    Event,
    Given,
    Heard,
    Judged,
    Mark,
    No,
    Number,
    Outcome,
    Point,
    Rise,
    Said,
    SamplesLost,
    SittingOpened,
    Unclear,
    Verdict,
    Yes,
)
from walkaround.procedure.model import Asked, Plan, Step
from walkaround.quantity import quantity
from walkaround.records.canonical import canonical
from walkaround.records.journal import (
    Closing,
    Ended,
    open_journal,
    read_journal,
    write_closing,
    write_event,
)
from walkaround.records.opening import Opening, OutlineStep, outline_of, read_opening
from walkaround.records.page import page_of
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.summary import summarise
from walkaround.records.view import read_summary

FIRST = SittingOpened(1, "2026-03-01T06:30:00Z", "boot-a", 0)
SECOND = SittingOpened(2, "2026-03-01T07:30:00Z", "boot-b", 0)


def _summary(*events: Event, closing: Closing | None = None) -> dict[str, Any]:
    content = joined(lines(key=None, events=events, closing=closing))
    return dict(summarise(read_journal(content), None))


def _step(summary: dict[str, Any], step_id: str) -> dict[str, Any]:
    return next(step for step in summary["steps"] if step["id"] == step_id)


def _answer(summary: dict[str, Any], question: str) -> dict[str, Any]:
    step, _, ask = question.partition(".")
    return next(a for a in _step(summary, step)["answers"] if a["ask"] == ask)


# ---------------------------------------------------------------- answers


def test_with_no_closing_the_last_answer_stands_and_the_earlier_are_kept() -> None:
    summary = _summary(
        FIRST,
        heard("hold.start", Number(psi("100")), 1_000),
        heard("hold.start", Number(psi("101")), 2_000),
        heard("hold.start", Number(psi("102")), 3_000),
    )
    answer = _answer(summary, "hold.start")
    assert answer["said"] == "102 psi"
    assert [old["said"] for old in answer["amended"]] == ["100 psi", "101 psi"]
    assert summary["ended"] == "unfinished"


def test_with_a_closing_the_engines_answer_stands() -> None:
    """An answer that came when its question was no longer open was written and not taken."""
    events = (
        FIRST,
        heard("hold.start", Number(psi("100")), 1_000),
        heard("hold.start", Number(psi("55")), 2_000),
    )
    closing = Closing(
        Ended.STOPPED, 9_000, (Given("hold.start", Number(psi("100")), 1, 1_000),), ()
    )
    answer = _answer(_summary(*events, closing=closing), "hold.start")
    assert answer["said"] == "100 psi"
    assert [old["said"] for old in answer["amended"]] == ["55 psi"]


def test_an_answer_that_was_dropped_does_not_stand() -> None:
    events = (FIRST, heard("hold.start", Number(psi("100")), 1_000))
    answer = _answer(_summary(*events, closing=Closing(Ended.STOPPED, 9_000)), "hold.start")
    assert "said" not in answer
    assert [old["said"] for old in answer["amended"]] == ["100 psi"]


def test_a_walk_taken_up_again_is_unfinished_until_it_closes_again() -> None:
    stopped = lines(key=None, events=(FIRST,), closing=Closing(Ended.STOPPED, 9_000))
    line, _ = write_event(read_journal(joined(stopped)).head, SECOND)
    assert summarise(read_journal(joined(stopped)), None)["ended"] == "stopped"
    again = summarise(read_journal(joined([*stopped, line])), None)
    assert again["ended"] == "unfinished"
    assert again["interruptions"] == 1


@pytest.mark.parametrize(
    ("meaning", "text"),
    [
        (Yes(), "yes"),
        (No(), "no"),
        (Mark(), "mark"),
        (Choice("gear"), "gear"),
        (Count(3), "3"),
        (Number(quantity("1.75 in")), "1.75 in"),
        (Said(Command.UNABLE), "unable"),
    ],
)
def test_each_sort_of_answer_as_text(meaning: object, text: str) -> None:
    assert _answer(_summary(FIRST, heard("level.belt", meaning, 1)), "level.belt")["said"] == text


def test_what_is_no_answer_is_counted_and_nothing_more() -> None:
    summary = _summary(
        FIRST,
        heard("level.belt", Unclear(Because.NOISE), 1),
        heard("level.belt", Unclear(Because.NOISE), 2),
        heard("level.belt", Unclear(Because.AMBIGUOUS, ("15", "50")), 3),
        heard("level.belt", Said(Command.REPEAT), 4),
    )
    assert summary["sound"]["asked_again"] == {"ambiguous": 1, "noise": 2}
    assert "answers" not in _step(summary, "level")


# ---------------------------------------------------------------- rises


def _calls(*calls: tuple[int, str]) -> list[Event]:
    return [heard("rise.calls", Number(quantity(text)), at) for at, text in calls]


BREAKS: dict[str, Sequence[Event]] = {
    "redo": (heard("rise.calls", Said(Command.REDO), 30),),
    "stop": (heard("rise.calls", Said(Command.STOP), 30),),
    "another answer": (heard("level.belt", Yes(), 30),),
    "a new sitting": (SECOND,),
    "lost sound": (SamplesLost(400, 30, 40),),
}


@pytest.mark.parametrize("name", BREAKS)
def test_a_rise_that_was_broken_off_is_kept_apart(name: str) -> None:
    before, after = _calls((10, "85 psi"), (20, "90 psi")), _calls((40, "86 psi"), (50, "91 psi"))
    answer = _answer(_summary(FIRST, *before, *BREAKS[name], *after), "rise.calls")
    assert answer["points"] == [[40, "86 psi"], [50, "91 psi"]]
    assert answer["amended"][0]["points"] == [[10, "85 psi"], [20, "90 psi"]]
    assert answer["said"] == "86 psi to 91 psi"


def test_a_rise_that_stands_is_the_engines() -> None:
    calls = _calls((10, "85 psi"), (20, "90 psi"), (30, "95 psi"))
    rise = Rise((Point(10, quantity("85 psi")), Point(30, quantity("95 psi"))), (25,), gap=True)
    closing = Closing(Ended.STOPPED, 99, (Given("rise.calls", rise, 1, 10),))
    answer = _answer(_summary(FIRST, *calls, closing=closing), "rise.calls")
    assert answer["points"] == [[10, "85 psi"], [30, "95 psi"]]
    assert answer["gap"] is True
    assert len(answer["amended"][0]["points"]) == 3


def test_a_call_settled_later_stands_at_the_onset_of_the_voice_it_was() -> None:
    calls = [
        heard("rise.calls", Number(quantity("85 psi")), 10),
        heard("rise.calls", Unclear(Because.NOT_AN_ANSWER), 30),
        heard("rise.calls", Number(quantity("100 psi")), 90),
    ]
    rise = Rise((Point(10, quantity("85 psi")), Point(30, quantity("100 psi"))), (30,))
    closing = Closing(Ended.STOPPED, 99, (Given("rise.calls", rise, 1, 10),))
    answer = _answer(_summary(FIRST, *calls, closing=closing), "rise.calls")
    assert answer["points"] == [[10, "85 psi"], [30, "100 psi"]]


def test_a_point_where_no_voice_set_in_is_refused() -> None:
    calls = _calls((10, "85 psi"), (90, "100 psi"))
    rise = Rise((Point(10, quantity("85 psi")), Point(30, quantity("100 psi"))))
    closing = Closing(Ended.STOPPED, 99, (Given("rise.calls", rise, 1, 10),))
    with pytest.raises(JournalError, match="never heard"):
        _summary(FIRST, *calls, closing=closing)


# ---------------------------------------------------------------- conclusions


def test_not_done_and_why() -> None:
    summary = _summary(
        FIRST,
        heard("level.both", Number(psi("100")), 1),
        heard("walk-round.sound", Said(Command.UNABLE), 2),
    )
    assert summary["not_done"] == [
        {"step": "level", "why": "unfinished"},
        {"step": "rise", "why": "not reached"},
        {"step": "hold", "why": "not reached"},
        {"step": "walk-round", "why": "unable"},
    ]
    assert "pump" not in [step["id"] for step in summary["steps"]]  # an act that was not called


def test_the_engines_reasons_win() -> None:
    closing = Closing(Ended.COMPLETE, 9, (), ("level",), {"rise": "need-not-met"})
    reasons = {x["step"]: x["why"] for x in _summary(FIRST, closing=closing)["not_done"]}
    assert reasons["rise"] == "need-not-met"
    assert "level" not in reasons


def test_unable_under_the_commands_question_belongs_to_the_step_at_hand() -> None:
    summary = _summary(
        FIRST,
        heard("hold.start", Number(psi("100")), 1),
        heard("commands", Said(Command.UNABLE), 2),
    )
    assert {"step": "hold", "why": "unable"} in summary["not_done"]


def test_the_last_judgement_counts_and_the_earlier_are_kept() -> None:
    summary = _summary(
        FIRST,
        heard("hold.start", Number(psi("100")), 1),
        Judged("hold", (verdict("r", Outcome.NOT_MET, "9 psi"),), 2, 2),
        heard("hold.start", Number(psi("101")), 3),
        Judged("hold", (verdict("r", Outcome.MET, "1 psi", near=True),), 4, 4),
    )
    step = _step(summary, "hold")
    assert [v["outcome"] for v in step["verdicts"]] == ["met"]
    assert step["earlier"][0]["verdicts"] == [{"rule": 0, "outcome": "not met", "value": "9 psi"}]
    assert (summary["findings"], len(summary["near"])) == ([], 1)
    assert "stale" not in step


def test_a_verdict_older_than_its_answer_is_marked() -> None:
    summary = _summary(
        FIRST,
        heard("hold.start", Number(psi("100")), 1),
        Judged("hold", (verdict("r", Outcome.MET, "1 psi"),), 2, 2),
        heard("hold.start", Number(psi("80")), 3),
    )
    assert _step(summary, "hold")["stale"] is True


def test_a_bad_answer_is_a_finding_and_one_without_good_answers_is_not() -> None:
    summary = _summary(FIRST, heard("level.belt", No(), 1), heard("walk-round.sound", No(), 2))
    assert summary["findings"] == [{"step": "level", "ask": "belt"}]


def test_each_citation_stands_once() -> None:
    verdicts = tuple(verdict(f"r{n}", Outcome.MET, "1 s") for n in range(20))
    summary = _summary(FIRST, Judged("hold", verdicts, 1, 1))
    assert len(summary["citations"]) == 1
    assert [row["rule"] for row in summary["rules"]] == [f"r{n}" for n in range(20)]


def test_a_rule_stands_once_however_often_it_is_applied() -> None:
    verdicts = tuple(verdict("r", Outcome.MET, f"{n} in", why="n") for n in range(20))
    summary = _summary(FIRST, Judged("hold", verdicts, 1, 1))
    assert (len(summary["rules"]), summary["notes"]) == (1, ["n"])
    told = read_summary({**summary, "citations": list(summary["citations"])}).steps
    hold = next(step for step in told if step.id == "hold")
    assert [v.value for v in hold.verdicts] == [f"{n} in" for n in range(20)]
    assert {v.citation for v in hold.verdicts} == {"Ontario, Air Brake Handbook, chapter 9"}


def test_a_verdict_on_a_step_that_the_opening_does_not_name() -> None:
    with pytest.raises(JournalError, match="does not name"):
        _summary(FIRST, Judged("elsewhere", (verdict("r", Outcome.MET, "1 s"),), 1, 1))


# ---------------------------------------------------------------- opening and size


def _plan() -> Plan:
    ask = Asked("start", AskKind.NUMBER, {}, good=("yes",), of="axle 1 left")
    step = Step("hold", "One minute", "cab", (ask,), caution="Keep clear.")
    act = Step("pump", "Building air", "cab", ())
    return Plan("truck", "Truck", {}, (step,), (act,), {})


def test_the_outline_is_the_plans() -> None:
    outline = outline_of(_plan())
    assert [(s.id, s.act, s.caution) for s in outline] == [
        ("hold", False, True),
        ("pump", True, False),
    ]
    assert outline[0].asks[0].of == "axle 1 left"


def test_the_opening_round_trips() -> None:
    first = opening()
    whole = Opening(
        **{
            **{n: getattr(first, n) for n in first.__slots__},
            "outline": (*OUTLINE, *outline_of(_plan())),
        }
    )
    assert read_journal(open_journal(whole)[0]).opening == whole
    assert read_opening(read_journal(open_journal(first)[0]).entries[0].body) == first


def _called_out(step: OutlineStep) -> OutlineStep:
    asks = tuple(replace(ask, relayed=ask.kind is AskKind.NUMBER) for ask in step.asks)
    return replace(step, asks=asks)


def test_a_reading_that_somebody_else_called_out_is_marked_so() -> None:
    outline = tuple(_called_out(step) if step.id == "hold" else step for step in OUTLINE)
    reading = read_journal(joined(lines(key=None, outline=outline)))
    assert reading.opening.outline == outline
    summary = summarise(reading, None)
    answers = {
        answer.ask: answer for step in read_summary(summary).steps for answer in step.answers
    }
    assert {ask for ask, answer in answers.items() if answer.relayed} == {"start", "end"}
    assert page_of(summary, False).count(b"relayed: read by the helper, told by the driver") == 2


def test_a_summary_reads_back_as_typed_values() -> None:
    view = read_summary(summarise(read_journal(journal()), KEY.public.jwk()))
    assert view.walk is WalkKind.SIMULATED
    assert view.steps[1].verdicts[0].citation == "Ontario, Air Brake Handbook, chapter 9"
    assert view.steps[0].answers[1].amended == ("105 psi, 100 psi",)
    assert [(p.step.id, p.verdict and p.verdict.rule) for p in view.findings] == [
        ("rise", "ca-on.build-up"),
        ("level", None),
    ]
    assert view.findings[1].answer is not None
    assert view.findings[1].answer.said == "no"
    assert [(step.title, why) for step, why in view.not_done] == [("Looking round", "unable-taken")]


def test_an_ordinary_walk_takes_about_ten_kilobytes() -> None:
    """48 steps of two questions and one verdict each, a citation for every third."""
    events: list[Event] = [FIRST]
    first = opening()
    step = type(OUTLINE[0])
    asks = OUTLINE[2].asks[::2]
    outline = tuple(step(f"step-number-{n}", f"Step number {n}", asks, "cab") for n in range(48))
    for n in range(48):
        for ask in ("start", "end"):
            at = n * 10_000
            events.append(
                Heard(f"step-number-{n}.{ask}", Number(psi("105")), "one oh five", at, at)
            )
        told = Verdict(
            f"ca-on.rule-{n}", "CA-ON", "build-up", Outcome.MET, "96.2 s", "at most 120 s",
            f"Ontario Air Brake Handbook, section {n // 3}, 2021", "published",
        )  # fmt: skip
        events.append(Judged(f"step-number-{n}", (told,), n * 10_000, n * 10_000))
    line, head = open_journal(
        Opening(**{**{n: getattr(first, n) for n in first.__slots__}, "outline": outline})
    )
    parts = [line]
    for event in events:
        line, head = write_event(head, event)
        parts.append(line)
    line, head = write_closing(head, Closing(Ended.STOPPED, 480_000))
    summary = summarise(read_journal(joined(parts)), KEY.public.jwk())
    assert len(canonical(summary)) < 25_000
    assert len(sign(summary, KEY, WalkKind.WALK, Paper.RECORD)) < 10_000


def test_times_are_sums_of_sittings() -> None:
    summary = summarise(read_journal(journal()), None)
    assert summary["duration"] == "177.000 s"  # 107 s and 70 s
    assert summary["began"] == "2026-03-01T06:30:00Z"
    assert len(EVENTS) > len(GIVEN)
