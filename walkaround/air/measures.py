"""Every measure by name: what it is made of, and what its words mean.

A measure whose name begins with `works-` or `seen-` has one input, `answer`.  For
`works-` yes always means that the thing does what it should.  For `seen-` yes means what
the table says: `seen-audible-leak: yes` is a leak that was heard.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial

from walkaround.air.buildup import build_up, build_up_marks, recovery
from walkaround.air.inputs import Inputs, words
from walkaround.air.levels import (
    COUNTS,
    belt_slack,
    discharge_temperature,
    governor_band,
    level,
    reserve,
    springs_after_warning,
    stroke,
    stroke_pressure,
)
from walkaround.air.loss import loss_applied, loss_released
from walkaround.air.measured import GaugeFacts, Measured, UndeterminedError
from walkaround.air.procedure import Procedure
from walkaround.air.repeats import repeated
from walkaround.air.strokes import strokes_beyond

Forming = Callable[[Inputs, Procedure, GaugeFacts], Measured]


@dataclass(frozen=True, slots=True)
class Measure:
    """`optional` inputs may be absent unless a rule's procedure asks for them."""

    form: Forming
    inputs: tuple[str, ...]
    optional: tuple[str, ...] = ()


def _in_words(inputs: Inputs, _: Procedure, __: GaugeFacts) -> Measured:
    """`yes`, `no`, the option or the count, as answered."""
    return Measured(words(inputs, "answer"))


_WORDS = Measure(_in_words, ("answer",))

MEASURES: Mapping[str, Measure] = {
    "build-up": Measure(build_up, ("rise",)),
    "build-up-marks": Measure(build_up_marks, ("from_mark", "to_mark"), ("from_reading",)),
    "recovery": Measure(recovery, ("from_mark", "to_mark"), ("cut_out_mark",)),
    "loss-released": Measure(loss_released, ("start", "hold", "end")),
    "loss-applied": Measure(loss_applied, ("start", "hold", "end"), ("before", "longer", "later")),
    **{name: Measure(partial(level, name), ("reading",)) for name in COUNTS},
    "governor-band": Measure(governor_band, ("cut_out", "cut_in")),
    "reserve": Measure(reserve, ("before", "after")),
    "reserve-five": Measure(reserve, ("before", "after")),
    "springs-after-warning": Measure(springs_after_warning, ("warning", "closes")),
    "stroke": Measure(stroke, ("reading",)),
    "stroke-pressure": Measure(stroke_pressure, ("reading",)),
    "strokes-beyond": Measure(strokes_beyond, ()),  # an input for each brake, by its name
    "belt-slack": Measure(belt_slack, ("deflection",), ("width",)),
    "discharge-temperature": Measure(discharge_temperature, ("reading",)),
    "warning-works": _WORDS,
}

YES_MEANS: Mapping[str, str] = {
    "works-check-valve": "the service gauges stayed while the supply tank was drained",
    "works-warning-lamp": "the low-pressure warning was on with the tanks empty",
    "works-trailer-brakes-by-valve": "the trailer brakes came on when the supply valve was closed",
    "works-tractor-protection": "no air came from the open service coupling",
    "works-breakaway": "the trailer brakes came on when the supply line was parted",
    "works-park-hold": "the parking brake held the power unit",
    "works-trailer-hold": "the trailer brakes held",
    "works-service-stop": "it stopped straight and without delay",
    "works-flow-to-rear": "air reached the rear of the last trailer on both lines",
    "works-dryer-purge": "the dryer purged at cut-out",
    "works-accessories": "every accessory worked and the tanks kept their pressure",
    "works-door": "the door interlock held and let go",
    "works-hand-valve": "the hand valve alone braked the trailer",
    "works-compressor-keeps": "idling with the pedal held, the compressor kept the pressure named",
    "works-reservoir-drain": "every drain let water or air out and closed",
    "seen-audible-leak": "a leak was heard",
    "seen-drain-water": "more than a few drops came out",
    "seen-compressor": "compressor, drive and lines are in order",
    "seen-lines": "hoses, tubes and tanks are in order",
    "seen-couplings": "couplings, seals and colours are in order",
    "seen-wheel-brakes": "chambers, pushrods, adjusters and linings are in order",
    "seen-rear-valves": "the rear shut-off valves stand as they should",
}
"""What `yes` means. Other names in `works-` mean that the thing works."""


def known(measure: str) -> Measure | None:
    """The measure of that name, or None."""
    if measure.startswith(("works-", "seen-")):
        return _WORDS
    return MEASURES.get(measure)


def form(measure: str, inputs: Inputs, procedure: Procedure, gauge: GaugeFacts) -> Measured:
    """The measure as one rule's procedure asks for it. Never raises: what cannot be formed
    comes back without a value, and `why` says in one clause what is missing.  Measurements
    that were repeated are combined as `repeats` says."""
    found = known(measure)
    if found is None:
        return Measured(None, why=f"there is no measure called '{measure}'")
    try:
        return repeated(inputs, lambda each: found.form(each, procedure, gauge))
    except UndeterminedError as missing:
        return Measured(None, why=str(missing))
