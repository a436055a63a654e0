"""Simulated fleets: every planted habit is found, and honest drivers are let alone."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.audit.auditing import Audited, audited
from tests.audit.fleets import (
    Fleet,
    Habit,
    always,
    climbing_slower,
    copies,
    copies_most,
    drains_unchocked,
    hurries,
    leaking_more,
    leaves_out,
    rise_too_fast,
    rounds,
    trust_of,
    with_finding,
)
from walkaround.audit.looks import Topic

PLANTED = {
    0: (leaves_out("leak-applied"), "left-out"),
    1: (Habit("copies an earlier day", copies), "copies"),
    2: (Habit("copies the day before but for one", copies_most), "copies"),
    3: (Habit("rounds to fives", rounds), "fives"),
    4: (always("cut-in.reading", "100 psi, 100 psi"), "constant"),
    5: (Habit("is done in five minutes", record=hurries), "quick"),
    6: (Habit("drains before chocking", record=drains_unchocked), "order"),
    7: (Habit("calls a rise too fast", record=rise_too_fast), "rise"),
}
TRUCKS = {
    "truck 8": "recurring",
    "truck 9": "drift",
    "truck 10": "drift",
}
HONEST = range(11, 41)


@pytest.fixture(scope="module")
def planted(tmp_path_factory: pytest.TempPathFactory) -> Audited:
    """Thirty honest drivers among eleven with a habit, 25 walks each."""
    folder = tmp_path_factory.mktemp("fleet")
    fleet = Fleet(
        habits={n: habit for n, (habit, _) in PLANTED.items()}
        | {8: with_finding("leak-listened", "heard", "yes")},
        changes={9: leaking_more(0.5), 10: climbing_slower(1.0)},
        drivers=41,
        walks=25,
    )
    trust = fleet.write(folder / "tree")
    return audited(folder / "tree", folder / "cache", trust, journals=False, processes=2)


@pytest.mark.parametrize("driver", PLANTED)
def test_every_planted_habit_is_found(planted: Audited, driver: int) -> None:
    habit, sort = PLANTED[driver]
    assert sort in planted.sorts(f"driver {driver}"), habit.name


@pytest.mark.parametrize("truck", TRUCKS)
def test_what_happens_to_a_truck_is_found(planted: Audited, truck: str) -> None:
    assert TRUCKS[truck] in planted.sorts(truck)


def test_nobody_else_is_named(planted: Audited) -> None:
    """At most one false look in 1 000 honest walks: among these 750, none."""
    false = [look for look in planted.looks if look.who in {f"driver {n}" for n in HONEST}]
    assert false == []
    wrong = {f"truck {n}" for n in (*HONEST, *(n for n in PLANTED if n != 4))}
    assert [look for look in planted.looks if look.vehicle in wrong and not look.who] == []


def test_each_look_rests_on_records_that_are_there(planted: Audited) -> None:
    assert planted.looks
    for look in planted.looks:
        assert look.walks
        for walk in look.walks:
            assert Path(planted.refs[walk].path).is_file()


def test_looks_are_worded_as_reasons_to_look(planted: Audited) -> None:
    for look in planted.looks:
        told = set(re.findall(r"[a-z]+", f"{look.says} {look.why}".lower()))
        assert not told & {"cheat", "cheats", "fraud", "lie", "lies", "fake", "guilty", "safe"}
    topics = [look.topic for look in planted.looks]
    assert topics == sorted(topics, key=list(Topic).index)


def test_a_drift_has_its_beginning_and_its_forecast(planted: Audited) -> None:
    (leak,) = [look for look in planted.looks if look.vehicle == "truck 9"]
    assert "psi/min a week, since about 2026-" in leak.says
    assert "3 psi/min" in leak.why


def test_honest_fleets(tmp_path: Path) -> None:
    """Two fleets of 340 honest walks with other dice: nothing stands out."""
    for seed in (11, 12):
        tree = tmp_path / str(seed)
        Fleet(drivers=17, walks=20, seed=seed).write(tree)
        found = audited(tree, tmp_path / f"cache-{seed}", trust_of(17), journals=False)
        assert found.audits[0].evidence.walks == 340
        assert found.looks == []


def test_what_was_verified_once_is_not_verified_again(tmp_path: Path) -> None:
    """By content and trust list: another name or time changes nothing, another list does."""
    tree, cache = tmp_path / "tree", tmp_path / "cache"
    trust = Fleet(drivers=2, walks=5).write(tree)
    first = audited(tree, cache, trust)
    (tree / "0000").rename(tree / "renamed")
    again = audited(tree, cache, trust)
    assert (first.verified_before, again.verified_before) == (0, 10)
    assert [audit.evidence.walks for audit in again.audits] == [10]
    fewer = audited(tree, cache, trust_of(1))
    assert fewer.verified_before == 0
    assert [audit.evidence.walks for audit in fewer.audits] == [5]
    assert fewer.looked == {"not trusted": 5, "trusted": 5}


def test_walks_that_are_gone_are_not_audited(tmp_path: Path) -> None:
    tree, cache = tmp_path / "tree", tmp_path / "cache"
    trust = Fleet(drivers=2, walks=5).write(tree)
    audited(tree, cache, trust)
    (tree / "0001" / "1-0001-0000" / "record.jws").unlink()
    assert audited(tree, cache, trust).audits[0].evidence.walks == 9


def test_two_processes_find_what_one_does(tmp_path: Path) -> None:
    tree = tmp_path / "tree"
    trust = Fleet(habits={0: leaves_out("leak-applied")}, drivers=9, walks=50).write(tree)
    one = audited(tree, tmp_path / "one", trust)
    two = audited(tree, tmp_path / "two", trust, processes=2)
    assert [(look.sort, look.who, look.says) for look in one.looks] == [
        (look.sort, look.who, look.says) for look in two.looks
    ]
    assert one.audits[0].evidence.walks == two.audits[0].evidence.walks == 450
