"""A script about making tea: the engine must walk it without knowing what tea is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal

from walkaround.engine.advance import advance
from walkaround.engine.state import Phase, State
from walkaround.exchange import (
    AskKind,
    Command,
    Effect,
    Event,
    Finish,
    Heard,
    Judge,
    Judged,
    Listen,
    Meaning,
    Number,
    Outcome,
    Prompt,
    Question,
    Said,
    Say,
    SittingOpened,
    TimeReached,
    Tone,
    Verdict,
    WakeAt,
    Wording,
    Write,
    Yes,
)
from walkaround.procedure.model import Asked, Bands, Clause, JudgeSpec, Plan, Step
from walkaround.quantity import Kind, Quantity, Unit


def _ask(name: str, kind: AskKind, **more: object) -> Asked:
    texts = {wording: f"{name}, {wording}." for wording in Wording}
    return Asked(id=name, kind=kind, texts=texts, **more)  # type: ignore[arg-type]


_DEGREES = {
    "quantity": Kind.TEMPERATURE,
    "unit": Unit.CELSIUS,
    "low": Decimal(0),
    "high": Decimal(100),
}

TEA = Plan(
    script="tea",
    title="Tea",
    start={"kettle": "cold", "cup": "empty", "heat": "unknown"},
    steps=(
        Step("look", "Look", "kitchen", (_ask("clean", AskKind.YES_NO, good=("yes",)),)),
        Step(
            "warmth",
            "Warmth",
            "kitchen",
            (
                _ask("first", AskKind.NUMBER, sets="heat", **_DEGREES),
                _ask("minute", AskKind.HOLD, seconds=60, after="first"),
                _ask("second", AskKind.NUMBER, sets="heat", **_DEGREES),
            ),
            needs=(Clause((("kettle", ("boiled",)),)), Clause((("heat", ("hot",)),))),
            judges=(
                JudgeSpec(
                    "cooling",
                    (
                        ("start", "warmth.first"),
                        ("hold", "warmth.minute"),
                        ("end", "warmth.second"),
                    ),
                ),
            ),
        ),
        Step(
            "pour",
            "Pour",
            "table",
            (_ask("poured", AskKind.YES_NO, good=("yes",)),),
            caution="The water is hot. Hands clear?",
            explain="Tea needs hot water.",
            needs=(Clause((("kettle", ("boiled",)),)),),
            leaves={"cup": "full"},
        ),
        Step(
            "cooling",
            "Cooling",
            "table",
            (
                _ask(
                    "calls",
                    AskKind.RISE,
                    seconds=300,
                    calls=(Decimal(40), Decimal(60)),
                    **_DEGREES,
                ),
            ),
            needs=(Clause((("cup", ("full",)),)),),
        ),
        Step("taste", "Taste", "table", (_ask("good", AskKind.YES_NO),)),
    ),
    acts=(
        Step(
            "boil",
            "Boil",
            "kitchen",
            (_ask("boiling", AskKind.YES_NO, good=("yes",)),),
            caution="Steam burns. Hands clear?",
            leaves={"kettle": "boiled", "heat": "hot"},
        ),
        Step(
            "refill",
            "Refill",
            "kitchen",
            (_ask("filled", AskKind.YES_NO),),
            leaves={"cup": "full"},
        ),
    ),
    bands={"heat": Bands(Unit.CELSIUS, ((Decimal(80), "cool"),), "hot")},
)


def met(step: str) -> tuple[Verdict, ...]:
    """A verdict from outside: the engine must not care which."""
    return (Verdict("tea.rule", "GB", step, Outcome.MET, "", "", "", "from memory"),)


@dataclass
class Puppet:
    """Drives the engine by hand on a clock of its own, and keeps everything it was told to do."""

    plan: Plan = TEA
    state: State = field(default_factory=State)
    now: int = 0
    effects: list[Effect] = field(default_factory=list)
    said: list[str] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    judge: Callable[[str], tuple[Verdict, ...]] = met
    timers: dict[str, int] = field(default_factory=dict)
    open: Question | None = None

    def send(self, event: Event) -> Puppet:
        self.state, effects = advance(self.plan, self.state, event)
        self.effects = list(effects)
        self.events.append(event)
        assert effects[0] == Write(event)
        for effect in effects:
            self._perform(effect)
        return self

    def _perform(self, effect: Effect) -> None:
        match effect:
            case Say(prompts):
                self.said.extend(prompt.id for prompt in prompts)
            case Listen(question):
                self.open = question
            case WakeAt(at_ms, timer):
                self.timers[timer] = at_ms
            case Judge(step):
                self.send(Judged(step, self.judge(step), self.now, self.now))
            case _:
                pass

    def start(self) -> Puppet:
        return self.send(SittingOpened(1, "2026-01-01T00:00:00Z", "boot", 0))

    def hear(self, meaning: Meaning, at: int | None = None) -> Puppet:
        self.now = self.now + 1000 if at is None else at
        assert self.open is not None
        return self.send(Heard(self.open.id, meaning, "", self.now, self.now + 500))

    def yes(self) -> Puppet:
        return self.hear(Yes())

    def say(self, command: Command) -> Puppet:
        return self.hear(Said(command))

    def degrees(self, value: int, at: int | None = None) -> Puppet:
        return self.hear(Number(Quantity(Decimal(value), Unit.CELSIUS)), at)

    def ring(self) -> Puppet:
        timer, at = self.timers.popitem()
        self.now = max(self.now, at)
        return self.send(TimeReached(timer, at, self.now))

    def asked(self) -> str:
        assert self.open is not None
        return self.open.id

    def until(self, question: str) -> Puppet:
        """Answer plainly until the question is open."""
        for _ in range(40):
            if self.asked() == question and self.state.phase is not Phase.HOLDING:
                return self
            self.plain_answer()
        raise AssertionError(f"{question} was never asked")

    def plain_answer(self) -> Puppet:
        assert self.open is not None
        if self.state.phase is Phase.HOLDING:
            return self.ring()
        if self.open.kind is AskKind.NUMBER:
            return self.degrees(90)
        if self.open.kind is AskKind.RISE:
            return self.degrees(40).degrees(60)
        return self.yes()

    def to_the_end(self) -> Puppet:
        for _ in range(60):
            if self.state.phase is Phase.DONE:
                return self
            self.plain_answer()
        raise AssertionError("the walk did not end")


def kinds(effects: list[Effect]) -> list[str]:
    return [type(effect).__name__ for effect in effects]


def finished(puppet: Puppet) -> str:
    return next(e.how for e in puppet.effects if isinstance(e, Finish))


def tones(effects: list[Effect]) -> list[str]:
    return [str(e.kind) for e in effects if isinstance(e, Tone)]


def prompt_ids(effects: list[Effect]) -> list[str]:
    prompts: list[Prompt] = [p for e in effects if isinstance(e, Say) for p in e.prompts]
    return [prompt.id for prompt in prompts]
