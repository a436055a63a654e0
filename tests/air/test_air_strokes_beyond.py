"""The share of brakes beyond their limits, its sentence, and what leaves it open."""

from __future__ import annotations

import pytest

from walkaround.air.measured import GaugeFacts, UndeterminedError
from walkaround.air.strokes import strokes_beyond
from walkaround.exchange import Given, Number
from walkaround.quantity import Unit, quantity

GAUGE = GaugeFacts(quantity("0.5 psi"), quantity("0.1 s"))
PROCEDURE = {"beyond": "0.25 in", **{f"limit@{name}": "2 in" for name in "abcd"}}


def strokes(*sizes: str) -> dict[str, Given | None]:
    return {
        name: Given(f"s.{name}", Number(quantity(size)), 1, 0)
        for name, size in zip("abcd", sizes, strict=False)
    }


@pytest.mark.parametrize(
    ("sizes", "percent", "said"),
    [
        (("2.24 in", "1 in", "2 in", "2 in"), 0, "0 of 4 brakes"),
        (("2.25 in", "1 in", "2 in", "2 in"), 25, "1 of 4 brakes: a"),
        (("2.5 in", "1 in", "2 in", "3 in"), 50, "2 of 4 brakes: a, d"),
    ],
)
def test_the_share_and_which(sizes: tuple[str, ...], percent: int, said: str) -> None:
    found = strokes_beyond(strokes(*sizes), PROCEDURE, GAUGE)
    assert found.value == quantity(f"{percent} %")
    assert found.value.unit is Unit.PERCENT
    assert found.why == said


@pytest.mark.parametrize(
    ("inputs", "procedure", "told"),
    [
        ({}, PROCEDURE, "every stroke is missing"),
        (strokes("1 in"), {"limit@a": "2 in"}, "the rule names no excess over the limit"),
        (strokes("1 in", "1 in"), {"beyond": "0.25 in", "limit@a": "2 in"},
         "no limit is known for the chamber at 'b'"),
    ],
)  # fmt: skip
def test_what_leaves_it_open_is_said(
    inputs: dict[str, Given | None], procedure: dict[str, str], told: str
) -> None:
    with pytest.raises(UndeterminedError) as bad:
        strokes_beyond(inputs, procedure, GAUGE)
    assert str(bad.value) == told
