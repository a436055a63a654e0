"""Finds what is wrong with a script before anybody walks by it.

`check_script` looks at what is written; `check_plan` walks through one vehicle's plan on
paper, from the start state, with the acts that restore what a step needs.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from walkaround.air.measures import known
from walkaround.errors import ScriptError
from walkaround.procedure.expand import plan_for
from walkaround.procedure.model import TIMED, Plan, Step
from walkaround.procedure.profile import Profile
from walkaround.procedure.restore import acts_before, after, unmet
from walkaround.procedure.script import AskCard, Card, JudgeCard, Script, States
from walkaround.procedure.wording import cards_of, text_errors

_EDGES = re.compile(r"(?<=-marks)-\w+-\w+$")  # build-up-marks-85-100: what is marked
HELPER = "helper"
"""The state variable that says whether a second person is there and knows what is to come."""


def check_script(script: Script) -> tuple[ScriptError, ...]:
    """Everything wrong with what is written, in file order; empty when nothing is."""
    found = [
        *_table_errors(script.states),
        *text_errors(script),
        *(error for card in cards_of(script) for error in _state_errors(card, script.states)),
        *(error for card in cards_of(script) for error in _limit_errors(card)),
        *(error for card in cards_of(script) for error in _alone(card)),
        *_judge_errors(script),
        *_act_errors(script),
    ]
    return tuple(sorted(found, key=lambda error: (error.file, error.line)))


def check_plan(script: Script, profile: Profile, places: Sequence[str]) -> tuple[ScriptError, ...]:
    """Everything wrong with the plan of this vehicle and trip: twice-asked questions and steps
    that no start state, earlier step or act leads to."""
    plan = plan_for(script, profile, places)
    return (*_asked_twice(script, plan), *_unreachable(script, plan))


def walk_on_paper(plan: Plan) -> tuple[tuple[Step, tuple[str, ...] | None], ...]:
    """Each step with the acts that have to come before it; None when no acts would do.

    Readings are supposed to come out where the script expects them.
    """
    conditions: Mapping[str, str] = plan.start
    walked: list[tuple[Step, tuple[str, ...] | None]] = []
    for step in plan.steps:
        acts = acts_before(step, conditions, plan.acts)
        for act in acts or ():
            conditions = after(plan.step(act), conditions)
        conditions = {**after(step, conditions), **step.expects}
        walked.append((step, acts))
    return tuple(walked)


def _unreachable(script: Script, plan: Plan) -> Iterator[ScriptError]:
    conditions: Mapping[str, str] = plan.start
    cards = {place.name: place.card for place in script.order}
    for step, acts in walk_on_paper(plan):
        if acts is None:
            clause = (unmet(step.needs, conditions) or step.needs)[0]
            wanted = " or ".join(f"{name}: {' / '.join(values)}" for name, values in clause.any_of)
            yield cards[step.id].spot.error(
                f"step '{step.id}' cannot be reached: nothing before it and no act leads to "
                f"everything it needs ({wanted}, ...)",
                "needs",
            )
        for act in acts or ():
            conditions = after(plan.step(act), conditions)
        conditions = {**after(step, conditions), **step.expects}


def _asked_twice(script: Script, plan: Plan) -> Iterator[ScriptError]:
    cards = {place.name: place.card for place in script.order} | {a.id: a for a in script.acts}
    for step in (*plan.steps, *plan.acts):
        seen: set[str] = set()
        for asked in step.asks:
            if asked.id in seen:
                yield cards[step.id].spot.error(
                    f"step '{step.id}': the question '{asked.id}' comes twice for this vehicle; "
                    "their 'when' must exclude each other",
                    "asks",
                )
            seen.add(asked.id)
        if not step.asks:
            yield cards[step.id].spot.error(
                f"step '{step.id}' asks nothing of this vehicle; give the step a 'when'", "asks"
            )


def _table_errors(states: States) -> Iterator[ScriptError]:
    pairs = [(f"start of '{name}'", name, value) for name, value in states.start.items()]
    for hazard in states.hazards:
        of_it = (*hazard.needs, *hazard.leaves, *hazard.demands)
        pairs += [("hazard", name, value) for name, value in of_it]
        if hazard.where and hazard.where not in states.places:
            yield states.spot.error(
                f"hazard: 'where: {hazard.where}' is none of {', '.join(states.places)}", "hazards"
            )
    for name, bands in states.bands.items():
        pairs += [(f"band of '{name}'", name, value) for _, value in bands.below]
        pairs.append((f"band of '{name}'", name, bands.above))
    for about, name, value in pairs:
        problem = _state_problem(states, name, value)
        if problem:
            yield states.spot.error(f"{about}: {problem}", "states")
    for name in states.values:
        if name not in states.start:
            yield states.spot.error(f"'start' does not say what '{name}' is at first", "start")


def _state_problem(states: States, name: str, value: str) -> str:
    if name not in states.values:
        return f"'{name}' is no state; known are {', '.join(states.values)}"
    if value not in states.values[name]:
        return f"'{name}: {value}' is not known; it can be {', '.join(states.values[name])}"
    return ""


def _alone(card: Card) -> Iterator[ScriptError]:
    """A foot goes on the pedal out of sight of the other's hands: the two agree first."""
    needed = {name for need in card.needs for name, _ in need.clause.any_of}
    if card.people > 1 and HELPER not in needed:
        yield card.spot.error(
            f"step '{card.id}' takes {card.people} people and does not need '{HELPER}: yes'; "
            "add that need, so that they agree before it",
            "people",
        )


def _state_errors(card: Card, states: States) -> Iterator[ScriptError]:
    if card.where not in states.places:
        yield card.spot.error(
            f"step '{card.id}': 'where: {card.where}' is none of {', '.join(states.places)}",
            "where",
        )
    for need in (*card.needs, *card.wishes):
        for name, values in need.clause.any_of:
            for value in values:
                problem = _state_problem(states, name, value)
                if problem:
                    yield need.spot.error(f"step '{card.id}', needs: {problem}", name)
    for name, value in card.leaves.items():
        problem = _state_problem(states, name, value)
        if problem:
            yield card.spot.error(f"step '{card.id}', leaves: {problem}", "leaves")
    for ask in card.asks:
        yield from _sets_errors(card, ask, states)
        for name in ask.vouches:
            if name not in card.leaves:
                yield ask.spot.error(
                    f"step '{card.id}', question '{ask.id}': it vouches for '{name}', which the "
                    "step does not leave",
                    "vouches",
                )


def _sets_errors(card: Card, ask: AskCard, states: States) -> Iterator[ScriptError]:
    if not ask.sets:
        return
    if ask.sets not in states.bands:
        yield ask.spot.error(
            f"step '{card.id}': 'sets: {ask.sets}' has no 'bands' to be put into", "sets"
        )
    elif ask.sets not in card.leaves:
        yield ask.spot.error(
            f"step '{card.id}': a reading sets '{ask.sets}', but 'leaves' does not say what is "
            "expected; add it",
            "sets",
        )


def _limit_errors(card: Card) -> Iterator[ScriptError]:
    for number, ask in enumerate(card.asks):
        about = f"step '{card.id}', question '{ask.id}'"
        if ask.kind in TIMED and not ask.seconds:
            yield ask.spot.error(f"{about}: a {ask.kind} has no limit; add 'seconds'", "seconds")
        if ask.after and ask.after not in [other.id for other in card.asks[:number]]:
            yield ask.spot.error(
                f"{about}: 'after: {ask.after}' is no earlier question of this step", "after"
            )


def _judge_errors(script: Script) -> Iterator[ScriptError]:
    cards = cards_of(script)
    asked = {f"{card.id}.{ask.id}" for card in cards for ask in card.asks}
    for card in cards:
        for judge in card.judges:
            yield from _measure_errors(card, judge)
            for name, at in judge.inputs:
                if at not in asked:
                    yield judge.spot.error(
                        f"step '{card.id}': '{judge.measure}' takes its '{name}' from '{at}', "
                        "which nobody asks",
                        name,
                    )


def _measure_errors(card: Card, judge: JudgeCard) -> Iterator[ScriptError]:
    """Whether `air` forms such a measure, and of such inputs."""
    measure = known(_EDGES.sub("", judge.measure))
    if measure is None:
        yield judge.spot.error(
            f"step '{card.id}': there is no measure called '{judge.measure}'; check the spelling",
            "measure",
        )
        return
    given = {name for name, _ in judge.inputs}
    if not set(measure.inputs) <= given or not given <= {*measure.inputs, *measure.optional}:
        yield judge.spot.error(
            f"step '{card.id}': '{judge.measure}' needs {', '.join(measure.inputs)}, "
            f"and {', '.join(sorted(given))} are given",
            "measure",
        )


def _act_errors(script: Script) -> Iterator[ScriptError]:
    for act in script.acts:
        if not act.leaves:
            yield act.spot.error(f"act '{act.id}' leaves nothing, so it can restore nothing")
