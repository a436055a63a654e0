"""Verdicts written briefly: what a rule says stands once, each verdict points to it.

A tractor with ten brakes, judged for three places, has hundreds of verdicts by a few
dozen rules; written out in full they would be most of the record.
"""

from __future__ import annotations

from walkaround.exchange import Verdict
from walkaround.records.canonical import Json


class VerdictTable:
    """Rules, citations and notes in the order in which they first occur."""

    def __init__(self) -> None:
        self._rules: dict[tuple[str, ...], int] = {}
        self._citations: dict[str, int] = {}
        self._notes: dict[str, int] = {}

    def brief(self, verdict: Verdict) -> dict[str, Json]:
        """The verdict with numbers for its rule and its note; what is empty is left out."""
        body: dict[str, Json] = {"rule": self._rule(verdict), "outcome": verdict.outcome.value}
        if verdict.value:
            body["value"] = verdict.value
        if verdict.uncertainty:
            body["uncertainty"] = verdict.uncertainty
        if verdict.why:
            body["note"] = self._notes.setdefault(verdict.why, len(self._notes))
        if verdict.near:
            body.update(_nearness(verdict))
        if verdict.doubts:
            body["doubts"] = list(verdict.doubts)
        return body

    def _rule(self, verdict: Verdict) -> int:
        row = (
            verdict.rule,
            verdict.place,
            verdict.measure,
            verdict.limit,
            verdict.citation,
            verdict.standing,
            verdict.severity,
        )
        self._citations.setdefault(verdict.citation, len(self._citations))
        return self._rules.setdefault(row, len(self._rules))

    def members(self) -> dict[str, Json]:
        """The summary's members that the numbers point into."""
        return {
            "rules": [self._row(row) for row in self._rules],
            "citations": list(self._citations),
            "notes": list(self._notes),
        }

    def _row(self, row: tuple[str, ...]) -> Json:
        rule, place, measure, limit, citation, standing, severity = row
        body: dict[str, Json] = {
            "rule": rule,
            "place": place,
            "measure": measure,
            "limit": limit,
            "citation": self._citations[citation],
            "standing": standing,
        }
        if severity:
            body["severity"] = severity
        return body


def _nearness(verdict: Verdict) -> dict[str, Json]:
    """Only of a verdict near its limit: of the others it would be most of the record."""
    body: dict[str, Json] = {"near": True}
    if verdict.conformity:
        body["conformity"] = verdict.conformity
    if verdict.guard:
        body["guard"] = verdict.guard
    if verdict.repeats:
        body["repeats"] = verdict.repeats
    return body
