"""What a cited rule is, and the book they are kept in.

No limit stands here: every number comes out of `scripts/rules/*.yaml`.  A rule says
what it measures, how, for which vehicle, where the limit lies in the unit printed, in
the very words of the comparison, and where that was read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from fractions import Fraction
from typing import Protocol

from walkaround.quantity import Quantity


class Standing(StrEnum):
    """How a statement is known."""

    PUBLISHED = "published"  # the text was read
    COMMON_PRACTICE = "common practice"  # the trade does so; no source
    FROM_MEMORY = "from memory"  # believed to be printed; the text was not read


class Comparison(StrEnum):
    """What a wording comes down to. A value at the limit passes the closed ones."""

    AT_MOST = "at most"
    LESS_THAN = "less than"
    AT_LEAST = "at least"
    MORE_THAN = "more than"
    BETWEEN = "between"  # both ends pass
    ABOUT = "about"  # the text gives no edge: nothing can be decided by it
    IS = "is"  # an answer in words


WORDINGS: Mapping[str, Comparison] = {
    "at most": Comparison.AT_MOST,
    "not more than": Comparison.AT_MOST,
    "no more than": Comparison.AT_MOST,
    "not greater than": Comparison.AT_MOST,
    "not higher than": Comparison.AT_MOST,
    "not over": Comparison.AT_MOST,
    "within": Comparison.AT_MOST,
    "maximum": Comparison.AT_MOST,
    "equal to or less than": Comparison.AT_MOST,
    "less than": Comparison.LESS_THAN,
    "under": Comparison.LESS_THAN,
    "before reaching": Comparison.LESS_THAN,
    "at least": Comparison.AT_LEAST,
    "not less than": Comparison.AT_LEAST,
    "not lower than": Comparison.AT_LEAST,
    "no lower than": Comparison.AT_LEAST,
    "at or above": Comparison.AT_LEAST,
    "at or before": Comparison.AT_LEAST,  # of a falling needle
    "before falling below": Comparison.AT_LEAST,
    "minimum": Comparison.AT_LEAST,
    "by": Comparison.AT_LEAST,  # of a falling needle
    "more than": Comparison.MORE_THAN,
    "above": Comparison.MORE_THAN,
    "between": Comparison.BETWEEN,
    "in the range": Comparison.BETWEEN,
    "about": Comparison.ABOUT,
    "approximately": Comparison.ABOUT,
    "is": Comparison.IS,
}
"""The comparison as it is worded -> what it means at the edge."""


FORMS = ("from", "to", "hold_s", "settling", "gauge", "value", "beyond")
"""What of a procedure decides how a measure is formed; the rest is for whoever measures."""


class Measured(Protocol):
    """What `air` hands over; the rooms do not import each other."""

    @property
    def value(self) -> Quantity | str | None: ...
    @property
    def uncertainty(self) -> Quantity | None: ...
    @property
    def why(self) -> str: ...
    @property
    def other(self) -> Quantity | None: ...
    @property
    def shared(self) -> Quantity | None: ...


@dataclass(frozen=True, slots=True)
class Vehicle:
    """The facts that decide which rule holds. Unknown facts stay None and decide nothing.

    `facts` are sizes that a limit may be a share of: `cut-out` (the governor's, a
    pressure), `volume-ratio` (actual over required reservoir volume), `belt-width`.
    `chambers` names the chamber of each brake: {"axle-2-left": "clamp 30 long"}.
    """

    kind: str  # truck | tractor | bus
    units: int  # 1 single, 2 with one trailer, ...
    built: date | None = None
    circuits: int | None = None
    facts: Mapping[str, Quantity] = field(default_factory=dict)
    chambers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Document:
    """A text: what it is, which edition, when and where it was read."""

    id: str
    title: str
    edition: str
    read: date
    standing: Standing
    source: str = ""  # where the text was read, in words


@dataclass(frozen=True, slots=True)
class Citation:
    document: Document
    section: str
    quote: str = ""  # at most twenty words, as printed

    def __str__(self) -> str:
        parts = (self.document.title, self.section, self.document.edition)
        return ", ".join(part for part in parts if part)


@dataclass(frozen=True, slots=True)
class HoldsFor:
    """Which vehicles. Empty means every one."""

    units: tuple[int, ...] = ()
    units_from: int | None = None  # "3+": this many or more
    kinds: tuple[str, ...] = ()
    built_from: date | None = None
    built_before: date | None = None
    circuits: int | None = None
    chamber: str = ""  # of the brake measured, in a stroke rule


@dataclass(frozen=True, slots=True)
class Amount:
    """A printed size, or a printed share of a fact of the vehicle (`50 % x cut-out`).

    `base` is the printed size in the base unit, worked out once.
    """

    printed: Quantity
    of: str = ""
    base: Fraction = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "base", self.printed.base)

    def __str__(self) -> str:
        return f"{self.printed} x {self.of}" if self.of else str(self.printed)


@dataclass(frozen=True, slots=True)
class Bound:
    """One edge. Each of `lesser` is one amount in every unit printed; the smallest binds."""

    lesser: tuple[tuple[Amount, ...], ...]

    def __str__(self) -> str:
        each = [" / ".join(str(amount) for amount in amounts) for amounts in self.lesser]
        return each[0] if len(each) == 1 else "the lesser of " + " and ".join(each)


@dataclass(frozen=True, slots=True)
class Limit:
    """Where the edge lies, as worded. Words instead of bounds for an answer in words."""

    worded: str
    comparison: Comparison
    bounds: tuple[Bound, ...] = ()
    words: tuple[str, ...] = ()
    fails: tuple[str, ...] = ()

    def __str__(self) -> str:
        edges = self.words if self.comparison is Comparison.IS else self.bounds
        joint = " or " if self.comparison is Comparison.IS else " and "
        return f"{self.worded} {joint.join(str(edge) for edge in edges)}"


@dataclass(frozen=True, slots=True)
class Rule:
    """One thing that one text asks of one kind of vehicle."""

    id: str  # "ca-on.build-up"
    authority: str
    statement: str
    measure: str
    procedure: Mapping[str, str]
    holds_for: HoldsFor
    limit: Limit
    citation: Citation
    standing: Standing
    severity: str = ""  # minor | major, in that place's schedule
    note: str = ""  # how a silent text was read
    one_way: str = ""  # why missing the limit here shows nothing, where it does not
    beside: str = ""  # the rule of this authority that it knowingly overlaps
    replaces: tuple[str, ...] = ()  # rules of other authorities that it takes the place of
    file: str = ""
    line: int = 0
    limit_shown: str = field(init=False, repr=False, compare=False)
    citation_shown: str = field(init=False, repr=False, compare=False)
    way: tuple[str, ...] = field(init=False, repr=False, compare=False)  # of forming its measure

    def __post_init__(self) -> None:
        object.__setattr__(self, "way", tuple(self.procedure.get(key, "") for key in FORMS))
        object.__setattr__(self, "limit_shown", str(self.limit))
        object.__setattr__(self, "citation_shown", str(self.citation))


@dataclass(frozen=True, slots=True)
class Authority:
    id: str
    name: str
    places: tuple[str, ...]  # "US", "US-*", "CA-ON"
    documents: tuple[Document, ...]
    rules: tuple[Rule, ...]
    by_measure: Mapping[str, tuple[Rule, ...]]  # the same rules, found by what they judge


@dataclass(frozen=True, slots=True)
class Constant:
    """A size that measuring needs, cited like a rule: the needle's reading, Table V ..."""

    id: str
    value: Quantity
    citation: Citation
    standing: Standing


def holds(rule: Rule, vehicle: Vehicle) -> bool | None:
    """Whether the rule is for this vehicle; None when a fact that decides it is not known."""
    asks = rule.holds_for
    if asks.kinds and vehicle.kind not in asks.kinds:
        return False
    counted = asks.units or asks.units_from is not None
    enough = asks.units_from is not None and vehicle.units >= asks.units_from
    if counted and vehicle.units not in asks.units and not enough:
        return False
    known: list[bool | None] = []
    if asks.built_from or asks.built_before:
        known.append(None if vehicle.built is None else _built(asks, vehicle.built))
    if asks.circuits is not None:
        known.append(None if vehicle.circuits is None else vehicle.circuits == asks.circuits)
    if False in known:
        return False
    return None if None in known else True


def _built(asks: HoldsFor, built: date) -> bool:
    late_enough = asks.built_from is None or built >= asks.built_from
    return late_enough and (asks.built_before is None or built < asks.built_before)
