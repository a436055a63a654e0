"""What is printed when a walk ends: findings, what stays open, where the record is."""

from __future__ import annotations

from collections.abc import Iterator

from walkaround.cli.recording import Written, write_record
from walkaround.cli.screen import show
from walkaround.cli.session import Sat, Session, reading_of
from walkaround.cli.transcript import clock
from walkaround.engine.state import State
from walkaround.errors import UNFINISHED, DiskError, JournalError, RecordError
from walkaround.exchange import Outcome, Verdict
from walkaround.procedure.model import Plan
from walkaround.records.journal import Ended
from walkaround.records.page import NOT_DONE_BECAUSE
from walkaround.records.rounding import rounded
from walkaround.records.signature import WalkKind

_DISCLAIMER = (
    "This informs; it does not license. Local rules, the carrier, the maker and a licensed "
    "mechanic decide."
)
_INTERRUPTED = 130
Judged = tuple[str, Verdict]
"""A step's title, and what a rule says of it."""


def report_walk(session: Session, sat: Sat) -> int:
    """Write the record of a walk that ended and say how it went.

    Returns 3 when it did not finish, 130 when Ctrl-C ended it.
    """
    written = _record(session)
    if session.kind is WalkKind.SIMULATED:
        show("\nSIMULATED: no real vehicle was checked.")
    show(f"\nThe air-brake check took {clock(sat.at_ms)} in this sitting.")
    _show_verdicts(session.material.plan, sat.state)
    show(f"\nRecord:  {written.signed or 'not signed; the journal is kept'}")
    show(f"To read: {written.page}")
    if session.key is None:
        show(f"There was no signing key. Sign it later with: keys --sign {session.folder}")
    show(_DISCLAIMER)
    if sat.ended is Ended.COMPLETE:
        return 0
    because = f" It was told to stop ({sat.told.name})." if sat.told is not None else ""
    show(
        f"\nNot finished.{because} Everything heard is kept; go on with: --resume {session.folder}"
    )
    interrupted = sat.told is not None and sat.told.name == "SIGINT"
    return _INTERRUPTED if interrupted else UNFINISHED


def _record(session: Session) -> Written:
    journal = session.journal
    try:
        if not journal.is_there():
            raise DiskError(f"{journal.path} is not as it was written; no record was made of it")
        return write_record(session.folder, reading_of(journal), session.key)
    except (JournalError, RecordError, DiskError) as bad:
        if not journal.is_there():
            raise type(bad)(
                f"{bad}. It was moved, deleted or changed while walking: if it was moved, make "
                "the record with 'keys --sign' and its new place; else the walk is NOT kept, "
                "and is to be done again"
            ) from None
        raise type(bad)(
            f"{bad}. The walk itself is kept; make its record later with: "
            f"keys --sign {session.folder}"
        ) from None


def _judged(plan: Plan, state: State) -> Iterator[Judged]:
    for step, verdicts in state.verdicts.items():
        for verdict in verdicts:
            yield plan.step(step).title, verdict


def _show_verdicts(plan: Plan, state: State) -> None:
    every = list(_judged(plan, state))
    ruled = [(title, verdict) for title, verdict in every if verdict.rule]
    met = sum(verdict.outcome is Outcome.MET for _, verdict in ruled)
    show(f"{met} within a cited limit")
    for outcome, told in (
        (Outcome.NOT_MET, "outside a cited limit"),
        (Outcome.UNDETERMINED, "not decided: not measured, or the rule leaves it open"),
    ):
        those = [(title, verdict) for title, verdict in ruled if verdict.outcome is outcome]
        show(f"{len(those)} {told}")
        for title, verdict in those:
            show(f"  {title}: {_told(verdict)}")
    if len(every) > len(ruled):
        show(f"{len(every) - len(ruled)} noted, with no rule for that place in the rule book")
    if state.not_done:
        show(f"{len(state.not_done)} steps not done")
    for step, why in state.not_done.items():
        show(f"  {plan.step(step).title}: {NOT_DONE_BECAUSE.get(why, why)}")


def _told(verdict: Verdict) -> str:
    """What was read, what the rule asks, why it is open, and who says so."""
    read = f"{rounded(verdict.value, verdict.uncertainty)}; " if verdict.value else ""
    why = f"; {verdict.why}" if verdict.why else ""
    return f"{read}{verdict.place} asks {verdict.limit}{why} ({verdict.citation})"
