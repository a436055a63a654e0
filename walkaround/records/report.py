"""What a verification found: one line a step, and what was not looked at."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import NamedTuple

from walkaround.errors import (
    LogError,
    RecordError,
    RevokedKeyError,
    UntrustedKeyError,
    WalkaroundError,
)
from walkaround.records.canonical import Json
from walkaround.records.second import Weighed
from walkaround.records.signature import WalkKind
from walkaround.records.view import SummaryView
from walkaround.records.wording import BANNERS, NOT_PROVEN, SIGNED_LATER

_SIGNATURE_STEP = 8
TRUST_STEPS = (9, 10, 20)
"""Steps of `verify` that ask whose a record is: it may be intact all the same."""
LOG_STEPS = (17, 18, 19)
"""Steps that ask where it stands in its device's log."""
_REVOKED_STEP = 20
_COUNTERSIGNED_STEP = 21


_VERDICTS: Mapping[type[WalkaroundError] | None, str] = MappingProxyType(
    {
        None: "intact, and by a trusted key",
        UntrustedKeyError: "intact, but by a key that is not trusted for it",
        RevokedKeyError: "intact, but by a revoked key, time not proven",
        LogError: "intact, but the device's log does not bear it out",
        RecordError: "NOT intact, or not a record",
    }
)
_STEPS_OF: Mapping[type[WalkaroundError], tuple[int, ...]] = MappingProxyType(
    {UntrustedKeyError: (9, 10), RevokedKeyError: (_REVOKED_STEP,), LogError: LOG_STEPS}
)


class Outcome(StrEnum):
    PASSED = "passed"
    FAILED = "failed"
    NOT_CHECKED = "not checked"


class Checked(NamedTuple):
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
    them only when `intact`. `countersignatures`: each that was given, counting or not.
    `signed_later`: the record says so, or the journal that was given named no key."""

    steps: tuple[Checked, ...]
    kind: WalkKind | None
    key_id: str
    payload: Mapping[str, Json]
    summary: SummaryView | None = None
    countersignatures: tuple[Weighed, ...] = ()
    signed_later: bool = False

    @property
    def intact(self) -> bool:
        """Nothing that was looked at was changed, whoever signed it."""
        signed = self.steps[_SIGNATURE_STEP - 1].outcome is Outcome.PASSED
        aside = (*TRUST_STEPS, *LOG_STEPS)
        return signed and all(step.number in aside for step in self._failed())

    @property
    def trusted(self) -> bool:
        """Intact, by a key that is trusted for this kind of walk, and at its place in the log."""
        return self.intact and not self._failed()

    @property
    def refusal(self) -> type[WalkaroundError] | None:
        """The error that says why it is not trusted, worst first; None when it is."""
        failed = {step.number for step in self._failed()}
        if not self.intact:
            return RecordError
        if failed & set(LOG_STEPS):
            return LogError
        if failed - {_REVOKED_STEP}:
            return UntrustedKeyError
        return RevokedKeyError if failed else None

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
        return _VERDICTS[self.refusal]

    def lines(self) -> tuple[str, ...]:
        """The whole report for a screen, the banner first."""
        banner = (self.banner,) if self.banner else ()
        left = tuple(f"not checked: {item}" for item in self.not_checked)
        return (*banner, self.verdict, *self.warnings, *self._listed(), *left)

    @property
    def warnings(self) -> tuple[str, ...]:
        """What has to be said with the verdict, whatever it is."""
        return (SIGNED_LATER,) if self.signed_later else ()

    def _listed(self) -> Iterator[str]:
        for step in self.steps:
            yield str(step)
            if step.number == _COUNTERSIGNED_STEP:
                yield from (f"                  {one}" for one in self.countersignatures)

    def require(self) -> None:
        """Raise the error of `refusal` with the sentence of the first step that led to it."""
        refusal = self.refusal
        if refusal is None:
            return
        numbers = _STEPS_OF.get(refusal, ())
        failed = self._failed()
        raise refusal(next((step for step in failed if step.number in numbers), failed[0]).detail)
