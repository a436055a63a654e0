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


@pytest.mark.parametrize(
    ("measure", "value", "why"),
    [
        ("build-up", "-5 s", "below nothing"),
        ("warning-on", "5_7 psi", "is not a number and a unit"),
        ("warning-on", "1e3 psi", "is not a number and a unit"),
        ("warning-on", "57", "is not a number and a unit"),
        ("warning-on", "57 furlongs", "is not a number and a unit"),
        ("warning-on", "", "is not a number and a unit"),
        ("warning-on", "57 in", "'57 in' is a length, and 'warning-on' is judged as a pressure"),
        ("loss-applied", "2 psi", "is a pressure, and 'loss-applied' is judged as a rate"),
        ("works-park-hold", "57 psi", "answered in words"),
        ("", "57 psi", "a value is of something"),
    ],
)
def test_a_value_that_the_measure_cannot_have_is_refused(
    capsys: pytest.CaptureFixture[str], measure: str, value: str, why: str
) -> None:
    with pytest.raises(UsageError, match=why):
        _printed(capsys, "--measure", measure, f"--value={value}")


def test_a_unit_may_be_written_large_or_close(capsys: pytest.CaptureFixture[str]) -> None:
    plain = _printed(capsys, "--measure", "warning-on", "--value", "57 psi")
    for value in ("57 PSI", "57psi", " 57  Psi "):
        assert _printed(capsys, "--measure", "warning-on", "--value", value) == plain


def test_a_place_that_is_given_twice_is_shown_once(capsys: pytest.CaptureFixture[str]) -> None:
    once = _printed(capsys, "--place", "CA-ON", "--measure", "build-up")
    for again in (("CA-ON",), ("ca-on", "CA-ON")):
        twice = [word for place in again for word in ("--place", place)]
        assert _printed(capsys, "--place", "CA-ON", *twice, "--measure", "build-up") == once


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
