"""Order judged by states: published orders are never called wrong, wrong ones always are.

The published orders and their sources, and the wrong ones with the reason for each, stand in
`tests/procedure`; here they are made into what a record tells and audited as such.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from itertools import count

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.procedure.shipped import plan
from tests.procedure.test_published_orders import Order, Wrong, published, wrong
from walkaround.audit.alignment import align
from walkaround.audit.reasons import OTHER, Kind, reason_for
from walkaround.audit.states import band_of, judge_order, steps_in_order
from walkaround.audit.timeline import CAUTION, UNABLE, Timeline, Told
from walkaround.exchange import AskKind
from walkaround.procedure.model import Asked, Plan, Step
from walkaround.procedure.restore import acts_to_meet, after

READINGS = {
    "empty": "0", "under-50": "40", "under-60": "55", "under-80": "70", "under-90": "85",
    "under-100": "95", "over-100": "112", "cut-out": "124", "in-window": "95",
    "in-lower-window": "85",
}  # fmt: skip
"""A pressure that the script's bands give that name; the last two are no bands."""


def said(step: Step, asked: Asked) -> str:
    """A good answer; a reading that ends where the script expects it."""
    if asked.kind in (AskKind.PAIR, AskKind.NUMBER):
        value = READINGS.get(step.expects.get(asked.sets, ""), "100")
        return f"{value} psi" if asked.kind is AskKind.NUMBER else f"{value} psi, {value} psi"
    if asked.good:
        return asked.good[0]
    plain = {AskKind.HOLD: "held", AskKind.MARK: "mark", AskKind.COUNT: "4"}
    return plain.get(asked.kind, asked.options[0] if asked.options else "yes")


def told(of: Plan, steps: Iterable[str], seqs: Iterable[int] | None = None) -> list[Told]:
    """What a record would tell of these steps and acts, gone through in this order."""
    numbers = iter(seqs or count(2))
    answers: list[Told] = []
    for name in steps:
        step = of.step(name)
        if step.caution:
            answers.append(Told(next(numbers), name, CAUTION, "yes"))
        answers += [Told(next(numbers), name, ask.id, said(step, ask)) for ask in step.asks]
    return answers


def faults(of: Plan, steps: Sequence[str]) -> list[str]:
    return [fault.step for fault in judge_order(of, Timeline(tuple(told(of, steps))))]


@pytest.mark.parametrize("order", published(), ids=lambda order: order.name)
def test_a_published_order_is_never_called_wrong(order: Order) -> None:
    assert faults(plan(order.script, order.vehicle, order.places), order.steps) == []


def test_by_position_most_of_them_would_be() -> None:
    """What an audit by position would have done: most printed orders stand otherwise."""
    moved = 0
    for order in published():
        of = plan(order.script, order.vehicle, order.places)
        own = [step.id for step in of.steps]
        moved += align(own, steps_in_order(of, order.steps)).moved != ()
    assert moved >= len(published()) // 2


@pytest.mark.parametrize("order", wrong(), ids=lambda order: f"{order.steps[-1]}-{order.refused}")
def test_a_wrong_order_always_is(order: Wrong) -> None:
    of = plan(order.script, order.vehicle, ["US"])
    found = judge_order(of, Timeline(tuple(told(of, order.steps))))
    assert {fault.step for fault in found} == {order.steps[-1]}, order.why
    assert any(order.refused in fault.needs for fault in found)


def test_there_are_enough_of_both() -> None:
    assert len(published()) >= 12
    assert len(wrong()) >= 12


def test_hazards_and_worthless_values_are_told_apart() -> None:
    of = plan("straight-truck", "demo-truck", ["US"])
    steps = ["level-and-park", "tanks-drained"]
    assert judge_order(of, Timeline(tuple(told(of, steps))))[0].reason.kind is Kind.HAZARD
    steps = ["level-and-park", "wheels-chocked", "key-on-lamps"]
    assert judge_order(of, Timeline(tuple(told(of, steps))))[0].reason.kind is Kind.WORTHLESS


def restored(of: Plan, steps: Sequence[str]) -> list[str]:
    """These steps in this order, each after the acts that bring about what it needs; a step
    that no act leads to from there is left out."""
    walked: list[str] = []
    conditions = dict(of.start)
    for name in steps:
        acts = acts_to_meet(of.step(name).needs, conditions, of.acts)
        for done in (*acts, name) if acts is not None else ():
            conditions = dict(after(of.step(done), conditions))
            walked.append(done)
    return walked


@settings(max_examples=15)
@given(st.integers(0, 2**32), st.sampled_from(["CA-ON", "US-CA", "CA-AB", "CA-NL"]))
def test_any_order_with_its_needs_restored_is_no_fault(seed: int, place: str) -> None:
    """Stronger than the thirteen equally valid variations: no permutation is ever faulted."""
    of = plan("tractor-trailer", "demo-doubles", [place])
    dice = random.Random(seed)
    steps = [step.id for step in of.steps if step.id != "level-and-park"]
    dice.shuffle(steps)
    assert faults(of, restored(of, ["level-and-park", *steps])) == []


VARIATIONS = {
    "low-pressure round first": ["warning-on-falling", "park-valve-closes", "leak-applied"],
    "leaks before the warning": ["leak-released", "leak-applied", "warning-on-falling"],
    "leaks after the warning": ["warning-on-falling", "leak-released", "leak-applied"],
    "build-up on the first climb": ["tanks-drained", "build-up-time", "cut-out", "leak-applied"],
    "build-up after a pump-down": ["leak-applied", "park-valve-closes", "build-up-time"],
    "cut-in before cut-out": ["cut-in", "cut-out"],
    "cut-out before cut-in": ["cut-out", "cut-in"],
    "released leak after the applied": ["leak-applied", "leak-released"],
    "governor before the couplings": ["cut-in", "service-coupling-closed"],
    "couplings before the governor": ["service-coupling-closed", "lines-rejoined", "cut-in"],
    "supply line first": ["supply-line-parted", "lines-rejoined", "service-line-parted"],
    "service line first": ["service-line-parted", "lines-rejoined", "supply-line-parted"],
    "stroke early": ["stroke-window", "stroke-applied", "warning-on-falling"],
    "stroke late": ["warning-on-falling", "stroke-window", "stroke-applied"],
    "draining last": ["leak-applied", "stroke-window", "check-valve-hold", "tanks-drained"],
    "parking hold before everything": ["park-hold-power-unit", "wheels-chocked", "leak-applied"],
}
"""The equally valid orders, each from the published procedures compared in `published_orders`."""


@pytest.mark.parametrize("name", VARIATIONS)
def test_equally_valid_variations(name: str) -> None:
    of = plan("tractor-trailer", "demo-doubles", ["CA-NL", "CA-ON", "US"])
    steps = restored(of, ["level-and-park", *VARIATIONS[name]])
    assert set(VARIATIONS[name]) <= set(steps)
    assert faults(of, steps) == []


# ---------------------------------------------------------------- what a record tells besides

TRUCK = plan("straight-truck", "demo-truck", ["CA-ON"])
BEGINNING = ["level-and-park", "wheels-chocked"]


def test_a_correction_is_no_second_time() -> None:
    """The pressure at the start is corrected while the tanks are drained: nothing is faulted."""
    answers = told(TRUCK, [*BEGINNING, "key-on", "warning-on-falling"])
    answers.append(Told(90, "level-and-park", "pressure", "118 psi, 118 psi"))
    assert judge_order(TRUCK, Timeline(tuple(answers))) == ()


def test_an_act_answered_no_is_not_done() -> None:
    answers = told(TRUCK, BEGINNING)
    answers = [
        Told(one.seq, one.step, one.ask, "no" if one.ask == "placed" else one.said)
        for one in answers
    ]
    answers += told(TRUCK, ["tanks-drained"], count(50))
    (fault,) = judge_order(TRUCK, Timeline(tuple(answers))) or (None,)
    assert fault is None  # what a "no" leaves is not known, and not held against anybody


def test_after_a_new_sitting_nothing_is_held_against_anybody() -> None:
    answers = told(TRUCK, BEGINNING) + told(TRUCK, ["tanks-drained"], count(50))
    assert judge_order(TRUCK, Timeline(tuple(answers), reopened=(40,))) == ()


def test_a_refused_step_vouches_for_nothing() -> None:
    answers = [*told(TRUCK, ["level-and-park"]), Told(20, "wheels-chocked", "", UNABLE)]
    answers += told(TRUCK, ["tanks-drained"], count(50))
    assert judge_order(TRUCK, Timeline(tuple(answers))) == ()


def test_steps_that_the_script_does_not_know_are_passed_over() -> None:
    answers = (Told(2, "no-such-step", "x", "yes"), *told(TRUCK, BEGINNING, count(3)))
    assert judge_order(TRUCK, Timeline(answers)) == ()


@pytest.mark.parametrize(
    ("reading", "band"),
    [
        ("124 psi, 119 psi", "over-100"),
        ("124 psi, 49 psi", "under-50"),
        ("700 kPa", "over-100"),
        ("6.8 bar", "under-100"),
        ("0 psi", "empty"),
        ("3 s", ""),
        ("yes", ""),
        ("", ""),
    ],
)
def test_bands_go_by_the_lower_needle_in_any_unit(reading: str, band: str) -> None:
    assert band_of(TRUCK.bands["pressure"], reading) == band


@pytest.mark.parametrize(
    ("script", "vehicle"),
    [("straight-truck", "demo-truck"), ("tractor-trailer", "demo-doubles"), ("bus", "demo-bus")],
)
def test_every_need_of_our_scripts_has_a_reason_of_its_own(script: str, vehicle: str) -> None:
    places = ["US", "NZ", *(f"CA-{code}" for code in ("ON", "NL", "AB", "BC", "SK", "QC"))]
    of = plan(script, vehicle, places)
    for step in (*of.steps, *of.acts):
        for clause in step.needs:
            assert reason_for(step, clause).because != OTHER.because, (step.id, clause)
