"""`walkaround rules`: places side by side, a step, a value, and why a rule leaves things open."""

from __future__ import annotations

import argparse

import pytest

from walkaround.cli import rules
from walkaround.errors import PlaceError, UsageError


def _printed(capsys: pytest.CaptureFixture[str], *arguments: str) -> list[str]:
    parser = argparse.ArgumentParser()
    rules.add(parser)
    assert rules.run(parser.parse_args(list(arguments))) == 0
    return capsys.readouterr().out.splitlines()


TRIP = ("--place", "CA-ON", "--place", "CA-QC", "--place", "US-NC")


def test_places_stand_side_by_side_measure_by_measure(capsys: pytest.CaptureFixture[str]) -> None:
    lines = _printed(capsys, *TRIP, "--measure", "build-up")
    assert lines[0] == "build-up:"
    assert lines[1] == (
        "  CA-ON: equal to or less than 120 s, 85 psi / 587 kPa to 100 psi / 690 kPa, "
        "600 to 900 rpm [ca-on.build-up]"
    )
    quebec = [line for line in lines if line.startswith("  CA-QC")]
    assert len(quebec) == 2  # the law, and the trade's rule beside it
    assert quebec[1].endswith("common practice [trade-provinces.build-up]")


def test_a_hole_is_shown_as_one(capsys: pytest.CaptureFixture[str]) -> None:
    lines = _printed(capsys, *TRIP, "--measure", "reserve")
    assert "  CA-ON: no rule in the book" in lines
    assert any(line.startswith("  US-NC: not more than 20 %") for line in lines)
    alone = _printed(capsys, "--place", "CA-ON", "--measure", "reserve")
    assert alone == ["Ontario: no rule in the book for reserve"]


def test_a_value_is_told_by_every_limit(capsys: pytest.CaptureFixture[str]) -> None:
    """57 psi: North Carolina and Ontario pass it, FMVSS 121 does not."""
    lines = _printed(capsys, *TRIP, "--measure", "warning-on", "--value", "57 psi")
    told = {line.rpartition("[")[2][:-1]: line for line in lines[1:]}
    assert "57 psi is within it" in told["ca-on.warning-on"]
    assert "57 psi is within it" in told["us-nc.warning-on"]
    assert "57 psi is outside it" in told["us-federal.warning-on"]
    assert "57 psi is left open" in told["us-federal.warning-on-older"]


def test_what_california_replaces_is_not_compared(capsys: pytest.CaptureFixture[str]) -> None:
    lines = _printed(capsys, "--place", "US-CA", "--place", "US-OH", "--measure", "cut-out")
    assert not [x for x in lines if x.startswith("  US-CA") and "us-licence-manual" in x]
    assert [x for x in lines if x.startswith("  US-OH") and "us-licence-manual" in x]


def test_a_step_shows_what_judges_it(capsys: pytest.CaptureFixture[str]) -> None:
    lines = _printed(capsys, "--place", "CA-QC", "--step", "stroke-applied")
    assert any(line.startswith("  stroke: not more than 2 in, for clamp 30") for line in lines)
    assert any(line.startswith("  strokes-beyond: less than 20 %") for line in lines)
    climb = _printed(capsys, "--place", "US", "--step", "first-climb")
    assert any("within 45 s" in line for line in climb)


@pytest.mark.parametrize(
    ("place", "said"),
    [
        (
            "AU-WA",
            "open: it is timed only where the vehicle's profile tells its governor's cut-out",
        ),
        ("NZ", "tells its maximum operating pressure"),
        ("NZ", "open: the text times from 'the pressure that five full applications leave'"),
        ("US", "open: only a value within it shows something: this build standard is for"),
        ("US", "open: the text says 'about' and draws no line"),
    ],
)
def test_why_a_rule_leaves_things_open(
    capsys: pytest.CaptureFixture[str], place: str, said: str
) -> None:
    lines = _printed(capsys, "--place", place)
    assert any(said in line for line in lines)


def test_one_rule_whole(capsys: pytest.CaptureFixture[str]) -> None:
    text = " ".join(_printed(capsys, "--rule", "au-wa.build-up"))
    assert "left open: it is timed only where the vehicle's profile tells its governor" in text
    assert "standing: published" in text


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--step", "nope"), "no step 'nope' is judged; there is: "),
        (("--measure", "nope"), "no rule has the measure 'nope'; there is: "),
        (("--value", "57 psi"), "a value is of something"),
        (("--measure", "warning-on", "--value", "57"), "give the unit with it"),
        (("--rule", "nope"), "no rule is called 'nope'"),
    ],
)
def test_what_does_not_exist_is_refused_in_a_sentence(
    arguments: tuple[str, ...], said: str
) -> None:
    parser = argparse.ArgumentParser()
    rules.add(parser)
    with pytest.raises(UsageError, match=said.replace("'", ".")):
        rules.run(parser.parse_args(list(arguments)))


def test_a_place_that_nobody_knows_is_refused_with_the_nearest() -> None:
    parser = argparse.ArgumentParser()
    rules.add(parser)
    with pytest.raises(PlaceError, match=r"CA-ON \(Ontario\)"):
        rules.run(parser.parse_args(["--place", "Ontaro"]))
