"""What a verification found: one line a step, and what was not looked at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from walkaround.errors import RecordError, UntrustedKeyError
from walkaround.records.canonical import Json
from walkaround.records.signature import WalkKind
from walkaround.records.view import SummaryView
from walkaround.records.wording import BANNERS, NOT_PROVEN

_SIGNATURE_STEP = 8


class Outcome(StrEnum):
    PASSED = "passed"
    FAILED = "failed"
    NOT_CHECKED = "not checked"


@dataclass(frozen=True, slots=True)
class Checked:
    """One step: its number in the list of `verify`, and a detail or the reason."""

    number: int
    title: str
    outcome: Outcome
    detail: str = ""

    def __str__(self) -> str:
        detail = f" ({self.detail})" if self.detail else ""
        return f"{self.number:2}. {self.outcome:11}  {self.title}{detail}"


@dataclass(frozen=True, slots=True)
class Report:
    """`payload` is empty and `summary` is None unless the record itself could be read; use
    them only when `intact`."""

    steps: tuple[Checked, ...]
    kind: WalkKind | None
    key_id: str
    payload: Mapping[str, Json]
    summary: SummaryView | None = None

    @property
    def intact(self) -> bool:
        """Nothing that was looked at was changed, whoever signed it."""
        signed = self.steps[_SIGNATURE_STEP - 1].outcome is Outcome.PASSED
        return signed and all(step.number in (9, 10) for step in self._failed())

    @property
    def trusted(self) -> bool:
        """Intact, and by a key that is trusted for this kind of walk."""
        return self.intact and not self._failed()

    def _failed(self) -> tuple[Checked, ...]:
        return tuple(step for step in self.steps if step.outcome is Outcome.FAILED)

    @property
    def banner(self) -> str:
        """SIMULATED or PRACTICE, to be said before anything else; empty for a real walk."""
        return BANNERS[self.kind] if self.kind is not None else ""

    @property
    def not_checked(self) -> tuple[str, ...]:
        """Steps left out and why, then what no file can prove."""
        left = tuple(
            f"{step.title}: {step.detail}"
            for step in self.steps
            if step.outcome is Outcome.NOT_CHECKED
        )
        return (*left, *NOT_PROVEN)

    @property
    def verdict(self) -> str:
        """One sentence."""
        if self.trusted:
            return "intact, and by a trusted key"
        if self.intact:
            return "intact, but by a key that is not trusted for it"
        return "NOT intact, or not a record"

    def lines(self) -> tuple[str, ...]:
        """The whole report for a screen, the banner first."""
        banner = (self.banner,) if self.banner else ()
        left = tuple(f"not checked: {item}" for item in self.not_checked)
        return (*banner, self.verdict, *map(str, self.steps), *left)

    def require(self) -> None:
        """Raise RecordError unless intact, UntrustedKeyError unless trusted."""
        if self.trusted:
            return
        first = self._failed()[0]
        if self.intact:
            raise UntrustedKeyError(first.detail)
        raise RecordError(first.detail)
