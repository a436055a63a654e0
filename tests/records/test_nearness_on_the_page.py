"""How near, where places differ, and what was doubted: through the record and on the page."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.records.walk_sample import EVENTS, KEY, lines, verdict
from walkaround.exchange import Judged, Outcome, Verdict
from walkaround.records.journal import read_journal
from walkaround.records.nearness import how_near, where_places_differ
from walkaround.records.page import page_of
from walkaround.records.summary import summarise
from walkaround.records.view import SummaryView, VerdictView, read_summary


def _view(*verdicts: Verdict) -> tuple[SummaryView, str]:
    events = (EVENTS[0], Judged("hold", verdicts, 10, 10))
    summary = summarise(
        read_journal(b"".join(lines(events=events, closing=None))), KEY.public.jwk()
    )
    return read_summary(summary), page_of(summary, signed=True).decode()


def _only(view: SummaryView) -> VerdictView:
    (found,) = (verdict for step in view.steps for verdict in step.verdicts)
    return found


def _near(outcome: Outcome, **more: object) -> Verdict:
    base = verdict("ca-on.build-up", outcome, "119.2 s", uncertainty="± 1.4 s (k = 2)", near=True)
    return replace(base, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (
            {"conformity": "87.3 %", "guard": "conditional pass", "repeats": 4},
            "near the limit, guard band ± 1.4 s (k = 2), 87.3 % likely within it, conditional "
            "pass: too near to call; 4 measurements, averaged, would settle it",
        ),
        (
            {"conformity": "50.0 %", "guard": "conditional pass"},
            "near the limit, guard band ± 1.4 s (k = 2), 50.0 % likely within it, conditional "
            "pass: too near to call, and no number of repeats would settle it",
        ),
        ({}, "near the limit, guard band ± 1.4 s (k = 2)"),  # a record made before
    ],
)
def test_a_near_verdict_says_how_near(more: dict[str, object], said: str) -> None:
    view, page = _view(_near(Outcome.MET, **more))
    assert how_near(_only(view)) == said
    assert page.count(said) == 2  # in the table, and among what is near


def test_what_is_not_near_carries_no_chance() -> None:
    """A record must stay small: of a plain verdict the page needs only the outcome."""
    plain = verdict("ca-on.leak", Outcome.MET, "1.5 psi/min", conformity="over 99.9 %")
    view, page = _view(plain)
    assert _only(view).conformity == ""
    assert "99.9" not in page


def test_a_doubt_stands_beside_its_verdict() -> None:
    view, page = _view(_near(Outcome.NOT_MET, doubts=("the needles are far apart",)))
    assert _only(view).doubts == ("the needles are far apart",)
    assert "doubted: the needles are far apart" in page


def _at(place: str, outcome: Outcome, rule: str = "r") -> Verdict:
    return replace(verdict(f"{place}.{rule}", outcome, "150 s"), place=place)


def test_where_places_differ_is_said_plainly() -> None:
    view, page = _view(
        _at("CA-ON", Outcome.MET), _at("CA-QC", Outcome.NOT_MET), _at("US-CA", Outcome.UNDETERMINED)
    )
    ((title, told),) = where_places_differ(view.steps)
    assert title == (
        "One minute applied, build-up: within the limit of CA-ON, outside the limit of "
        "CA-QC, left open in US-CA"
    )
    assert [line.partition(" (")[0] for line in told] == [
        "CA-ON: 150 s within its limit",
        "CA-QC: 150 s outside its limit",
        "US-CA: 150 s left open",
    ]
    assert "Where the places differ" in page
    assert "CA-QC: 150 s outside its limit" in page


def test_a_place_counts_by_its_worst_rule() -> None:
    view, _ = _view(
        _at("CA-ON", Outcome.MET),
        _at("CA-QC", Outcome.MET),
        _at("CA-QC", Outcome.NOT_MET, "practice"),
    )
    ((_, told),) = where_places_differ(view.steps)
    assert [line.split()[3] for line in told] == ["within", "outside"]


@pytest.mark.parametrize(
    "outcomes",
    [(Outcome.NOT_MET, Outcome.NOT_MET), (Outcome.MET, Outcome.MET),
     (Outcome.MET, Outcome.UNDETERMINED)],
)  # fmt: skip
def test_places_that_agree_are_not_listed(outcomes: tuple[Outcome, Outcome]) -> None:
    view, page = _view(_at("CA-ON", outcomes[0]), _at("CA-QC", outcomes[1]))
    assert where_places_differ(view.steps) == []
    assert "No reading is within the limit of one place and outside" in page
