"""From a verified summary to rows of the flat tables, with what its order and times show."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

from walkaround.audit.alignment import align
from walkaround.audit.states import band_of, judge_order, shortest_seconds, steps_in_order
from walkaround.audit.tables import Batch
from walkaround.audit.timeline import Timeline, reopened_in, timeline_of, told_in
from walkaround.audit.timing import (
    Times,
    hurried_steps,
    impossible_rise,
    short_holds,
    whole_walk,
)
from walkaround.procedure.model import Plan
from walkaround.records.view import AnswerView, StepView, SummaryView, VerdictView

NO_SIZE = math.nan
_LARGEST = 1e7
"""No gauge, rule or watch of a walk shows so much; a sum of such numbers stays a number."""
_MOST_KEPT = 20_000
"""Orders remembered: walks of one script have few."""


@dataclass(frozen=True, slots=True)
class Script:
    """What a record was made with: its plan, and the vehicle's reservoirs where entered."""

    plan: Plan
    volume_l: float | None = None


@dataclass(frozen=True, slots=True)
class Given:
    """One verified record, and what is known about it from outside."""

    view: SummaryView
    content: str
    standing: str
    key: str
    who: str
    times: Times | None = None


_Order = tuple[tuple[tuple[str, str], ...], tuple[tuple[str, str], ...]]
"""((step, what was wrong), ...) and ((step, how it stands beside the script), ...)."""


class Extractor:
    """Turns records into rows; orders seen before are not judged again."""

    def __init__(self, script_of: Callable[[SummaryView], Script | None]) -> None:
        self._script_of = script_of
        self._orders: dict[tuple[object, ...], _Order] = {}
        self._sizes: dict[str, tuple[tuple[float, str], ...]] = {}
        self._coarse: dict[int, dict[str, str]] = {}
        self._batch = Batch()
        self._cells: dict[tuple[str, ...], tuple[object, ...]] = {}
        """Of the batch: columns of `verdicts` after the walk and the step, as written before."""

    def add(self, given: Given, batch: Batch) -> None:
        """Append one walk's rows to the batch."""
        if batch is not self._batch:
            self._batch, self._cells = batch, {}
        view, walk = given.view, batch.walks
        script = self._script_of(view)
        self._steps(given, walk, batch)
        if script is not None:
            self._judge(given, script, walk, batch)
        name = batch.name
        batch.rows["walks"].append(
            (
                walk,
                given.content,
                view.walk_id,
                name(view.walk.value),
                name(given.standing),
                name(given.key),
                name(given.who),
                name(vehicle_name(view.vehicle)),
                name(view.script),
                name(" ".join(view.places)),
                epoch_ms(view.began),
                seconds(view.duration),
                name(view.ended),
                view.interruptions,
                view.journal_entries,
                sum(not step.act for step in view.steps),
                script is not None,
                given.times is not None,
            )
        )

    # ------------------------------------------------------------ what stands in it

    def _steps(self, given: Given, walk: int, batch: Batch) -> None:
        name, view = batch.name, given.view
        took_ms = given.times.took_ms if given.times else {}
        rows = batch.rows["steps"]
        for step in view.steps:
            code = name(step.id)
            took = took_ms.get(step.id)
            took_s = -1.0 if took is None else took / 1000
            state, title = name(step.state), name(step.title)
            rows.append((walk, code, title, step.act, state, first_entry(step), took_s))
            self._readings(step, walk, batch)
            if step.verdicts:
                self._verdicts(step, walk, code, batch)
        findings = batch.rows["findings"]
        for pointed in view.findings:
            what = pointed.verdict.measure if pointed.verdict else ""
            what = what or (pointed.answer.ask if pointed.answer else "")
            findings.append((walk, name(pointed.step.id), name(what)))

    def _readings(self, step: StepView, walk: int, batch: Batch) -> None:
        name, rows = batch.name, batch.rows["readings"]
        for answer in step.answers:
            if answer.said[:1].isdigit() and not answer.points:
                question = name(f"{step.id}.{answer.ask}")
                sizes = self._size(answer.said)
                if sizes:
                    second = sizes[1][0] if len(sizes) > 1 else NO_SIZE
                    rows.append((walk, question, sizes[0][0], second, name(sizes[0][1])))

    def _verdicts(self, step: StepView, walk: int, code: int, batch: Batch) -> None:
        rows, known = batch.rows["verdicts"], self._cells
        for told in step.verdicts:
            # Most verdicts of a fleet are alike: their names are looked up once a batch.
            key = (told.rule, told.place, told.measure, told.outcome, told.value, told.limit)
            cells = known.get(key)
            if cells is None:
                cells = known[key] = self._columns(told, batch)
            rows.append((walk, code, *cells))

    def _columns(self, told: VerdictView, batch: Batch) -> tuple[object, ...]:
        name = batch.name
        sizes = self._size(told.value) if told.value[:1].isdigit() else ()
        value, unit = sizes[0] if len(sizes) == 1 else (NO_SIZE, "")
        return (
            name(told.rule),
            name(told.place),
            name(told.measure),
            name(told.outcome.value),
            value,
            name(unit),
            name(told.limit),
        )

    def _size(self, said: str) -> tuple[tuple[float, str], ...]:
        """ "124 psi, 119 psi" as values with units; empty for anything else."""
        known = self._sizes.get(said)
        if known is None:
            known = self._sizes[said] = sizes_of(said)
            if len(self._sizes) > _MOST_KEPT:
                self._sizes.clear()
        return known

    # ------------------------------------------------------------ what it shows

    def _judge(self, given: Given, script: Script, walk: int, batch: Batch) -> None:
        view, notes = given.view, batch.rows["notes"]
        faults, beside = self._order(script.plan, view)
        for step, how in beside:
            batch.rows["alignment"].append((walk, batch.name(step), batch.name(how)))
        for step, says in faults:
            notes.append((walk, batch.name("order"), batch.name(step), says))
        shortest = shortest_seconds(script.plan)
        done = [step.id for step in view.steps if step.state == "done"]
        hurries = [whole_walk(shortest, done, seconds(view.duration))]
        if given.times is not None:
            hurries += short_holds(script.plan, given.times.held_ms)
            hurries.append(hurried_steps(shortest, done, given.times.took_ms))
        for hurry in hurries:
            if hurry is not None:
                notes.append((walk, batch.name(hurry.sort), batch.name(hurry.step), hurry.says))
        for step_view in view.steps:
            for answer in step_view.answers:
                if answer.points:
                    self._rise(step_view, answer, script, walk, batch)

    def _rise(
        self, step: StepView, answer: AnswerView, script: Script, walk: int, batch: Batch
    ) -> None:
        found = impossible_rise(answer.points, script.volume_l)
        if found is not None:
            says = (
                f"{answer.points[0][1]} to {answer.points[-1][1]} in {found[0]:.1f} s; that much "
                f"air takes at least {found[1]:.1f} s with any compressor"
            )
            batch.rows["notes"].append((walk, batch.name("rise"), batch.name(step.id), says))

    def _order(self, plan: Plan, view: SummaryView) -> _Order:
        told = told_in(view)
        reopened = reopened_in(view)
        if reopened:
            return _judged(plan, timeline_of(told, reopened))  # entries matter; such are few
        coarse = self._coarse.setdefault(id(plan), {})
        parts: list[object] = [id(plan)]
        for _, step, ask, said in told:
            kept = coarse.get(said)
            if kept is None:
                kept = coarse[said] = _coarsely(plan, said)
            parts += (step, ask, kept)
        key = tuple(parts)
        known = self._orders.get(key)
        if known is None:
            known = self._orders[key] = _judged(plan, timeline_of(told))
            if len(self._orders) > _MOST_KEPT:
                self._orders.clear()
                self._coarse.clear()
        return known


def _coarsely(plan: Plan, said: str) -> str:
    """A reading as the range that it lies in; anything else as it is."""
    if not said[:1].isdigit():
        return said
    return " ".join(band_of(bands, said) for bands in plan.bands.values())


def _judged(plan: Plan, timeline: Timeline) -> _Order:
    faults = tuple(
        (fault.step, f"{fault.reason.kind}: {fault.says}") for fault in judge_order(plan, timeline)
    )
    own = [step.id for step in plan.steps]
    found = align(own, steps_in_order(plan, timeline.walked))
    named = {
        "left out": found.left_out,
        "moved": found.moved,
        "repeated": found.repeated,
        "put in": found.put_in,
    }
    return faults, tuple((step, how) for how, steps in named.items() for step in steps)


def first_entry(step: StepView) -> int:
    """The journal entry of the first answer that was given in it; -1 when there is none."""
    first = -1
    for answer in step.answers:
        if answer.heard and (first < 0 or answer.heard[0][0] < first):
            first = answer.heard[0][0]
    return first


def vehicle_name(vehicle: Mapping[str, str]) -> str:
    """What the vehicle is called; a fleet must give its vehicles names of their own."""
    return vehicle.get("name", "")


def sizes_of(said: str) -> tuple[tuple[float, str], ...]:
    """Numbers with their units; empty unless all of it is such."""
    sizes = []
    for part in said.split(", "):
        number, _, unit = part.partition(" ")
        try:
            value = float(number)
        except ValueError:
            return ()
        if not abs(value) < _LARGEST:
            return ()
        sizes.append((value, unit))
    return tuple(sizes[:2])


def seconds(duration: str) -> float:
    """ "3267.539 s" as a number; -1 for anything else."""
    sizes = sizes_of(duration)
    return sizes[0][0] if len(sizes) == 1 and sizes[0][1] == "s" else -1.0


def epoch_ms(wall: str) -> int:
    """RFC 3339 as milliseconds since 1970; -1 for anything else."""
    try:
        when = datetime.fromisoformat(wall)
        return int(when.timestamp() * 1000) if when.tzinfo is not None else -1
    except (ValueError, OverflowError, OSError):
        return -1
