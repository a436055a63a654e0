"""A small made-up walk for the tests of this room: fixed keys, fixed times, every kind of entry."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal

from walkaround.exchange import (
    AskKind,
    Because,
    Event,
    Given,
    Heard,
    Held,
    Judged,
    MicrophoneBack,
    MicrophoneLost,
    No,
    Number,
    Outcome,
    Pair,
    Point,
    Prompt,
    Rise,
    SittingOpened,
    TimeReached,
    Unclear,
    Verdict,
    Yes,
)
from walkaround.quantity import Quantity, Unit, quantity
from walkaround.records.journal import (
    Closing,
    Ended,
    open_journal,
    write_closing,
    write_event,
    write_head,
    write_said,
)
from walkaround.records.keys import SigningKey, make_key
from walkaround.records.opening import Opening, OutlineAsk, OutlineStep, Source
from walkaround.records.signature import WalkKind

KEY = make_key(bytes(range(32)))
STRANGER = make_key(bytes(range(1, 33)))

OUTLINE = (
    OutlineStep(
        "level",
        "Reading the gauges",
        (
            OutlineAsk("both", AskKind.PAIR),
            OutlineAsk("belt", AskKind.YES_NO, good=("yes",)),
        ),
        where="cab",
        caution=True,
    ),
    OutlineStep("rise", "Timing the build-up", (OutlineAsk("calls", AskKind.RISE),), where="cab"),
    OutlineStep(
        "hold",
        "One minute applied",
        (
            OutlineAsk("start", AskKind.NUMBER),
            OutlineAsk("minute", AskKind.HOLD),
            OutlineAsk("end", AskKind.NUMBER),
        ),
    ),
    OutlineStep("walk-round", "Looking round", (OutlineAsk("sound", AskKind.YES_NO),)),
    OutlineStep("pump", "Building air", (OutlineAsk("full", AskKind.NUMBER),), act=True),
)


def opening(kind: WalkKind = WalkKind.SIMULATED, key: SigningKey = KEY) -> Opening:
    return Opening(
        kind=kind,
        walk_id="walk-0001",
        program="0.1.0",
        script="straight-truck",
        places=("CA-ON", "US-CA"),
        sources=(
            Source("script", "straight-truck.yaml", "11" * 32, "checkout"),
            Source("rules", "rules/ca-on.yaml", "22" * 32, "wheel"),
        ),
        outline=OUTLINE,
        vehicle={"kind": "straight truck", "cut-out": "125 psi"},
        device=key.thumbprint,
        particulars={},
    )


def psi(value: str) -> Quantity:
    return Quantity(Decimal(value), Unit.PSI)


def heard(question: str, meaning: object, at_ms: int, words: str = "") -> Heard:
    return Heard(question, meaning, words, at_ms, at_ms + 400, at_ms + 300)  # type: ignore[arg-type]


def verdict(rule: str, outcome: Outcome, value: str, **more: object) -> Verdict:
    return Verdict(
        rule=rule,
        place="CA-ON",
        measure="build-up",
        outcome=outcome,
        value=value,
        limit="at most 120 s",
        citation="Ontario, Air Brake Handbook, chapter 9",
        standing="published",
        **more,  # type: ignore[arg-type]
    )


RISE_POINTS = ((60_000, "85 psi"), (75_500, "90 psi"), (91_000, "95 psi"), (106_000, "100 psi"))

EVENTS: tuple[Event, ...] = (
    SittingOpened(1, "2026-03-01T06:30:00Z", "boot-a", 1000),
    heard("level.caution", Yes(), 1_000, "yes"),
    heard("level.both", Pair(psi("105"), psi("100")), 5_000, "one oh five one hundred"),
    heard("level.both", Pair(psi("110"), psi("100")), 9_000, "one ten one hundred"),
    heard("level.belt", Unclear(Because.NOT_AN_ANSWER), 12_000, "uh"),
    heard("level.belt", No(), 14_000, "no"),
    MicrophoneLost("no samples for 2 s", 20_000, 22_000),
    MicrophoneBack(30_000, 30_000),
    *(heard("rise.calls", Number(quantity(value)), at) for at, value in RISE_POINTS),
    Judged(
        "rise",
        (
            verdict("ca-on.build-up", Outcome.NOT_MET, "131.2 s", severity="minor", near=True),
            verdict("us-ca.build-up", Outcome.UNDETERMINED, "", why="cut-out was not read"),
        ),
        107_000,
        107_000,
    ),
    SittingOpened(2, "2026-03-01T07:05:00Z", "boot-b", 500),
    heard("hold.start", Number(psi("100")), 2_000, "one hundred"),
    TimeReached("hold:hold.minute", 62_000, 62_010),
    heard("hold.end", Number(psi("98.5")), 65_000, "ninety eight and a half"),
    Judged("hold", (verdict("ca-on.leak", Outcome.MET, "1.5 psi/min"),), 66_000, 66_000),
)

GIVEN = (
    Given("level.both", Pair(psi("110"), psi("100")), 1, 9_000),
    Given("level.belt", No(), 1, 14_000),
    Given("rise.calls", Rise(tuple(Point(at, quantity(v)) for at, v in RISE_POINTS)), 1, 60_000),
    Given("hold.start", Number(psi("100")), 2, 2_000),
    Given("hold.minute", Held(2_000, 62_000), 2, 62_000),
    Given("hold.end", Number(psi("98.5")), 2, 65_000),
)

CLOSING = Closing(
    Ended.COMPLETE, 70_000, GIVEN, ("level", "rise", "hold"), {"walk-round": "unable-taken"}
)


def lines(
    kind: WalkKind = WalkKind.SIMULATED,
    key: SigningKey | None = KEY,
    events: Iterable[Event] = EVENTS,
    closing: Closing | None = CLOSING,
    outline: tuple[OutlineStep, ...] = OUTLINE,
) -> list[bytes]:
    """The journal's lines, heads signed when they are due."""
    line, head = open_journal(replace(opening(kind, key or KEY), outline=outline))
    written = [line]
    line, head = write_said(head, (Prompt("phrase:greeting"),), 0)
    written.append(line)
    for event in events:
        line, head = write_event(head, event)
        written.append(line)
        if key is not None and head.due:
            line, head = write_head(head, key, kind)
            written.append(line)
    if closing is not None:
        line, head = write_closing(head, closing)
        written.append(line)
    return written


def journal(kind: WalkKind = WalkKind.SIMULATED, key: SigningKey | None = KEY) -> bytes:
    return b"".join(lines(kind, key))


def joined(parts: Sequence[bytes]) -> bytes:
    return b"".join(parts)
