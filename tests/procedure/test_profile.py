"""Vehicle profiles: what is read, what is refused, and which facts a script may ask for."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.procedure.shipped import SCRIPTS, profile
from walkaround.errors import ProfileError
from walkaround.procedure.profile import FACTS, load_profile
from walkaround.quantity import Unit, quantity

GOOD = b"""name: a truck
kind: truck
gauge-most: 10.5 bar
circuits: 1
brakes:
  - {at: axle-1-left, chamber: clamp 16}
  - {at: axle-1-right, chamber: clamp 16}
"""


def test_every_shipped_profile_loads_and_has_every_fact() -> None:
    names = sorted(path.stem for path in (SCRIPTS / "vehicles").glob("*.yaml"))
    assert names
    for name in names:
        facts = profile(name).facts()
        assert set(facts) == set(FACTS)
        for fact, values in facts.items():
            assert set(values) <= set(FACTS[fact]), (name, fact)


def test_a_short_profile_is_enough() -> None:
    loaded = load_profile(GOOD, "t.yaml")
    assert (loaded.gauge, loaded.gauge_most, loaded.dual) == (Unit.BAR, Decimal("10.5"), False)
    assert loaded.units == 1
    assert loaded.facts()["belt-width"] == ("unknown",)
    assert [brake.unit for brake in loaded.brakes] == [1, 1]


def test_sizes_keep_their_unit() -> None:
    assert profile("demo-truck").sizes["belt-width"] == quantity("0.5 in")
    assert profile("demo-truck-metric").reservoirs["supply"] == quantity("10 L")


def test_pressures_of_the_vehicle_go_on_its_own_gauge() -> None:
    """Four fifths of 125 psi are 100 psi, 689.48 kPa: marked at 690, never below it."""
    told = GOOD.replace(b"10.5 bar", b"1050 kPa") + b"cut-out: 125 psi\npressure-most: 8.5 bar\n"
    loaded = load_profile(told, "t.yaml")
    assert loaded.marks() == {"share": "690 kPa", "most": "850 kPa"}
    assert loaded.facts()["cut-out"] == loaded.facts()["pressure-most"] == ("known",)


def test_what_is_not_told_is_not_supposed() -> None:
    loaded = load_profile(GOOD, "t.yaml")
    assert loaded.marks() == {}
    assert loaded.facts()["pressure-most"] == ("unknown",)


def test_the_trailers_brakes_are_told_from_the_tractors() -> None:
    units = [brake.unit for brake in profile("demo-doubles").brakes]
    assert units == [1] * 6 + [2] * 4 + [3] * 4


@pytest.mark.parametrize(
    ("was", "now", "key", "line"),
    [
        (b"kind: truck", b"kind: van", "kind", 2),
        (b"10.5 bar", b"10.5 furlongs", "gauge-most", 3),
        (b"10.5 bar", b"10.5 s", "gauge-most", 3),
        (b"circuits: 1", b"circuits: 3", "circuits", 4),
        (b"circuits: 1", b"circuit: 1", "circuit", 4),
        (b"circuits: 1", b"trailers: 1", "trailers", 4),
        (b"circuits: 1", b"dolly: yes", "dolly", 4),
        (b"circuits: 1", b"built: last May", "built", 4),
        (b"circuits: 1", b"accessories: [piano]", "accessories", 4),
        (b"circuits: 1", b"belt-width: 3 psi", "belt-width", 4),
        (b"circuits: 1", b"reservoirs: {supply: 3 psi}", "supply", 4),
        (b"circuits: 1", b"reservoirs: {spare: 3 L}", "spare", 4),
        (b"axle-1-right", b"axle-1-left", "at", 7),
        (b"axle-1-right", b"axle 1 right", "at", 7),
        (b"clamp 16}\n  - {at: axle-1-right", b"clamp 16, unit: 2}\n  - {at: x", "brakes", 5),
        (b"kind: truck", b"kind: tractor", "trailers", 1),
        (b"name: a truck\n", b"", "name", 1),
    ],
)
def test_a_broken_profile_names_line_and_key(was: bytes, now: bytes, key: str, line: int) -> None:
    assert was in GOOD
    with pytest.raises(ProfileError) as caught:
        load_profile(GOOD.replace(was, now, 1), "t.yaml")
    assert (caught.value.key, caught.value.line, caught.value.file) == (key, line, "t.yaml")


def test_no_brakes_is_refused() -> None:
    with pytest.raises(ProfileError, match="no brakes"):
        load_profile(GOOD[: GOOD.index(b"brakes:")], "t.yaml")
