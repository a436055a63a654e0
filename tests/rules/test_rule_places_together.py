"""Places are judged together for speed: each must hear what it would hear alone."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, replace
from datetime import date

import pytest

from tests.rules.book_of_rules import the_book
from walkaround.errors import PlaceError
from walkaround.exchange import Given, Held, Number, Pair, Verdict, Wanted, Yes
from walkaround.procedure.judging import judge_all
from walkaround.procedure.measuring import gauge_facts
from walkaround.quantity import quantity
from walkaround.rules.model import Vehicle

TRACTOR = Vehicle("tractor", 2, date(2016, 5, 31), 2, {"cut-out": quantity("125 psi")},
                  {"axle-1-left": "clamp 20"})  # fmt: skip


def _pair(name: str, first: str, second: str) -> tuple[str, Given]:
    return name, Given(f"s.{name}", Pair(quantity(first), quantity(second)), 1, 0)


WANTED = (
    Wanted("cut-out", (_pair("reading", "128 psi", "126 psi"),)),
    Wanted("warning-on", (_pair("reading", "63 psi", "57 psi"),)),
    Wanted(
        "loss-applied",
        (
            _pair("before", "120 psi", "120 psi"),
            _pair("start", "118 psi", "117 psi"),
            ("hold", Given("s.hold", Held(0, 60000), 1, 0)),
            _pair("end", "116 psi", "116 psi"),
        ),
    ),
    Wanted("stroke", (("reading", Given("s.st@axle-1-left", Number(quantity("1.8 in")), 1, 0)),)),
    Wanted("works-door", (("answer", Given("s.door", Yes(), 1, 0)),)),
    Wanted("no-such-measure", (("answer", Given("s.x", Yes(), 1, 0)),)),
)


def _judged(*places: str) -> tuple[Verdict, ...]:
    return judge_all(WANTED, the_book(), places, TRACTOR, gauge_facts(the_book()))


def test_every_place_hears_what_it_would_hear_alone() -> None:
    places = tuple(the_book().place_names)
    together = _judged(*places)
    for place in places:
        alone = sorted(_judged(place.lower()), key=repr)
        assert sorted((v for v in together if v.place == place), key=repr) == alone, place
    assert {type(verdict) for verdict in together} == {Verdict}


def test_a_verdict_stays_as_it_was_drawn() -> None:
    verdict = _judged("CA-ON")[0]
    with pytest.raises(FrozenInstanceError):
        verdict.place = "CA-QC"  # type: ignore[misc]
    assert hash(verdict) == hash(Verdict(*(getattr(verdict, at) for at in verdict.__slots__)))


def test_a_place_that_the_book_does_not_know_is_refused_before_anything_is_judged() -> None:
    with pytest.raises(PlaceError, match="did you mean CA-ON"):
        _judged("CA-ON", "CA-ONT")


def test_what_is_measured_for_some_places_is_judged_for_them_alone() -> None:
    """On a trip through both countries each measures strokes in a window of its own: 49 CFR 396
    App. A at 80 to 90 psi, Ontario at 90 to 100."""
    low = replace(WANTED[3], only=("US",))
    high = replace(WANTED[3], only=("CA-ON", "CA-QC"))
    gauge = gauge_facts(the_book())
    places = ("US-NY", "CA-ON", "CA-QC")
    verdicts = judge_all((low, high), the_book(), places, TRACTOR, gauge)
    assert [v.place for v in verdicts if v.rule == "us-federal.stroke-clamp-20"] == ["US-NY"]
    judged = {v.place for v in judge_all((low,), the_book(), places, TRACTOR, gauge)}
    assert judged == {"US-NY"}
    assert {v.place for v in judge_all((high,), the_book(), places, TRACTOR, gauge)} == {
        "CA-ON",
        "CA-QC",
    }
