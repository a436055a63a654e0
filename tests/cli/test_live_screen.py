"""The live screen: what it shows, and that the walk behind it is the same."""

from __future__ import annotations

import io
import os
from decimal import Decimal

import pytest
from rich.console import Console

from tests.engine.tea import TEA
from walkaround.cli.live_screen import (
    ScreenStage,
    Shown,
    after,
    big,
    meter,
    page,
    screen_for,
    sparkline,
)
from walkaround.devices.stage_live import Level
from walkaround.devices.stage_typed import TypedStage
from walkaround.engine.state import Phase, State, Visit
from walkaround.exchange import (
    AskKind,
    Because,
    Heard,
    Meaning,
    MicrophoneLost,
    Number,
    Pair,
    Question,
    Unclear,
)
from walkaround.procedure.model import Plan
from walkaround.quantity import Quantity, Unit
from walkaround.speech.ports import Transcript

PLAN: Plan = TEA


def psi(value: str) -> Quantity:
    return Quantity(Decimal(value), Unit.PSI)


def said(meaning: Meaning, words: str = "one oh five") -> Heard:
    return Heard("s.q", meaning, words, 0, 0)


def at(phase: Phase = Phase.ASKING) -> State:
    return State(phase=phase, queue=(Visit(PLAN.steps[0].id, ()),), done=("a", "b"))


def drawn(shown: Shown, level: Level | None = None, now_ms: int = 0, width: int = 80) -> str:
    paper = io.StringIO()
    console = Console(file=paper, width=width, force_terminal=False)
    console.print(page(shown, Level() if level is None else level, now_ms))
    return paper.getvalue()


def test_a_step_an_answer_and_its_figure_are_shown() -> None:
    shown = after(Shown(), said(Number(psi("105"))), at(), PLAN)
    text = drawn(shown)
    assert PLAN.steps[0].title in text and "step 3 of 3" in text
    assert "one oh five" in text
    assert big("105").splitlines()[0].rstrip() in text


def test_two_readings_and_the_trend_of_the_lower() -> None:
    shown = Shown()
    for low in ("90", "95", "100"):
        shown = after(shown, said(Pair(psi("110"), psi(low))), at(), PLAN)
    assert shown.figure == "110 / 100"
    assert shown.trend == (90, 95, 100)
    assert sparkline(shown.trend) == "▁▅█"


def test_what_was_not_taken_says_why() -> None:
    shown = after(Shown(), said(Unclear(Because.AMBIGUOUS), "fifteen"), at(), PLAN)
    assert "fifteen  (not taken: ambiguous)" in drawn(shown)
    assert shown.figure == ""


def test_a_hold_counts_down_and_ends_with_its_phase() -> None:
    shown = Shown(until_ms=60_000)
    assert big("13").splitlines()[2].rstrip() in drawn(shown, now_ms=47_001)
    assert after(shown, said(Number(psi("1"))), at(Phase.HOLDING), PLAN).until_ms == 60_000
    assert after(shown, said(Number(psi("1"))), at(Phase.ASKING), PLAN).until_ms is None


def test_a_lost_microphone_is_shown() -> None:
    shown = after(Shown(), MicrophoneLost("gone", 0, 0), at(Phase.PAUSED), PLAN)
    assert "THE MICROPHONE IS LOST" in drawn(shown)


@pytest.mark.parametrize("now_db", [-6.0, 0.0, 40.0, 84.0, 200.0])
def test_the_meter_keeps_its_width_whatever_comes_in(now_db: float) -> None:
    assert len(meter(Level(now_db, 30.0))) == len(meter(Level()))
    assert "voice +12 dB over the noise" in meter(Level(now_db, 30.0, 12.2))


def test_figures_are_five_lines_and_unknown_signs_are_left_out() -> None:
    assert [len(big(text).splitlines()) for text in ("105", "7.25", "110 / 105")] == [5, 5, 5]
    assert big("1x0") == big("10")


def test_a_narrow_terminal_loses_no_row() -> None:
    text = drawn(Shown(step="A" * 60, asked="word " * 30), width=40)
    assert all(row in text for row in ("where", "asked", "heard", "level"))


def test_the_walk_behind_the_screen_is_the_same() -> None:
    read, write = os.pipe()
    stage = TypedStage(lambda _: None, read)
    terminal = io.StringIO()
    console = Console(file=terminal, force_terminal=True, width=80)

    class Sound:
        level = Level(40.0, 20.0, 15.0)

    question = Question("s.q", AskKind.YES_NO)
    with ScreenStage(stage, Sound(), PLAN, console) as screen:
        screen.say((), ("Chocks in.", "Is it held?"))
        screen.listen(question, ("yes", "no"), None)
        os.write(write, b"yes\n")
        heard = screen.next()
    assert isinstance(heard, Transcript) and heard.text == "yes"
    assert screen.shown.asked == "Is it held?"
    assert "Is it held?" in terminal.getvalue()
    os.close(write)


def test_nobody_looks_nothing_is_drawn() -> None:
    read, write = os.pipe()
    stage = TypedStage(lambda _: None, read)
    assert screen_for(stage, PLAN, Console(file=io.StringIO()), quiet=False) is None
    os.close(write)
