"""The scripts as shipped: sound, whole, and in the order that was argued for.

The order and the names are the four merged orders (straight truck, tractor and one trailer,
tractor and two trailers, bus), made from the published procedures named in
`published_orders.yaml`.
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from tests.procedure.shipped import files, plan, profile, script
from tests.rules.book_of_rules import the_book
from walkaround.procedure.cards import read_cards
from walkaround.procedure.check import check_plan, check_script, walk_on_paper
from walkaround.procedure.report import report
from walkaround.rules.model import Vehicle
from walkaround.sheet import read_sheet

SHIPPED = (
    ("straight-truck", "demo-truck"),
    ("straight-truck", "demo-truck-metric"),
    ("tractor-trailer", "demo-tractor"),
    ("tractor-trailer", "demo-doubles"),
    ("bus", "demo-bus"),
)
TRIPS = (["CA-ON"], ["US"], ["US-CA"], ["CA-BC"], ["CA-AB"], ["CA-SK"], ["CA-NL"], ["CA-QC"],
         ["NZ"], ["CA-ON", "US"], ["CA-ON", "CA-QC"])  # fmt: skip

_OPENING = "level-and-park wheels-chocked nobody-near vehicle-facts compressor-look air-lines-look"
_CLIMB = (
    "wheel-brakes-look check-valve-hold tanks-drained key-on-lamps engine-start "
    "warning-off-rising first-climb cut-out-first park-released"
)
_COUPLINGS = (
    "trailer-brakes-on-by-valve service-coupling-closed lines-rejoined supply-line-parted "
    "lines-rejoined-after-breakaway"
)
_DOWN = (
    "cut-in cut-out leak-released reserve-one-application leak-applied leak-listened "
    "stroke-window stroke-applied warning-on-falling"
)
_UP = "park-valve-closes build-up-time cut-out-again accessories-air"
_UP_WITH_TRAILER = (
    "supply-valve-closes park-valve-closes trailer-brakes-seen-on build-up-time cut-out-again"
)
_MOVING = "ready-to-move chocks-away park-hold-power-unit"
_TRAILER_MOVING = "park-hold-trailer trailer-hand-valve-stop"
_END = "service-stop sum-up"

MERGED = {
    "demo-truck": (_OPENING, _CLIMB, _DOWN, _UP, _MOVING, _END),
    "demo-tractor": (_OPENING, "couplings-look", _CLIMB, "trailer-charged", _COUPLINGS, _DOWN,
                     _UP_WITH_TRAILER, _MOVING, _TRAILER_MOVING, _END),
    "demo-doubles": (_OPENING, "couplings-look rear-shut-off-valves", _CLIMB, "trailer-charged",
                     "flow-to-rear", _COUPLINGS, _DOWN, _UP_WITH_TRAILER, _MOVING,
                     _TRAILER_MOVING, _END),
    "demo-bus": (_OPENING, _CLIMB, _DOWN, _UP, "door-interlock", _MOVING, _END),
}  # fmt: skip


@pytest.mark.parametrize("name", ["straight-truck", "tractor-trailer", "bus"])
def test_nothing_is_wrong_with_what_is_written(name: str) -> None:
    assert [str(error) for error in check_script(script(name))] == []


@pytest.mark.parametrize(("name", "vehicle"), SHIPPED)
@pytest.mark.parametrize("places", TRIPS, ids="+".join)
def test_every_step_can_be_reached(name: str, vehicle: str, places: Sequence[str]) -> None:
    found = check_plan(script(name), profile(vehicle), places)
    assert [str(error) for error in found] == []


@pytest.mark.parametrize("vehicle", MERGED)
def test_the_merged_order_is_in_the_plan(vehicle: str) -> None:
    name = {v: n for n, v in SHIPPED}[vehicle]
    steps = [step.id for step in plan(name, vehicle, ["US"]).steps]
    wanted = " ".join(MERGED[vehicle]).split()
    assert [step for step in steps if step in wanted] == wanted


@pytest.mark.parametrize(
    ("place", "asked"),
    [
        # Newfoundland and Labrador and Saskatchewan part the service line too and pull the
        # adjusters by hand; Ontario closes the valve instead of parting the supply line.
        ("CA-NL", {"supply-line-parted", "service-line-parted", "free-stroke-by-pull"}),
        ("CA-SK", {"supply-line-parted", "service-line-parted", "free-stroke-by-pull"}),
        ("CA-BC", {"free-stroke-by-pull"}),
        ("CA-AB", {"supply-line-parted"}),
        ("CA-ON", set()),
    ],
)
def test_a_place_adds_the_steps_that_it_asks_for(place: str, asked: set[str]) -> None:
    optional = {"supply-line-parted", "service-line-parted", "free-stroke-by-pull"}
    steps = {step.id for step in plan("tractor-trailer", "demo-tractor", [place]).steps}
    assert steps & optional == asked


def test_every_card_is_used_by_some_script() -> None:
    used = {
        place.card.id
        for name in ("straight-truck", "tractor-trailer", "bus")
        for place in script(name).order
    }
    written = {
        card.id
        for path, content in files().items()
        if path.startswith("steps/")
        for card in read_cards(read_sheet(content, path).items["steps"])  # type: ignore[arg-type]
    }
    assert used == written


def test_nothing_needs_more_than_six_acts() -> None:
    for name, vehicle in SHIPPED:
        for places in TRIPS:
            for step, acts in walk_on_paper(plan(name, vehicle, places)):
                assert acts is not None
                assert len(acts) <= 6, (step.id, acts)


def test_the_report_counts_trips_and_time() -> None:
    single = report(plan("straight-truck", "demo-truck", ["US"]))
    double = report(plan("tractor-trailer", "demo-doubles", ["US"]))
    assert 0 < single.trips < double.trips
    assert single.shortest_s < single.expected_s < single.longest_s
    assert single.expected_s < double.expected_s
    assert "trips" in single.lines()[1]


def test_no_file_is_longer_than_a_person_reads() -> None:
    for path, content in files().items():
        assert content.count(b"\n") <= 400, path


PLACES = sorted(
    {trip[0] for trip in TRIPS} | {"US-NC", "US-NV", "CA-NU", "CA-MB", "CA-NB", "AU-WA"}
)


@pytest.mark.parametrize("place", PLACES)
def test_what_counts_the_first_fall_has_a_reading_before_the_pedal(place: str) -> None:
    """A rule that does not leave the first fall out needs the reading before the pedal; one that
    holds longer than a minute needs the second reading."""
    truck = Vehicle("truck", 1, circuits=2)
    rules = the_book().rules_for([place], "loss-applied", truck)
    counts = any(rule.procedure.get("settling") != "excluded" for _, rule in rules)
    longest = max((int(rule.procedure.get("hold_s", "0")) for _, rule in rules), default=0)
    asked = {
        ask.id for ask in plan("straight-truck", "demo-truck", [place]).step("leak-applied").asks
    }
    assert ("before" in asked) is counts
    assert ({"longer", "later"} <= asked) is (longest > 60)
