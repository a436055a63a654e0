"""What is printed when a walk ends: findings, what stays open, where the record is."""

from __future__ import annotations

from collections.abc import Sequence

from walkaround.cli.session import Session
from walkaround.cli.transcript import clock
from walkaround.engine.state import State
from walkaround.errors import UNFINISHED
from walkaround.exchange import Outcome, Verdict
from walkaround.records.journal import Ended
from walkaround.records.signature import WalkKind

_DISCLAIMER = (
    "This informs; it does not license. Local rules, the carrier, the maker and a licensed "
    "mechanic decide."
)


def report_walk(session: Session, ended: Ended | None, at_ms: int, state: State) -> int:
    """Write the record of a walk that ended and say how it went; 3 when it did not finish."""
    if ended is None:
        print(f"\nNot finished. Everything heard is kept in {session.folder}; use --resume.")
        return UNFINISHED
    _, path = session.close_record(ended)
    if session.kind is WalkKind.SIMULATED:
        print("\nSIMULATED: no real vehicle was checked.")
    print(f"\nThe air-brake check took {clock(at_ms)} in this sitting.")
    _print_verdicts(state)
    print(f"\nRecord:  {path}")
    print(f"To read: {path.with_suffix('.html')}")
    if session.key is None:
        print("There was no signing key: the record is not signed. The journal is kept.")
    print(_DISCLAIMER)
    return 0 if ended is Ended.COMPLETE else UNFINISHED


def _print_verdicts(state: State) -> None:
    every = [verdict for verdicts in state.verdicts.values() for verdict in verdicts]
    met = sum(verdict.outcome is Outcome.MET for verdict in every)
    print(f"{met} within a cited limit")
    _print_those(every, Outcome.NOT_MET, "outside a cited limit")
    judged = [verdict for verdict in every if verdict.rule]
    _print_those(judged, Outcome.UNDETERMINED, "judged by no edge, or not measured")
    unruled = len(every) - len(judged)
    if unruled:
        print(f"{unruled} noted, with no rule for that place in the rule book")
    for step, why in state.not_done.items():
        print(f"  not done: {step} ({why})")


def _print_those(verdicts: Sequence[Verdict], outcome: Outcome, title: str) -> None:
    those = [verdict for verdict in verdicts if verdict.outcome is outcome]
    print(f"{len(those)} {title}")
    for verdict in those:
        told = verdict.value or verdict.why
        print(f"  {verdict.place} {verdict.measure}: {told}; {verdict.limit} ({verdict.citation})")
