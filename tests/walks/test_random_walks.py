"""However a driver answers, nothing is asked of him that somebody could be hurt by.

Walks in which every answer is legal and drawn at random: bad ones, "unable", "correction",
"redo", pauses, new sittings. What the vehicle may be like is kept by a witness of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from random import Random

import pytest

from tests.walks.stories import library
from tests.walks.witness import SETS, Witness
from walkaround.cli.material import files_from_library, load
from walkaround.engine.advance import advance
from walkaround.engine.findings import is_good
from walkaround.engine.state import Phase, State, current_ask, current_step
from walkaround.exchange import (
    AskKind,
    Choice,
    Command,
    Count,
    Event,
    Heard,
    Judge,
    Judged,
    Mark,
    Meaning,
    No,
    Number,
    Outcome,
    Pair,
    Said,
    SittingOpened,
    TimeReached,
    Verdict,
    WakeAt,
    Wording,
    Yes,
)
from walkaround.procedure.model import Asked, Plan
from walkaround.quantity import Quantity, Unit

VEHICLES = (
    ("straight-truck", "demo-truck", ("CA-ON",)),
    ("straight-truck", "demo-truck", ("US-NC", "CA-BC")),
    ("tractor-trailer", "demo-tractor", ("US",)),
    ("tractor-trailer", "demo-doubles", ("CA-SK", "US")),
    ("tractor-trailer", "demo-doubles", ("CA-NL", "CA-ON")),
    ("bus", "demo-bus", ("CA-QC",)),
)
_SAYS = (
    *(c for c in Command if c is not Command.FINISH),
    *(Command.CORRECTION,) * 3,
    *(Command.REDO,) * 3,
    Command.UNABLE,
)
_STILL = (Phase.PAUSED, Phase.STOPPED, Phase.ERRAND)
_MOST_EVENTS = 900


@cache
def plan_of(number: int) -> Plan:
    script, vehicle, places = VEHICLES[number]
    return load(files_from_library(library(), script, vehicle), script, places).plan


@dataclass
class Walker:
    """One walk; `bad`, `unable` and `commands` are how often each is drawn."""

    plan: Plan
    draw: Random
    bad: float
    unable: float
    commands: float
    state: State = field(default_factory=State)
    witness: Witness = field(default_factory=Witness)
    found: list[str] = field(default_factory=list)
    now_ms: int = 0
    timer: WakeAt | None = None

    def walk(self) -> list[str]:
        """The dangers that were met."""
        self.send(SittingOpened(1, "2026-01-31T08:00:00Z", "boot", 0, Wording.SHORT))
        for _ in range(_MOST_EVENTS):
            if self.state.phase is Phase.DONE:
                break
            self.now_ms += 2_000
            self._look()
            self.send(self._next())
        return self.found

    def send(self, event: Event) -> None:
        self.state, effects = advance(self.plan, self.state, event)
        for effect in effects:
            if isinstance(effect, WakeAt):
                self.timer = effect
            if isinstance(effect, Judge):
                verdicts = self._verdicts(effect.step)
                self.send(Judged(effect.step, verdicts, self.now_ms, self.now_ms))

    def _verdicts(self, step: str) -> tuple[Verdict, ...]:
        if self.draw.random() < 0.9:
            return ()
        near = self.draw.random() < 0.5
        outcome = Outcome.MET if near else Outcome.NOT_MET
        doubts = () if near else ("odd",)
        return (
            Verdict("r", "GB", step, outcome, "1", "2", "", "from memory", near=near,
                    repeats=2 if near else 0, doubts=doubts),
        )  # fmt: skip

    def _look(self) -> None:
        if self.state.phase not in (Phase.ASKING, Phase.CALLING) or self.state.queue[0].correction:
            return
        step, question = current_step(self.plan, self.state), self._question()
        self.found += self.witness.dangers(step.id, question, step.where)

    def _question(self) -> str:
        return f"{self.state.queue[0].step}.{self.state.queue[0].asks[0]}"

    def _next(self) -> Event:
        phase, roll = self.state.phase, self.draw.random()
        if roll < 0.01:
            self.witness.away()
            return SittingOpened(self.state.sitting + 1, "2026-02-01T08:00:00Z", "boot", 0)
        if phase in _STILL:
            return self._said(Command.CONTINUE)
        if roll < self.commands:
            return self._said(self.draw.choice(_SAYS))
        if phase is Phase.HOLDING:
            assert self.timer is not None
            self.now_ms = max(self.now_ms, self.timer.at_ms)
            return TimeReached(self.timer.timer, self.now_ms, self.now_ms)
        if phase is Phase.CAUTION:
            return self._heard(f"{self.state.queue[0].step}.caution", Yes())
        if self.draw.random() < self.unable:
            return self._said(Command.UNABLE)
        return self._answered()

    def _said(self, command: Command) -> Event:
        asking = self.state.phase in (Phase.ASKING, Phase.CALLING)
        if asking and not self.state.queue[0].correction:
            self.witness.perhaps(self._question())
        return self._heard("commands", Said(command))

    def _answered(self) -> Event:
        asked, question = current_ask(self.plan, self.state), self._question()
        meaning = self._meaning(asked)
        if is_good(asked, meaning):
            self.witness.good(question)
        else:
            self.witness.perhaps(question)
            self.witness.gave_way(question)
        return self._heard(question, meaning)

    def _meaning(self, asked: Asked) -> Yes | No | Number | Pair | Mark | Choice | Count:
        bad = self.draw.random() < self.bad
        match asked.kind:
            case AskKind.YES_NO:
                return Yes() if (not asked.good or "yes" in asked.good) != bad else No()
            case AskKind.PAIR:
                return Pair(self._reading(asked), self._reading(asked))
            case AskKind.MARK:
                return Mark()
            case AskKind.CHOICE:
                return Choice(self.draw.choice(asked.options))
            case AskKind.COUNT:
                return Count(4)
            case AskKind.RISE:
                at = min(len(self.state.points), len(asked.calls) - 1)
                return Number(Quantity(asked.calls[at], asked.unit or Unit.PSI))
            case _:
                return Number(self._reading(asked))

    def _reading(self, asked: Asked) -> Quantity:
        most = asked.high or Decimal(150)
        share = self.draw.choice((0, 20, 30, 45, 60, 70, 80))
        return Quantity(Decimal(int(most * share / 100)), asked.unit or Unit.PSI)

    def _heard(self, question: str, meaning: Meaning) -> Event:
        return Heard(question, meaning, "", self.now_ms, self.now_ms)


def walked(seeds: range) -> Iterator[tuple[int, list[str]]]:
    for seed in seeds:
        draw = Random(seed)
        shares = (draw.choice((0, 0.02, 0.1, 0.3)), draw.choice((0, 0.02, 0.1)),
                  draw.choice((0, 0.02, 0.1, 0.2)))  # fmt: skip
        yield seed, Walker(plan_of(seed % len(VEHICLES)), draw, *shares).walk()


def test_the_witness_knows_the_questions() -> None:
    """A question that was renamed would be a witness asleep."""
    asked = {
        f"{step.id}.{asked.id}"
        for number in range(len(VEHICLES))
        for step in (*plan_of(number).steps, *plan_of(number).acts)
        for asked in step.asks
    }
    assert set(SETS) <= asked


def test_no_random_walk_asks_for_anything_dangerous() -> None:
    assert {seed: found for seed, found in walked(range(60)) if found} == {}


@pytest.mark.slow
def test_nor_any_of_thousands() -> None:
    assert {seed: found for seed, found in walked(range(60, 3_000)) if found} == {}
