"""The window of a build-up rule: between two marks of the gauge, or two that the vehicle has.

Some texts print no pressures: they time from the empty reservoirs to a share of the governor's
cut-out, or from where the warning stops to the maker's maximum.  What the profile tells is put
in; where it does not tell it, one plain sentence says so, and nothing is decided.
"""

from __future__ import annotations

from collections.abc import Mapping

from walkaround.air.procedure import Procedure
from walkaround.quantity import from_base, quantity
from walkaround.rules.limits import FACT_NAMES
from walkaround.rules.model import Rule, Vehicle

_SHARE = " x "
_EDGES = ("from", "to")
_AT_ZERO: Mapping[str, str] = {"empty": "0 psi"}
_MARKS: Mapping[str, str] = {
    "empty": "empty",
    "where the low-pressure warning stops": "warning",
    "80 % x cut-out": "share",
    "100 % x pressure-most": "most",
}
"""An edge without a number -> how a measure of marks names it: `build-up-marks-warning-most`."""


def window_of(rule: Rule) -> tuple[str, str] | None:
    """Its edges as measures of marks name them; in psi where the text prints them so."""
    names = [_mark(rule.procedure.get(edge, "")) for edge in _EDGES]
    return (names[0], names[1]) if all(names) else None


def marked_only(rule: Rule) -> bool:
    """Whether its window begins or ends where a called-out number of the gauge cannot."""
    return any(rule.procedure.get(edge, "") in _MARKS for edge in _EDGES)


def in_sizes(rule: Rule, vehicle: Vehicle) -> tuple[Procedure, str]:
    """The rule's procedure with the vehicle's own sizes put in, and why one could not be: a
    sentence, empty where all are known."""
    said = dict(rule.procedure)
    for edge in _EDGES:
        text = said.get(edge, "")
        share, times, fact = text.partition(_SHARE)
        if text in _AT_ZERO:
            said[edge] = _AT_ZERO[text]
        elif times and fact in vehicle.facts:
            size = vehicle.facts[fact]
            said[edge] = str(from_base(size.base * quantity(share).base, size.unit))
        elif times:
            return said, f"the vehicle's profile does not tell its {FACT_NAMES.get(fact, fact)}"
    return said, ""


def _mark(text: str) -> str:
    if text in _MARKS:
        return _MARKS[text]
    in_psi = [part for part in text.split(" / ") if part.endswith(" psi")]
    return in_psi[0].removesuffix(" psi") if in_psi else ""
