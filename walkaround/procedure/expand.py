"""Cuts a script to one vehicle and one trip: what applies, each brake, the gauge's own unit."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from walkaround.errors import UsageError
from walkaround.exchange import AskKind
from walkaround.procedure.model import Asked, JudgeSpec, Plan, Step
from walkaround.procedure.profile import Brake, Profile
from walkaround.procedure.script import PLACES, AskCard, Card, Facts, JudgeCard, Script
from walkaround.quantity import Kind, Unit

_HOLE = re.compile(r"\{([^{}]*)\}")
_COUNT_MOST = Decimal(40)
"""More chocks than this are a word misheard: common practice, no source."""
_LENGTH_MOST = {Unit.INCH: Decimal(6), Unit.MILLIMETRE: Decimal(150)}
_TEMPERATURE_MOST = {Unit.CELSIUS: Decimal(400), Unit.FAHRENHEIT: Decimal(750)}


def plan_for(script: Script, profile: Profile, places: Sequence[str]) -> Plan:
    """The plan for this vehicle on this trip. `places` are ISO 3166 codes such as CA-ON.

    Raises UsageError when the script is for another kind of vehicle, ScriptError when a
    text asks for a word that nobody defines.
    """
    if profile.kind not in script.vehicles:
        raise UsageError(
            f"the script '{script.name}' is for a {' or '.join(script.vehicles)} and "
            f"'{profile.name}' is a {profile.kind}; choose another script"
        )
    facts = {**profile.facts(), PLACES: tuple(places)}
    cut = _Cut(script, profile, facts)
    return Plan(
        script=script.name,
        title=script.title,
        start=dict(script.states.start),
        steps=tuple(
            cut.step(place.card, place.name) for place in script.order if place.holds(facts)
        ),
        acts=tuple(cut.step(act, act.id) for act in script.acts if act.when.holds(facts)),
        bands=dict(script.states.bands),
    )


class _Cut:
    """Everything that one expansion looks at."""

    def __init__(self, script: Script, profile: Profile, facts: Facts) -> None:
        self._script, self._profile, self._facts = script, profile, facts
        self._marks = profile.marks()

    def step(self, card: Card, name: str) -> Step:
        cards = [ask for ask in card.asks if ask.when.holds(self._facts)]
        asks = tuple(asked for ask in cards for asked in self._asked(card, ask))
        read = {asked.sets for asked in asks if asked.sets}
        leaves = {key: value for key, value in card.leaves.items() if key not in read}
        return Step(
            id=name,
            title=self._filled(card, "title", card.title),
            where=card.where,
            asks=asks,
            caution=self._filled(card, "caution", card.caution),
            explain=self._filled(card, "explain", card.explain),
            people=card.people,
            gate=card.gate,
            needs=tuple(need.clause for need in card.needs if need.when.holds(self._facts)),
            wishes=tuple(wish.clause for wish in card.wishes if wish.when.holds(self._facts)),
            leaves=leaves,
            judges=tuple(self._judges(card, name)),
            seconds=(card.seconds[0], card.seconds[2]),
            usual_s=card.seconds[1],
            expects={key: value for key, value in card.leaves.items() if key in read},
        )

    def _asked(self, card: Card, ask: AskCard) -> Iterable[Asked]:
        if not ask.each:
            yield self._one(card, ask, None)
            return
        for brake in self._profile.brakes:
            yield self._one(card, ask, brake)

    def _one(self, card: Card, ask: AskCard, brake: Brake | None) -> Asked:
        single = ask.kind is AskKind.PAIR and not self._profile.dual
        unit, most = self._range(ask.kind, ask.quantity)
        calls = ask.calls.get(self._profile.gauge, ())
        of = brake.spoken if brake else ""
        more = {"calls": ", ".join(str(c) for c in calls), "of": of}
        return Asked(
            id=f"{ask.id}@{brake.at}" if brake else ask.id,
            kind=AskKind.NUMBER if single else ask.kind,
            texts={w: self._filled(card, w, t, more) for w, t in ask.texts.items()},
            stake=ask.stake,
            quantity=ask.quantity,
            unit=unit,
            low=None if most is None else self._least(ask.kind),
            high=most,
            options=ask.options,
            good=ask.good,
            seconds=ask.seconds,
            after=ask.after,
            calls=calls,
            sets=ask.sets,
            halt=ask.halt,
            relayed=ask.relayed,
            vouches=ask.vouches,
            of=of,
        )

    def _range(self, kind: AskKind, quantity: Kind | None) -> tuple[Unit | None, Decimal | None]:
        profile = self._profile
        if kind is AskKind.COUNT:
            return None, _COUNT_MOST
        if quantity is Kind.PRESSURE:
            return profile.gauge, profile.gauge_most
        if quantity is Kind.LENGTH:
            return profile.length_unit, _LENGTH_MOST[profile.length_unit]
        if quantity is Kind.TEMPERATURE:
            return profile.temperature_unit, _TEMPERATURE_MOST[profile.temperature_unit]
        return None, None

    @staticmethod
    def _least(kind: AskKind) -> Decimal:
        """What is counted was placed: none of them is no count."""
        return Decimal(1 if kind is AskKind.COUNT else 0)

    def _judges(self, card: Card, name: str) -> Iterable[JudgeSpec]:
        """The measures; one for each brake where an input is asked at each."""
        present = self._present()
        steps = {at.partition(".")[0] for at in present}
        for judge in card.judges:
            if not judge.when.holds(self._facts):
                continue
            inputs = tuple((key, self._renamed(at, card.id, name)) for key, at in judge.inputs)
            if not any(at in present for _, at in inputs):
                continue
            rests_on = tuple(at for at in judge.rests_on if at in present or at in steps)
            for brake in self._profile.brakes if self._each(judge) else (None,):
                of_brake = _of_brake(inputs, present, brake)
                yield JudgeSpec(judge.measure, of_brake, rests_on, judge.only)

    def _present(self) -> Mapping[str, str]:
        """Every question of the plan, without the brake: id -> what it is asked at each of."""
        return {
            f"{place.name}.{ask.id}": ask.each
            for place in self._script.order
            if place.holds(self._facts)
            for ask in place.card.asks
            if ask.when.holds(self._facts)
        }

    def _each(self, judge: JudgeCard) -> bool:
        present = self._present()
        return any(present.get(at, "") for _, at in judge.inputs)

    @staticmethod
    def _renamed(at: str, card: str, name: str) -> str:
        step, _, ask = at.partition(".")
        return f"{name}.{ask}" if step == card else at

    def _filled(
        self, card: Card, key: str, text: str, more: Mapping[str, str] | None = None
    ) -> str:
        """Puts in this vehicle's words and numbers; spaces are made single."""

        def fill(hole: re.Match[str]) -> str:
            wanted = hole[1].strip()
            if "|" in wanted:
                return self._in_gauge_unit(card, key, wanted)
            if wanted == "vehicle":
                return self._profile.name
            if more and more.get(wanted):
                return more[wanted]
            if wanted in self._marks:
                return self._marks[wanted]
            say = self._script.states.words.get(wanted)
            for when, words in say.choices if say else ():
                if when.holds(self._facts):
                    return _HOLE.sub(fill, words)
            raise card.spot.error(
                f"step '{card.id}': nothing says what '{{{wanted}}}' is here; "
                "add it under 'words' in the table of states",
                str(key),
            )

        return " ".join(_HOLE.sub(fill, text).split())

    def _in_gauge_unit(self, card: Card, key: str, wanted: str) -> str:
        for part in wanted.split("|"):
            if part.split()[-1:] == [str(self._profile.gauge)]:
                return " ".join(part.split())
        raise card.spot.error(
            f"step '{card.id}': '{{{wanted}}}' has no value in {self._profile.gauge}; add one",
            str(key),
        )


def _of_brake(
    inputs: tuple[tuple[str, str], ...], present: Mapping[str, str], brake: Brake | None
) -> tuple[tuple[str, str], ...]:
    return tuple(
        (key, f"{at}@{brake.at}" if brake and present.get(at) else at) for key, at in inputs
    )
