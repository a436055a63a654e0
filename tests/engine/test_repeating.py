"""Too near to call: the number of measurements is fixed first, and all are judged together."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from decimal import Decimal

from tests.engine.tea import Puppet, met
from walkaround.exchange import Command, Effect, Judge, Number, Verdict
from walkaround.quantity import Quantity, Unit


def near(step: str) -> tuple[Verdict, ...]:
    repeats = 3 if step == "warmth" else 0
    return tuple(replace(v, near=bool(repeats), repeats=repeats) for v in met(step))


@dataclass
class Watched(Puppet):
    """Keeps what was handed over to be judged."""

    judged: list[Judge] = field(default_factory=list)

    def _perform(self, effect: Effect) -> None:
        if isinstance(effect, Judge):
            self.judged.append(effect)
        super()._perform(effect)


def measured(puppet: Watched, first: int, second: int) -> Watched:
    puppet.until("warmth.first").degrees(first).ring().degrees(second)
    return puppet


def judged_once() -> Watched:
    puppet = Watched(judge=near)
    puppet.start()
    return measured(puppet, 90, 85)


def test_it_is_offered_and_going_on_is_as_good() -> None:
    puppet = judged_once()
    assert "phrase:verdict.near-repeat" in puppet.said
    assert puppet.asked() == "pour.caution"


def test_none_is_judged_before_the_last_and_all_are_handed_over() -> None:
    puppet = judged_once()
    puppet.say(Command.REDO)
    measured(puppet, 91, 84)
    assert len(puppet.judged) == 1
    assert "phrase:repeat-next" in puppet.said
    measured(puppet, 92, 83)
    assert len(puppet.judged) == 2
    inputs = dict(puppet.judged[-1].wanted[0].inputs)
    assert set(inputs) == {
        "start", "hold", "end", "start#2", "hold#2", "end#2", "start#3", "hold#3", "end#3",
    }  # fmt: skip
    ends = {inputs[name].answer for name in ("end", "end#2", "end#3")}  # type: ignore[union-attr]
    assert ends == {Number(Quantity(Decimal(n), Unit.CELSIUS)) for n in (85, 84, 83)}
    assert puppet.asked() == "pour.caution"


def test_measuring_on_until_it_passes_adds_nothing() -> None:
    puppet = judged_once()
    puppet.say(Command.REDO)
    measured(measured(puppet, 91, 84), 92, 83)
    puppet.say(Command.REDO)
    measured(puppet, 93, 82)
    inputs = dict(puppet.judged[-1].wanted[0].inputs)
    assert "end#4" not in inputs
    assert inputs["end#2"] is not None


def test_a_repeat_that_cannot_be_made_leaves_its_place_empty() -> None:
    puppet = judged_once()
    puppet.say(Command.REDO)
    measured(puppet, 91, 84).until("warmth.first").say(Command.UNABLE)
    inputs = dict(puppet.judged[-1].wanted[0].inputs)
    assert inputs["end"] is None
    assert inputs["end#3"] is not None
    assert puppet.state.not_done == {"warmth": "unable-taken"}
