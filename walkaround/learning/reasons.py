"""What a step needs first, and why, in words for the learner."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from walkaround.learning.book import RecallBook
from walkaround.learning.course import card_of
from walkaround.procedure.model import Bands, Clause, Plan, Step
from walkaround.quantity import Quantity, Unit

_STEPS = {Unit.PSI: Decimal(1), Unit.KPA: Decimal(10), Unit.BAR: Decimal("0.1")}
"""To what a band's limit is rounded in words; judging never uses it."""


@dataclass(frozen=True, slots=True)
class Missing:
    """One need that is not met: in words, why, and whether somebody could be hurt."""

    needs: str
    why: str
    hazard: bool


class Reasons:
    """Puts the needs of a plan's steps into words, in the gauge's own unit."""

    def __init__(self, book: RecallBook, plan: Plan, gauge: Unit) -> None:
        self._book, self._plan, self._gauge = book, plan, gauge

    def missing(self, step: Step, clauses: Sequence[Clause]) -> tuple[Missing, ...]:
        """Each clause with its reason, hazards first."""
        found = [self._missing(step, clause) for clause in clauses]
        return tuple(sorted(found, key=lambda each: not each.hazard))

    def all_of(self, step: Step) -> tuple[str, ...]:
        """Everything that the step needs, in words."""
        return tuple(self.words(clause) for clause in step.needs)

    def words(self, clause: Clause) -> str:
        """`the chocks in or the parking brake set`."""
        return " or ".join(self._variable(name, values) for name, values in clause.any_of)

    def _missing(self, step: Step, clause: Clause) -> Missing:
        card = card_of(step.id, self._book.why)
        for name, values in clause.any_of:
            because = self._book.reason(card, name, values[0])
            if because is not None:
                return Missing(self.words(clause), because.says, because.hazard)
        return Missing(self.words(clause), "", False)

    def _variable(self, name: str, values: Sequence[str]) -> str:
        bands = self._plan.bands.get(name)
        if bands is not None:
            ranged = self._range(bands, values)
            if ranged:
                return f"the {name} {ranged}"
        told = [self._book.state_words.get(f"{name}: {value}", value) for value in values]
        return " or ".join(told)

    def _range(self, bands: Bands, values: Sequence[str]) -> str:
        """`over 100 psi`, `under 80 psi`, `between 60 psi and 100 psi`; "" for no range."""
        names = [name for _, name in bands.below] + [bands.above]
        inside = [place for place, name in enumerate(names) if name in values]
        if not inside or inside != list(range(inside[0], inside[-1] + 1)):
            return ""
        low = bands.below[inside[0] - 1][0] if inside[0] else None
        high = bands.below[inside[-1]][0] if inside[-1] < len(bands.below) else None
        if low is None:
            return f"under {self._size(bands, high)}" if high is not None else ""
        if high is None:
            return f"over {self._size(bands, low)}"
        return f"between {self._size(bands, low)} and {self._size(bands, high)}"

    def _size(self, bands: Bands, limit: Decimal) -> Quantity:
        size = Quantity(limit, bands.unit).to(self._gauge)
        return size.rounded(_STEPS.get(self._gauge, Decimal(1)))
