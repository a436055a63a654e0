"""What a rule's procedure says, taken out of its words."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from walkaround.air.measured import UndeterminedError
from walkaround.quantity import Quantity, Unit, one_system, quantity

Procedure = Mapping[str, str]


def pressure(procedure: Procedure, key: str, unit: Unit) -> Fraction:
    """A pressure of the procedure in Pa: the one printed in `unit`, else in its system, else the
    first.

    A text that prints `85 psi / 587 kPa` means the mark on the gauge at hand.  Raises
    UndeterminedError where the procedure names no pressure (`empty`, `warning off`).
    """
    text = procedure.get(key, "")
    try:
        printed = [quantity(part) for part in text.split(" / ")]
    except ValueError:
        said = f"it says '{text}'" if text else "it says nothing"
        raise UndeterminedError(f"the rule names no pressure for '{key}': {said}") from None
    return _in_unit(printed, unit).base


def hold_s(procedure: Procedure) -> int:
    """How long the text holds, in seconds; 0 where it does not say."""
    return int(procedure.get("hold_s", "0"))


def _in_unit(printed: list[Quantity], unit: Unit) -> Quantity:
    own = [each for each in printed if each.unit is unit]
    kin = [each for each in printed if one_system(each.unit, unit)]
    return [*own, *kin, *printed][0]
