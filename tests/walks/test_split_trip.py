"""One trip through Ontario, Quebec and North Carolina: verdicts that split, and why."""

from __future__ import annotations

from functools import cache

import pytest

from tests.walks.stories import Story, Told, tell
from walkaround.exchange import Outcome, Verdict, Wording

TRIP = ("CA-ON", "CA-QC", "US-NC")


@cache
def _told(fault: str) -> Told:
    story = Story("straight-truck", "demo-truck", TRIP, (fault,), wording=Wording.FULL)
    return tell(story)


def _of(fault: str, step: str) -> dict[tuple[str, str], Verdict]:
    return {(v.place, v.rule): v for v in _told(fault).walk.state.verdicts[step]}


def test_a_governor_that_cuts_out_at_141_psi_splits_the_trip() -> None:
    """Ontario's range reaches to 145 psi; Quebec's to 945 kPa (137 psi), 49 CFR 570.57 to 135,
    North Carolina's handbook to 140."""
    found = _of("governor-high", "cut-out-first")
    assert found[("CA-ON", "ca-on.cut-out")].outcome is Outcome.MET
    assert found[("CA-QC", "ca-qc.cut-out")].outcome is Outcome.NOT_MET
    assert found[("US-NC", "us-nc.cut-out")].outcome is Outcome.NOT_MET
    said = [words for _, _, words in _told("governor-high").stage.said]
    assert any(words.startswith("Quebec: outside the limit") for words in said)
    assert any(words.startswith("Ontario: within the limit") for words in said)


def test_a_weak_compressor_is_found_in_every_place_of_the_trip() -> None:
    """North Carolina by the first climb, at operating speed; Ontario and Quebec by the timed one,
    at 600 to 900 rpm. Neither is left open by the other's engine speed."""
    first, timed = (_of("weak-compressor", step) for step in ("first-climb", "build-up-time"))
    assert first[("US-NC", "us-licence-manual.build-up-dual")].outcome is Outcome.NOT_MET
    assert timed[("CA-ON", "ca-on.build-up")].outcome is Outcome.NOT_MET
    assert timed[("CA-QC", "ca-qc.build-up")].outcome is Outcome.NOT_MET
    assert "climbed evenly and slowly" in timed[("CA-ON", "ca-on.build-up")].why


@pytest.mark.parametrize("place", TRIP)
def test_a_sound_compressor_is_not_left_open(place: str) -> None:
    walked = _told("governor-high").walk.state.verdicts
    climbs = [
        v
        for step in ("first-climb", "build-up-time")
        for v in walked[step]
        if v.place == place and v.rule and not v.rule.startswith("us-federal")
    ]
    assert climbs
    assert {v.outcome for v in climbs} == {Outcome.MET}


def test_a_slow_build_up_passes_ontario_and_fails_quebec() -> None:
    """The same climb: 85 to 100 psi within Ontario's 120 s, 350 to 620 kPa over Quebec's 180 s.
    The trade's three minutes stand beside Quebec's law."""
    timed = _of("slow-build-up", "build-up-time")
    assert timed[("CA-ON", "ca-on.build-up")].outcome is Outcome.MET
    assert timed[("CA-QC", "ca-qc.build-up")].outcome is Outcome.NOT_MET
    assert timed[("CA-QC", "trade-provinces.build-up")].standing == "common practice"
