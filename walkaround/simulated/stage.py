"""A walk's stage on a clock that jumps: the simulated truck and driver behind the `Stage` port.

The clock moves only inside `next`, in steps of 50 ms, to the next thing that happens.  A
question opens on a whole step after the prompt's end, so that what the driver reads does not
hang on how long the prompt was in milliseconds.

Breaking off and taking up again: `snapshot` keeps the truck, the driver's memory and, for the
steps last entered, how both were when each question opened.  After `restore`, at the first
question of the script itself (not of an act), the truck goes back to how it was when that
question was first put, or to how it was left if it was left in that step or if the acts
since only led in a circle: in the yard the driver would have had to bring it back there.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from walkaround.errors import RecordError
from walkaround.exchange import AskKind, Prompt, Question, StayedQuiet, TimeReached, ToneKind
from walkaround.procedure.model import Plan
from walkaround.simulated.conditions import about_pressure, conditions_of, met
from walkaround.simulated.controls import STANDING
from walkaround.simulated.driver import EVEN, Driver, Temperament
from walkaround.simulated.facts import TruckFacts
from walkaround.simulated.hands import Spoken
from walkaround.simulated.mouth import Letters, Mouth, seconds_of
from walkaround.simulated.piping import STEP_MS
from walkaround.simulated.truck import Truck
from walkaround.speech.ports import SAMPLES_PER_SECOND, Arrival, Closed, Transcript, Voice

_KEPT_STEPS = 3
_SNAPSHOT = 1
_SETTLE_STEPS = 60
_LONGEST_MS = 4 * 3600 * 1000  # a walk that nobody ends: the driver goes home


class SimulatedStage:
    """Implements `speech.ports.Stage`. `voice` times the prompts; None: an estimate."""

    def __init__(
        self,
        plan: Plan,
        facts: TruckFacts,
        seed: int = 0,
        *,
        temperament: Temperament = EVEN,
        mouth: Mouth | None = None,
        voice: Voice | None = None,
    ) -> None:
        self.plan = plan
        self.truck = Truck(facts)
        self.driver = Driver(plan, seed, temperament)
        self.mouth: Mouth = mouth or Letters()
        self.voice = voice
        self.said: list[tuple[int, str, str]] = []  # (ms, "prompt" or "driver", words)
        self._acts = {act.id for act in plan.acts}
        self._clock_ms = 0
        self._quiet_from_ms = 0
        self._speaking_until_ms = 0
        self._question: Question | None = None
        self._grammar: tuple[str, ...] = ()
        self._quiet_after_ms: int | None = None
        self._opened = True
        self._timers: dict[str, int] = {}
        self._waiting: list[tuple[int, Arrival]] = []
        self._mouth_free_ms = 0
        self._checkpoints: dict[str, dict[str, Any]] = {}
        self._return_to: dict[str, Any] | None = None
        self._closed = False

    # ------------------------------------------------------------ the port

    def now_ms(self) -> int:
        return self._clock_ms

    def say(self, prompts: Sequence[Prompt], sentences: Sequence[str]) -> None:
        """Begin to say the sentences; the clock moves only in `next`."""
        del prompts
        begin = max(self._clock_ms, self._speaking_until_ms)
        for sentence in sentences:
            self.said.append((begin, "prompt", sentence))
            begin += self._duration_ms(sentence)
        self._speaking_until_ms = -(-begin // STEP_MS) * STEP_MS

    def tone(self, kind: ToneKind) -> None:
        self.said.append((self._clock_ms, "tone", str(kind)))
        if kind is ToneKind.UNCLEAR and self._question is not None and self._question.armed:
            self.driver.hear_unclear()

    def hush(self) -> None:
        self.said = [one for one in self.said if one[0] <= self._clock_ms or one[1] != "prompt"]
        self._speaking_until_ms = self._clock_ms

    def listen(
        self, question: Question, grammar: Sequence[str], quiet_after_ms: int | None
    ) -> None:
        """From the end of what is being said. The same armed question goes on without a break."""
        goes_on = (
            question.armed
            and self._question is not None
            and self._question.armed
            and question.id == self._question.id
            and self._speaking_until_ms <= self._clock_ms
        )
        self._question, self._grammar = question, tuple(grammar)
        self._quiet_after_ms = quiet_after_ms
        if not goes_on:
            self._opened = False
            self.driver.leave()
            # Only the rest of an answer that was taken too early still comes.
            self._waiting = [item for item in self._waiting if _goes_on(item[1])]

    def wake_at(self, at_ms: int, timer: str) -> None:
        self._timers[timer] = at_ms

    def cancel_wake(self, timer: str) -> None:
        self._timers.pop(timer, None)

    def next(self) -> Arrival:
        """Let time pass until something happens."""
        while not self._closed and self._clock_ms < _LONGEST_MS:
            arrival = self._due()
            if arrival is not None:
                return arrival
            self._step()
        return Closed(self._clock_ms)

    def close(self) -> None:
        self._closed = True

    # ------------------------------------------------------------ what is due

    def _due(self) -> Arrival | None:
        """The earliest thing whose time has come, if any."""
        now = self._clock_ms
        timer = min(self._timers, key=lambda name: self._timers[name], default=None)
        waiting = min(self._waiting, key=lambda item: item[0], default=None)
        timer_ms = self._timers[timer] if timer is not None else None
        if (
            waiting is not None
            and waiting[0] <= now
            and (timer_ms is None or waiting[0] <= timer_ms)
        ):
            self._waiting.remove(waiting)
            self._quiet_from_ms = now
            return waiting[1]
        if timer is not None and timer_ms is not None and timer_ms <= now:
            del self._timers[timer]
            return TimeReached(timer, timer_ms, now)
        return self._quiet(now)

    def _quiet(self, now: int) -> StayedQuiet | None:
        if self._quiet_after_ms is None or not self._opened or self._waiting:
            return None
        if now < self._quiet_from_ms + self._quiet_after_ms or now < self._mouth_free_ms:
            return None
        assert self._question is not None
        self._quiet_after_ms = None
        return StayedQuiet(self._question.id, now, now)

    def _step(self) -> None:
        """One step of the truck, or less when something falls due before it."""
        to = (self._clock_ms // STEP_MS + 1) * STEP_MS
        coming = [*self._timers.values(), *(due for due, _ in self._waiting)]
        soonest = min((due for due in coming if self._clock_ms < due < to), default=None)
        if soonest is not None:
            self._clock_ms = soonest
            return
        self._clock_ms = to
        self.truck.advance()
        if not self._opened and self._question is not None and to >= self._speaking_until_ms:
            self._open(self._question)
        if self._opened:
            spoken = self.driver.tick()
            if spoken is not None:
                self._speak(spoken)

    def _open(self, question: Question) -> None:
        self._opened = True
        self._quiet_from_ms = self._clock_ms
        self._go_back(question)
        self._remember(question)
        self.driver.open(question, self.truck)

    def _speak(self, spoken: Spoken) -> None:
        """The voice sets in where it was meant to, but not before the last word was out."""
        assert self._question is not None
        meant = spoken.onset_ms + self._clock_ms - self.truck.now_ms
        onset = max(meant, self._mouth_free_ms, self._speaking_until_ms)
        heard, end_ms = self.mouth.say(
            spoken.words, onset, self._question, self._grammar, self._noises()
        )
        self._mouth_free_ms = end_ms
        self._quiet_from_ms = max(self._quiet_from_ms, end_ms)
        self.said.append((onset, "driver", spoken.words))
        self._waiting.extend((max(t.arrived_ms, self._clock_ms), t) for t in heard)

    def _noises(self) -> tuple[str, ...]:
        truck = self.truck
        noises = ["diesel" if truck.controls.engine_rpm else "wind"]
        if truck.warning_lit:
            noises.append("buzzer")
        if truck.controls.drains and truck.true_psi("primary") > 10:
            noises.append("hiss")
        return tuple(noises)

    def _duration_ms(self, sentence: str) -> int:
        if self.voice is None:
            return round(seconds_of(sentence) * 1000)
        return len(self.voice.sound_of(sentence)) // 2 * 1000 // SAMPLES_PER_SECOND

    # ------------------------------------------------------------ breaking off, taking up again

    def _remember(self, question: Question) -> None:
        """How everything was when a question of the script opened, for the last few steps."""
        if question.kind is AskKind.COMMAND or self._is_act(question):
            return
        self._checkpoints.pop(question.id, None)
        self._checkpoints[question.id] = self._world()
        steps = list(dict.fromkeys(_step_of(key) for key in reversed(self._checkpoints)))
        kept = set(steps[:_KEPT_STEPS])
        self._checkpoints = {k: v for k, v in self._checkpoints.items() if _step_of(k) in kept}

    def _go_back(self, question: Question) -> None:
        """Once after a restore, at the first question of the script that is no caution."""
        if self._return_to is None or question.kind is AskKind.COMMAND:
            return
        if self._is_act(question) or question.id.endswith(".caution"):
            return
        left, self._return_to = self._return_to, None
        kept = self._checkpoints.get(question.id)
        if kept is not None:
            self.driver.remember(kept["driver"])
        then = Truck.from_state(self.truck.facts, (kept or left)["truck"])
        step = self.plan.step(_step_of(question.id))
        if kept is not None or left["driver"]["step"] == step.id:
            self.truck = self._as_acts_left_it(then, (*step.leaves, *step.expects))
            return
        in_a_circle = then.controls.standing_as(self.truck.controls, STANDING) == then.controls
        if in_a_circle and met(about_pressure(step.needs), conditions_of(then, self.plan)):
            self.truck = then

    def _as_acts_left_it(self, then: Truck, except_for: Sequence[str]) -> Truck:
        """The truck as it was in this step; what acts have set since stays set, but for what the
        step itself moves."""
        variables = [name for name in STANDING if name not in except_for]
        controls = then.controls.standing_as(self.truck.controls, variables)
        if controls != then.controls:
            then.controls = controls
            then.advance(_SETTLE_STEPS)
        return then

    def _is_act(self, question: Question) -> bool:
        return _step_of(question.id) in self._acts

    def _world(self) -> dict[str, Any]:
        return {"truck": self.truck.to_state(), "driver": self.driver.to_state()}

    def snapshot(self) -> dict[str, Any]:
        """Everything needed to go on after the process is gone, as plain JSON values."""
        return {
            "version": _SNAPSHOT,
            **self._world(),
            "clock_ms": self._clock_ms,
            "checkpoints": dict(self._checkpoints),
            "return_to": self._return_to,
        }

    def restore(self, kept: dict[str, Any]) -> None:
        """Take up a snapshot on a fresh stage, whose clock begins a new sitting at 0.

        Raises RecordError when it was kept by another version or is damaged.
        """
        try:
            if kept["version"] != _SNAPSHOT:
                raise KeyError("version")
            self.truck = Truck.from_state(self.truck.facts, kept["truck"])
            self.driver.remember(kept["driver"])
            self._checkpoints = dict(kept["checkpoints"])
            # Broken off twice before the script went on: the first time counts.
            here = {"truck": kept["truck"], "driver": kept["driver"]}
            self._return_to = kept["return_to"] or here
        except (KeyError, TypeError, ValueError, AttributeError):
            raise RecordError(
                "the simulated truck's state does not read cleanly; start the demo afresh"
            ) from None


def _goes_on(arrival: Arrival) -> bool:
    return isinstance(arrival, Transcript) and arrival.whole is not None


def _step_of(question: str) -> str:
    return question.partition(".")[0]


__all__ = ["SimulatedStage", "Transcript"]
