"""The engine speed that the script asks for is the one that judging takes the climb to be at."""

from __future__ import annotations

from datetime import date

import pytest

from tests.rules.book_of_rules import the_book
from tests.walks.stories import library
from walkaround.cli.material import files_from_library, script_of
from walkaround.exchange import AskKind, Wording
from walkaround.procedure.expand import plan_for
from walkaround.procedure.profile import load_profile
from walkaround.rules.model import Vehicle
from walkaround.rules.speed import climb_speed, first_climb_speed, slower

SAID = {
    "600 to 900 rpm": "between 600 and 900 turns",
    "idle at 600 to 900 rpm": "between 600 and 900 turns",
    "fast idle around 1200 rpm": "at about 1200 turns",
    "not over 1200 rpm on average": "not above 1200 turns",
    "fast idle": "at a fast idle",
    "operating rpm": "at operating speed",
    "": "at operating speed",  # no text of the trip names one
}
TRIPS = (
    ("CA-ON",), ("CA-QC",), ("CA-AB",), ("CA-BC",), ("CA-NL",), ("US",), ("US-OH",), ("US-NV",),
    ("CA-ON", "CA-QC"), ("CA-ON", "CA-AB"), ("US-OH", "CA-ON"), ("US-NV", "CA-ON"),
    ("US-NV", "US-CA"), ("US-NC", "CA-QC", "CA-ON"), ("CA-QC", "US-OH"), ("NZ",), ("AU-WA",),
)  # fmt: skip


@pytest.mark.parametrize("places", TRIPS, ids="+".join)
@pytest.mark.parametrize("circuits", [1, 2])
def test_the_climb_is_asked_at_the_speed_it_is_judged_by(
    places: tuple[str, ...], circuits: int
) -> None:
    files = files_from_library(library(), "straight-truck", "demo-truck")
    content = files["vehicles"]["vehicle"].content.replace(
        b"circuits: 2", f"circuits: {circuits}".encode()
    )
    profile = load_profile(content, "demo-truck.yaml")
    plan = plan_for(script_of(files, "straight-truck"), profile, places)
    (rise,) = (a for step in plan.steps for a in step.asks if a.kind is AskKind.RISE)
    vehicle = Vehicle("truck", 1, date(2016, 5, 31), circuits)
    rules = [rule for _, rule in the_book().rules_for(places, "build-up", vehicle)]
    speed = climb_speed(rules)
    assert SAID[speed.words if speed else ""] in rise.texts[Wording.FULL]


@pytest.mark.parametrize(
    ("places", "timed", "first"),
    [
        (["US-OH", "CA-ON"], "600 to 900 rpm", "operating rpm"),
        (["US-NV"], "fast idle", "operating rpm"),
        (["CA-ON", "CA-QC"], "600 to 900 rpm", "600 to 900 rpm"),
    ],
)
def test_two_climbs_of_one_walk(places: list[str], timed: str, first: str) -> None:
    vehicle = Vehicle("truck", 1, date(2016, 5, 31), 2)
    rules = [rule for _, rule in the_book().rules_for(places, "build-up", vehicle)]
    speeds = climb_speed(rules), first_climb_speed(rules)
    assert [speed.words for speed in speeds if speed] == [timed, first]


@pytest.mark.parametrize(
    ("places", "rule", "expected"),
    [
        (["CA-ON", "CA-AB"], "ca-ab.build-up", -1),
        (["CA-ON", "CA-AB"], "ca-on.build-up", 0),
        (["CA-ON", "CA-QC"], "ca-qc.build-up", 0),
        (["CA-AB", "CA-QC"], "ca-ab.build-up", 0),
        (["CA-AB", "CA-QC"], "ca-qc.build-up", 0),
        (["CA-ON", "US-OH"], "us-licence-manual.build-up-dual", -1),
        (["CA-ON", "CA-BC"], "ca-bc.build-up", 0),
        (["CA-ON", "US-OH"], "us-federal.build-up", 0),  # judged at whatever speed, one way
    ],
)
def test_slower_or_faster_than_meant(places: list[str], rule: str, expected: int) -> None:
    vehicle = Vehicle("truck", 1, date(2016, 5, 31), 2)
    rules = [each for _, each in the_book().rules_for(places, "build-up", vehicle)]
    assert slower(climb_speed(rules), the_book().rule(rule)) == expected
