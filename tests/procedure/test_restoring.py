"""From any state that a walk can be left in, the acts found do what they are found for."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.procedure.shipped import plan, script
from walkaround.procedure.restore import acts_before, acts_to_meet, after, unmet

STATES = script("tractor-trailer").states.values
CONDITIONS = st.fixed_dictionaries(
    {name: st.sampled_from([*values, "unknown"]) for name, values in STATES.items()}
)


@settings(max_examples=60, deadline=None)
@given(conditions=CONDITIONS, data=st.data())
def test_acts_restore_what_a_step_needs(conditions: dict[str, str], data: st.DataObject) -> None:
    of = plan("tractor-trailer", "demo-doubles", ("CA-NL",))
    step = data.draw(st.sampled_from(of.steps))
    acts = acts_to_meet(step.needs, conditions, of.acts)
    if acts is None:
        return
    here = conditions
    for name in acts:
        act = of.step(name)
        assert unmet(act.needs, here) == ()
        here = dict(after(act, here))
    assert unmet(step.needs, here) == ()


@settings(max_examples=40, deadline=None)
@given(conditions=CONDITIONS.filter(lambda c: c["chocks"] == "in"))
def test_a_chocked_vehicle_can_always_be_made_ready_to_move(conditions: dict[str, str]) -> None:
    """Whatever was left undone: the last gate is never out of reach."""
    of = plan("tractor-trailer", "demo-tractor", ("US",))
    assert acts_to_meet(of.step("ready-to-move").needs, conditions, of.acts) is not None


def test_a_vehicle_in_the_right_state_needs_no_act() -> None:
    of = plan("straight-truck", "demo-truck")
    assert acts_to_meet(of.step("level-and-park").needs, of.start, of.acts) == ()


def test_a_wish_is_met_on_the_way_and_never_by_itself() -> None:
    of = plan("straight-truck", "demo-truck", ("CA-ON",))
    step = of.step("warning-on-falling")
    low = {**of.start, "chocks": "in", "engine": "off", "key": "on", "parking": "set"}
    filled = {**low, "pressure": "cut-out"}
    assert acts_before(step, filled, of.acts) == ()
    acts = acts_before(step, {**low, "pressure": "under-90"}, of.acts)
    assert acts is not None
    assert "release-parking-low" in acts
    least = acts_to_meet(step.needs, {**low, "pressure": "under-90"}, of.acts)
    assert least is not None
    assert "release-parking-low" not in least
