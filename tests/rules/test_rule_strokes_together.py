"""Rules on strokes that readings.yaml cannot tell, since they want chambers."""

from __future__ import annotations

from datetime import date

import pytest

from tests.rules.book_of_rules import the_book
from walkaround.exchange import Given, NotDone, Number, Outcome, Verdict, Wanted
from walkaround.procedure.judging import judge_all
from walkaround.procedure.measuring import gauge_facts
from walkaround.quantity import quantity
from walkaround.rules.book import RuleBook
from walkaround.rules.load import load_rules
from walkaround.rules.model import Vehicle

FIVE = tuple(f"axle-{n}-left" for n in range(1, 6))
TRUCK = Vehicle("truck", 1, date(2016, 5, 31), 2, chambers=dict.fromkeys(FIVE, "clamp 30"))


def _judged(place: str, *strokes: str) -> dict[str, Verdict]:
    book = the_book()
    wanted = [_wanted(brake, stroke) for brake, stroke in zip(FIVE, strokes, strict=True)]
    verdicts = judge_all(wanted, book, [place], TRUCK, gauge_facts(book))
    return {f"{verdict.rule} {verdict.measure}": verdict for verdict in verdicts}


def _wanted(brake: str, stroke: str) -> Wanted:
    answer = Given(f"s.stroke@{brake}", _answer(stroke), 1, 0)
    return Wanted("stroke", (("reading", answer),))


def _answer(stroke: str) -> Number | NotDone:
    return NotDone("cannot reach it") if stroke == "-" else Number(quantity(stroke))


@pytest.mark.parametrize(
    ("strokes", "outcome", "said"),
    [
        # 2 in and 6.4 mm are 57.2 mm
        (("57.2 mm", "40 mm", "40 mm", "40 mm", "40 mm"), Outcome.NOT_MET, "1 of 5 brakes"),
        (("57.1 mm", "57 mm", "40 mm", "40 mm", "40 mm"), Outcome.MET, "0 of 5 brakes"),
        (("2.25 in", "1 in", "1 in", "1 in", "1 in"), Outcome.MET, "0 of 5 brakes"),
        (("-", "1 in", "1 in", "1 in", "1 in"), Outcome.UNDETERMINED, "cannot reach it"),
    ],
)
def test_quebec_counts_brakes_far_beyond_their_limit(
    strokes: tuple[str, ...], outcome: Outcome, said: str
) -> None:
    """C-24.2, r. 32, s. 166(9): major where 20 % or more of the chambers exceed the limit by
    6.4 mm or more; a quarter of an inch is 6.35 mm and does not."""
    verdict = _judged("CA-QC", *strokes)["ca-qc.strokes-beyond strokes-beyond"]
    assert verdict.outcome is outcome
    assert said in verdict.why
    assert verdict.severity == "major"


def test_a_place_without_that_rule_has_no_such_verdict() -> None:
    assert not any("beyond" in key for key in _judged("US-OH", *["1 in"] * 5))


def test_a_stroke_at_the_limit_passes_the_federal_rule_and_fails_virginia() -> None:
    """49 CFR 393.47(e)(1): not greater than (since 5 September 2012); 19VAC30-70-440 D 2: is
    equal to or exceeds."""
    found = _judged("US-VA", "2 in", "1.99 in", "1 in", "1 in", "1 in")
    federal = found["us-federal.stroke-clamp-30 stroke@axle-1-left"]
    virginia = found["us-va.stroke-clamp-30 stroke@axle-1-left"]
    assert (federal.outcome, virginia.outcome) == (Outcome.MET, Outcome.NOT_MET)
    assert virginia.standing == "from memory"
    assert found["us-va.stroke-clamp-30 stroke@axle-2-left"].outcome is Outcome.MET


def test_british_columbias_advice_is_no_limit() -> None:
    """Driving Commercial Vehicles p. 203: over 1 3/4 in adjust a type 30; the limit is 2 in."""
    found = _judged("CA-BC", "1.9 in", "1.75 in", "1 in", "1 in", "1 in")
    advice = found["ca-bc.stroke-advice-clamp-30 stroke@axle-1-left"]
    assert advice.outcome is Outcome.UNDETERMINED
    assert "advice to adjust" in advice.why
    assert found["ca-safety-code.stroke-clamp-30 stroke@axle-1-left"].outcome is Outcome.MET
    assert found["ca-bc.stroke-advice-clamp-30 stroke@axle-2-left"].outcome is Outcome.MET


# Texts made up for this test: at one place two of them print different limits for one chamber.
_MADE_UP = b"""
documents: [{id: book, title: A book, edition: first, read: 2026-11-25, standing: from memory}]
rules:
  - id: stroke
    statement: Not more than this.
    measure: stroke
    comparison: not more than
    by_chamber: {clamp 30: %s}
    document: book
    section: strokes
    standing: from memory
"""
_COUNTED = b"""
  - id: beyond
    statement: Fewer than a fifth of the brakes are beyond.
    measure: strokes-beyond
    procedure: {beyond: 6.4 mm}
    comparison: less than
    limit: 20 %
    document: book
    section: strokes
    standing: from memory
"""
_BOOK = load_rules(
    {
        "a.yaml": b"authority: aa\nname: A\nplaces: [CA-QC]" + _MADE_UP % b"50 mm" + _COUNTED,
        "b.yaml": b"authority: bb\nname: B\nplaces: [CA-*]" + _MADE_UP % b"60 mm",
        "c.yaml": b"authority: cc\nname: C\nplaces: [US]" + _MADE_UP % b"45 mm" + _COUNTED,
        "places.yaml": b"place_names: {US: United States, CA-QC: Quebec, CA-ON: Ontario}",
    }
)


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(
    ("stroke", "in_quebec", "in_the_us"),
    [
        ("50 mm", Outcome.MET, Outcome.MET),  # 51.4 mm is beyond 45, 56.4 beyond 50
        ("51.4 mm", Outcome.MET, Outcome.NOT_MET),
        ("56.3 mm", Outcome.MET, Outcome.NOT_MET),
        ("56.4 mm", Outcome.UNDETERMINED, Outcome.NOT_MET),  # beyond 50, not beyond 60
        ("66.3 mm", Outcome.UNDETERMINED, Outcome.NOT_MET),
        ("66.4 mm", Outcome.NOT_MET, Outcome.NOT_MET),
    ],
)
def test_two_limits_for_one_chamber_are_both_counted_by(
    stroke: str, in_quebec: Outcome, in_the_us: Outcome, turned: bool
) -> None:
    """On a trip each place counts by the limits of its own texts, and by all of them, whichever
    file comes last."""
    book = _BOOK
    if turned:
        book = RuleBook(tuple(reversed(_BOOK.authorities)), _BOOK.place_names)
    wanted = [_wanted(brake, stroke) for brake in FIVE]
    verdicts = judge_all(wanted, book, ["US", "CA-QC", "CA-ON"], TRUCK, gauge_facts(the_book()))
    counted = {v.place: v for v in verdicts if v.measure == "strokes-beyond"}
    assert {place: v.outcome for place, v in counted.items()} == {
        "US": in_the_us,
        "CA-QC": in_quebec,
    }
    if in_quebec is Outcome.UNDETERMINED:
        assert counted["CA-QC"].why.startswith(
            "the text can be read two ways and they differ: 5 of 5 brakes"
        )
        assert counted["CA-QC"].why.endswith("0 of 5 brakes by the highest")


def test_every_text_of_a_trip_judges_each_stroke() -> None:
    """49 CFR 393.47(e) and Ontario's chart: 2 in for a type 30 clamp; the first fails by a hair
    in both, and Quebec, which counts brakes far beyond, is content."""
    book = the_book()
    strokes = ("2.01 in", "2 in", "1.9 in", "1.9 in", "1.9 in")
    wanted = [_wanted(brake, stroke) for brake, stroke in zip(FIVE, strokes, strict=True)]
    verdicts = judge_all(wanted, book, ["US", "CA-ON", "CA-QC"], TRUCK, gauge_facts(book))
    first = {v.place: v.outcome for v in verdicts if v.measure == "stroke@axle-1-left"}
    assert first == dict.fromkeys(("US", "CA-ON", "CA-QC"), Outcome.NOT_MET)
    (far,) = [v for v in verdicts if v.measure == "strokes-beyond"]
    assert (far.place, far.outcome) == ("CA-QC", Outcome.MET)
