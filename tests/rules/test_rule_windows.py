"""Windows that begin or end where the vehicle itself says, and not a number of the gauge."""

from __future__ import annotations

import math
from datetime import date

import pytest

from tests.rules.book_of_rules import the_book
from walkaround.exchange import Given, Mark, Number, Outcome, Verdict, Wanted
from walkaround.procedure.judging import judge_all
from walkaround.procedure.measuring import gauge_facts
from walkaround.quantity import quantity
from walkaround.rules.model import Vehicle


def _marked(place: str, seconds: float, *, most: str = "", reading: str = "") -> list[Verdict]:
    facts = {"pressure-most": quantity(most), "cut-out": quantity(most)} if most else {}
    vehicle = Vehicle("truck", 1, date(2016, 5, 31), 2, facts)
    inputs = {
        "from_mark": Given("s.f", Mark(), 1, 0),
        "to_mark": Given("s.t", Mark(), 1, round(seconds * 1000)),
    }
    if reading:
        inputs["from_reading"] = Given("s.r", Number(quantity(reading)), 1, 0)
    name = "build-up-marks-warning-most" if place == "NZ" else "build-up-marks-empty-share"
    book = the_book()
    return [
        verdict
        for verdict in judge_all(
            [Wanted(name, tuple(inputs.items()))], book, [place], vehicle, gauge_facts(book)
        )
        if verdict.rule in ("nz.build-up", "au-wa.build-up")
    ]


@pytest.mark.parametrize(
    ("place", "said"),
    [
        ("NZ", "the vehicle's profile does not tell its maximum operating pressure"),
        ("AU-WA", "the vehicle's profile does not tell its governor's cut-out"),
    ],
)
def test_what_the_profile_does_not_tell_is_said_plainly(place: str, said: str) -> None:
    """HVSC 5-2, item 4(a); r. 334(1)(a)."""
    (verdict,) = _marked(place, 60, reading="64 psi")
    assert (verdict.outcome, verdict.why.split("; ")[0]) == (Outcome.UNDETERMINED, said)


def test_the_needle_counts_by_the_pace_between_the_two() -> None:
    """From 60 to 120 psi in 150 s a step of half a psi is 1.25 s: u^2 = 2 (1.25^2/12) + 0.1^2 for
    the person (JCGM 100:2008, 4.3.7), and U = 2 u."""
    (verdict,) = _marked("NZ", 150, most="120 psi", reading="60 psi")
    expected = 2 * math.sqrt(2 * 1.25**2 / 12 + 0.1**2)
    assert verdict.uncertainty == f"± {expected:.1f} s (k = 2)"
    assert verdict.outcome is Outcome.MET


def test_a_maximum_below_the_warning_is_no_window() -> None:
    (verdict,) = _marked("NZ", 150, most="55 psi", reading="60 psi")
    assert verdict.why.startswith("the window ends below where it begins")
