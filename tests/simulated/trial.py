"""A whole walk of the simulated truck by the real engine, the real ear for letters, no judging.

Everything between the stage and the engine is the product's own: grammar, understanding,
phrasing.  Verdicts are left out: this room may not use the code that makes them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.procedure import shipped
from walkaround.engine.advance import advance
from walkaround.engine.state import State
from walkaround.exchange import (
    CancelWake,
    Effect,
    Event,
    Finish,
    Given,
    Heard,
    Judge,
    Judged,
    Listen,
    Question,
    Said,
    Say,
    SittingOpened,
    Tone,
    WakeAt,
    Wording,
)
from walkaround.procedure.model import Plan
from walkaround.simulated.driver import EVEN, Temperament
from walkaround.simulated.facts import TruckFacts
from walkaround.simulated.mouth import Mouth
from walkaround.simulated.stage import SimulatedStage
from walkaround.simulated.vehicle import facts_of
from walkaround.speech.grammar import grammar_for
from walkaround.speech.phrases import Phrasebook, load_phrases
from walkaround.speech.phrasing import render
from walkaround.speech.ports import Closed, Transcript
from walkaround.speech.thresholds import Thresholds, load_thresholds
from walkaround.speech.understand import understand

_THRESHOLDS = Path(__file__).resolve().parents[2] / "walkaround" / "speech" / "thresholds.yaml"
_MOST_EVENTS = 1500

WALKS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("straight-truck", "demo-truck", ("US", "CA-ON")),
    ("straight-truck", "demo-truck-metric", ("CA-QC",)),
    ("tractor-trailer", "demo-tractor", ("US", "CA-NL")),
    ("tractor-trailer", "demo-doubles", ("CA-ON",)),
    ("bus", "demo-bus", ("CA-BC",)),
)
"""Script, vehicle, places: each script and each number of trailers."""


@dataclass(slots=True)
class Trial:
    """One walk: the stage it took place on, the engine's last state, every event."""

    plan: Plan
    stage: SimulatedStage
    state: State
    events: list[Event]
    how: str = ""

    @property
    def given(self) -> dict[str, Given]:
        return dict(self.state.given)


def phrases() -> Phrasebook:
    return load_phrases((shipped.SCRIPTS / "phrases" / "en.yaml").read_bytes(), "en.yaml")


def thresholds() -> Thresholds:
    return load_thresholds(_THRESHOLDS.read_bytes(), "thresholds.yaml")


def stage_for(
    plan: Plan, vehicle: str, seed: int = 1, temperament: Temperament = EVEN
) -> SimulatedStage:
    facts = facts_of(shipped.profile(vehicle))
    return SimulatedStage(plan, facts, seed, temperament=temperament)


def walk(
    script: str,
    vehicle: str,
    places: Sequence[str],
    *,
    seed: int = 1,
    facts: TruckFacts | None = None,
    temperament: Temperament = EVEN,
    wording: Wording = Wording.FULL,
    mouth: Mouth | None = None,
    watch: Callable[[Trial, Event], None] = lambda _trial, _event: None,
) -> Trial:
    """To its end, or to whatever stops it; `watch` sees each event before its effects."""
    plan = shipped.plan(script, vehicle, places)
    stage = SimulatedStage(
        plan,
        facts or facts_of(shipped.profile(vehicle)),
        seed,
        temperament=temperament,
        mouth=mouth,
    )
    trial = Trial(plan, stage, State(), [])
    go_on(trial, SittingOpened(1, "", "", 0, wording), watch)
    return trial


def go_on(
    trial: Trial,
    opening: SittingOpened,
    watch: Callable[[Trial, Event], None] = lambda _trial, _event: None,
) -> None:
    """From a start or a resume on."""
    ears = _Ears(trial, phrases(), thresholds())
    event: Event | None = opening
    while event is not None and len(trial.events) < _MOST_EVENTS:
        trial.events.append(event)
        trial.state, effects = advance(trial.plan, trial.state, event)
        watch(trial, event)
        event = ears.perform(effects) or ears.wait()


class _Ears:
    """Performs effects on the stage and turns what arrives into events."""

    def __init__(self, trial: Trial, book: Phrasebook, strict: Thresholds) -> None:
        self.trial, self.book, self.strict = trial, book, strict
        self.question: Question | None = None

    def perform(self, effects: Sequence[Effect]) -> Event | None:
        """An event when judging was wanted: with no verdicts."""
        stage, judged = self.trial.stage, None
        for effect in effects:
            match effect:
                case Say(prompts):
                    stage.say(prompts, render(prompts, self.book, self.trial.plan))
                case Listen(question, quiet_after_ms):
                    self.question = question
                    stage.listen(question, grammar_for(question, self.book), quiet_after_ms)
                case Tone(kind):
                    stage.tone(kind)
                case WakeAt(at_ms, timer):
                    stage.wake_at(at_ms, timer)
                case CancelWake(timer):
                    stage.cancel_wake(timer)
                case Judge(step):
                    judged = Judged(step, (), stage.now_ms(), stage.now_ms())
                case Finish(how):
                    self.trial.how = str(how)
                case _:
                    pass
        return judged

    def wait(self) -> Event | None:
        while not self.trial.how:
            arrival = self.trial.stage.next()
            if isinstance(arrival, Closed):
                return None
            if not isinstance(arrival, Transcript):
                return arrival
            assert self.question is not None
            heard = understand(arrival, self.question, self.book, self.strict)
            if arrival.question == self.question.id or isinstance(heard.meaning, Said):
                return heard
        return None


def heard(trial: Trial) -> list[Heard]:
    return [event for event in trial.events if isinstance(event, Heard)]
