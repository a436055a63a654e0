"""Why a step needs a state: a hazard, or a value that is worth nothing without it.

The first row that fits is taken.  The sentences are ours; a document is named where the
text was read, otherwise it is common practice without a source.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from walkaround.procedure.model import Clause, Step


class Kind(StrEnum):
    HAZARD = "hazard"
    WORTHLESS = "worthless value"


@dataclass(frozen=True, slots=True)
class Reason:
    kind: Kind
    because: str


@dataclass(frozen=True, slots=True)
class _Row:
    """`steps` empty: any step; `values` empty: any needed value."""

    variable: str
    values: tuple[str, ...]
    steps: tuple[str, ...]
    kind: Kind
    because: str


_H, _V = Kind.HAZARD, Kind.WORTHLESS
_MOVING = ("park-hold-power-unit", "park-hold-trailer", "service-stop", "trailer-hand-valve-stop")
_CLIMBS = ("build-up-time", "first-climb", "warning-off-rising")
_LEAKS = ("leak-released", "leak-applied", "leak-listened", "reserve-one-application")

_ROWS: tuple[_Row, ...] = (
    _Row("chocks", ("out",), _MOVING, _V, "the chock would hold, and not the brake"),
    _Row(
        "chocks", (), (), _H, "nothing else holds the vehicle (Ontario Air Brake Handbook, ch. 10)"
    ),
    _Row("drains", (), (), _H, "the engine would fill open reservoirs"),
    _Row("ready", (), (), _H, "it would be moved with little air or with its lines apart"),
    _Row("helper", (), (), _H, "a foot goes on the pedal that nobody at the wheels was told of"),
    _Row("holds", (), (), _H, "the parking brake is the last line if the service brake fails"),
    _Row("trailer-holds", (), (), _H, "the trailer's brakes gave way just before"),
    _Row("rear", (), (), _H, "the last unit may have no brakes"),
    _Row("lines", (), _LEAKS, _V, "another vehicle would be measured"),
    _Row("lines", (), (), _H, "it would be moved or charged with its lines apart"),
    _Row(
        "supply",
        ("closed",),
        ("service-coupling-closed", "lines-rejoined", "join-lines"),
        _H,
        "with the supply open the coupling blows and the tractor drains",
    ),
    _Row(
        "supply",
        ("closed",),
        _CLIMBS,
        _V,
        "the compressor would fill the trailer as well (Ontario Air Brake Handbook 10-3)",
    ),
    _Row("supply", (), (), _V, "an empty trailer is braked already, or is not in the measurement"),
    _Row("parking", ("set",), (), _H, "the vehicle is held by nothing"),
    _Row(
        "parking",
        ("released",),
        (),
        _V,
        "spring and pedal force add up, and the parking circuit is not filled "
        "(Newfoundland and Labrador and Ontario manuals)",
    ),
    _Row("engine", ("off",), _LEAKS, _V, "the compressor hides the leak"),
    _Row("engine", ("off",), (), _H, "hands and head are near what the engine moves"),
    _Row("engine", (), (), _V, "without the compressor there is nothing to see"),
    _Row("key", ("off",), (), _H, "fingers are near a belt that somebody may start"),
    _Row("key", (), (), _V, "gauges and warning are dead (Ontario Air Brake Handbook 10-2)"),
    _Row("pressure", (), (*_MOVING, "chocks-away", "ready-to-move"), _H, "rolling without air"),
    _Row("pressure", (), (), _V, "the value means something at another pressure only"),
)
OTHER = Reason(_V, "the script asks for it before this step")
"""Of a need that no row is about: an instructor may add states."""


def reason_for(step: Step, clause: Clause) -> Reason:
    """What a step begun without this clause is worth."""
    for name, values in clause.any_of:
        for row in _ROWS:
            fits = not row.values or set(row.values) & set(values)
            if row.variable == name and fits and (not row.steps or step.id in row.steps):
                return Reason(row.kind, row.because)
    return OTHER
