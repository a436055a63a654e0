"""How many brakes are beyond their limit by how much: one number for all the strokes."""

from __future__ import annotations

from fractions import Fraction

from walkaround.air.inputs import Inputs, readings
from walkaround.air.measured import GaugeFacts, Measured, UndeterminedError
from walkaround.air.procedure import Procedure
from walkaround.quantity import Kind, Unit, from_base, quantity

LIMIT = "limit@"
"""`limit@axle-1-left` in the procedure is the limit of that brake's chamber."""


def strokes_beyond(inputs: Inputs, procedure: Procedure, _: GaugeFacts) -> Measured:
    """The share of brakes, in percent, whose stroke exceeds its limit by `beyond` or more.

    `inputs` holds each brake's stroke under its own name.  A brake that was not measured, or
    whose chamber has no limit, leaves the share open: it might be one of them.
    """
    if not inputs:
        raise UndeterminedError("every stroke is missing")
    if "beyond" not in procedure:
        raise UndeterminedError("the rule names no excess over the limit")
    beyond, over = quantity(procedure["beyond"]).base, []
    for brake in inputs:
        if LIMIT + brake not in procedure:
            raise UndeterminedError(f"no limit is known for the chamber at '{brake}'")
        limit = quantity(procedure[LIMIT + brake]).base
        if readings(inputs, brake, Kind.LENGTH)[0].base - limit >= beyond:
            over.append(brake)
    said = f"{len(over)} of {len(inputs)} brakes" + (f": {', '.join(over)}" if over else "")
    return Measured(from_base(Fraction(len(over), len(inputs)), Unit.PERCENT), why=said)
