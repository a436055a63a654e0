"""The live screen: step, where, what is asked, what may be said, what was heard, level, timer.

A glance from two metres must do: few lines, and the last reading or the seconds left in
figures five lines high.  Nothing on it must be known; whoever cannot see it misses nothing.
Plain text and colours only, so that it works over SSH.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol, Self

from rich.console import Console, Group, RenderableType
from rich.live import Live
from rich.table import Table
from rich.text import Text

from walkaround.devices.stage_live import Level, LiveStage
from walkaround.engine.state import Phase, State
from walkaround.exchange import (
    AskKind,
    Event,
    Heard,
    MicrophoneLost,
    Number,
    Pair,
    Prompt,
    Question,
    ToneKind,
    Unclear,
)
from walkaround.procedure.model import Plan
from walkaround.speech.ports import Arrival, Stage

_MAY_SAY: dict[AskKind, str] = {
    AskKind.YES_NO: "yes / no",
    AskKind.NUMBER: "the number on the gauge",
    AskKind.PAIR: "primary ..., secondary ...",
    AskKind.MARK: "mark, at the moment",
    AskKind.RISE: "each number as the needle passes it",
    AskKind.COUNT: "how many",
    AskKind.HOLD: "nothing: time is running",
    AskKind.COMMAND: "continue",
}
_ALWAYS = "repeat  help  correction  wait  unable  stop"
_FIGURES = {
    "0": "████ ██ ██ ████", "1": " █ ██  █  █ ███", "2": "███  █████  ███",
    "3": "███  ████  ████", "4": "█ ██ ████  █  █", "5": "████  ███  ████",
    "6": "████  ████ ████", "7": "███  █ █  █  █ ", "8": "████ █████ ████",
    "9": "████ ████  ████", ".": "            ███", "/": "  █ █  █  █ █  ",
    " ": "               ",
}  # fmt: skip
"""Each three wide and five high, row after row."""
_BARS = "▁▂▃▄▅▆▇█"
_METER = 30
_MOST_DB = 84.0  # of 90: a voice that is nearly too loud
_TREND = 24


@dataclass(frozen=True, slots=True)
class Shown:
    """What the screen shows. Times are milliseconds of the sitting."""

    step: str = ""
    place: str = ""  # "step 3 of 40"
    where: str = ""
    asked: str = ""
    may_say: str = ""
    heard: str = ""
    figure: str = ""  # the last reading
    until_ms: int | None = None  # a hold's end
    trend: tuple[float, ...] = ()
    lost: bool = False


def after(shown: Shown, event: Event, state: State, plan: Plan) -> Shown:
    """What is shown when the walk has gone on."""
    if state.queue:
        step = plan.step(state.queue[0].step)
        number = len(state.done) + len(state.not_done) + 1
        place = f"step {number} of {number - 1 + len(state.queue)}"
        shown = replace(shown, step=step.title, where=step.where, place=place)
    if state.phase is not Phase.HOLDING:
        shown = replace(shown, until_ms=None)
    shown = replace(shown, lost=isinstance(event, MicrophoneLost) or state.deaf)
    if not isinstance(event, Heard):
        return shown
    shown = replace(shown, heard=_in_brief(event))
    match event.meaning:
        case Number(value):
            return _with_reading(shown, f"{value.value:f}", float(value.value))
        case Pair(one, other):
            text = f"{one.value:f} / {other.value:f}"
            return _with_reading(shown, text, float(min(one.value, other.value)))
    return shown


def _in_brief(event: Heard) -> str:
    if isinstance(event.meaning, Unclear):
        return f"{event.words or '...'}  (not taken: {event.meaning.because})"
    return event.words


def _with_reading(shown: Shown, figure: str, value: float) -> Shown:
    return replace(shown, figure=figure, trend=(*shown.trend, value)[-_TREND:])


def big(figure: str) -> str:
    """Five lines of block figures; whatever has no figure is left out."""
    known = [_FIGURES[sign] for sign in figure if sign in _FIGURES]
    return "\n".join("  ".join(f[row * 3 : row * 3 + 3] for f in known) for row in range(5))


def meter(level: Level) -> str:
    """The level that comes in as a bar, with the floor marked in it."""
    filled = round(_METER * min(1.0, max(0.0, level.now_db / _MOST_DB)))
    bar = ["█"] * filled + ["·"] * (_METER - filled)
    if level.floor_db is not None:
        bar[min(_METER - 1, max(0, round(_METER * level.floor_db / _MOST_DB)))] = "|"
    over = level.voice_over_floor_db
    return "".join(bar) + ("" if over is None else f"  voice {over:+.0f} dB over the noise")


def sparkline(values: Sequence[float]) -> str:
    """The readings in the order they came, from the lowest to the highest."""
    if len(values) < 2:
        return ""
    low, high = min(values), max(values)
    wide = (high - low) or 1.0
    return "".join(_BARS[round((value - low) / wide * (len(_BARS) - 1))] for value in values)


def page(shown: Shown, level: Level, now_ms: int, always: str = _ALWAYS) -> RenderableType:
    """The whole screen. `always` is what may be said at any time."""
    rows = Table.grid(padding=(0, 2))
    rows.add_column(style="dim", justify="right")
    rows.add_column()
    for name, text, style in (
        (shown.place, shown.step, "bold"),
        ("where", shown.where, "bold cyan"),
        ("asked", shown.asked, "bold yellow"),
        ("say", shown.may_say, "green"),
        ("", always, "dim green"),
        ("heard", shown.heard, "bold"),
        ("level", "THE MICROPHONE IS LOST" if shown.lost else meter(level), ""),
        ("trend", sparkline(shown.trend), ""),
    ):
        rows.add_row(name, Text(text, style=style))
    figure, style = shown.figure, "bold"
    if shown.until_ms is not None:
        figure, style = str(max(0, -(-(shown.until_ms - now_ms) // 1000))), "bold magenta"
    return Group(Text(""), rows, Text(""), Text(big(figure), style=style))


class HasLevel(Protocol):
    level: Level


@dataclass(slots=True)
class ScreenStage:
    """A stage (`speech.ports.Stage`) that shows what passes through it. Use it in a `with`."""

    stage: Stage
    sound: HasLevel
    plan: Plan
    console: Console
    always: str = _ALWAYS
    shown: Shown = field(default_factory=Shown)
    _live: Live = field(init=False)

    def __post_init__(self) -> None:
        self._live = Live(
            get_renderable=self._page,
            console=self.console,
            refresh_per_second=5,
            transient=True,
        )

    def watch(self, event: Event, state: State) -> None:
        self.shown = after(self.shown, event, state, self.plan)

    def now_ms(self) -> int:
        return self.stage.now_ms()

    def say(self, prompts: Sequence[Prompt], sentences: Sequence[str]) -> None:
        if sentences:
            self.shown = replace(self.shown, asked=sentences[-1])
        self.stage.say(prompts, sentences)

    def tone(self, kind: ToneKind) -> None:
        self.stage.tone(kind)

    def hush(self) -> None:
        self.stage.hush()

    def listen(
        self, question: Question, grammar: Sequence[str], quiet_after_ms: int | None
    ) -> None:
        may_say = " / ".join(question.options) or _MAY_SAY.get(question.kind, "")
        self.shown = replace(self.shown, may_say=may_say)
        self.stage.listen(question, grammar, quiet_after_ms)

    def wake_at(self, at_ms: int, timer: str) -> None:
        self.shown = replace(self.shown, until_ms=at_ms)
        self.stage.wake_at(at_ms, timer)

    def cancel_wake(self, timer: str) -> None:
        self.shown = replace(self.shown, until_ms=None)
        self.stage.cancel_wake(timer)

    def next(self) -> Arrival:
        return self.stage.next()

    def close(self) -> None:
        self.stage.close()

    def __enter__(self) -> Self:
        self._live.start()
        return self

    def __exit__(self, *_: object) -> None:
        """The terminal is left as it was."""
        self._live.stop()

    def _page(self) -> RenderableType:
        return page(self.shown, self.sound.level, self.stage.now_ms(), self.always)


def screen_for(
    stage: Stage, plan: Plan, console: Console, *, quiet: bool, always: str = _ALWAYS
) -> ScreenStage | None:
    """The stage with a screen, for voice and ear; None where nobody looks or wants it."""
    if quiet or not console.is_terminal or not isinstance(stage, LiveStage):
        return None
    return ScreenStage(stage, stage, plan, console, always)
