"""What the driver says is what the product understands: every reading in every form."""

from __future__ import annotations

from decimal import Decimal
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.simulated.trial import phrases
from walkaround.exchange import AskKind, Number, Pair, Question
from walkaround.quantity import Kind, Quantity, Unit
from walkaround.simulated import saying
from walkaround.speech.meanings import meant_by

PSI = Question(
    "q", AskKind.NUMBER, quantity=Kind.PRESSURE, unit=Unit.PSI, low=Decimal(0), high=Decimal(150)
)
PAIR = Question(
    "q", AskKind.PAIR, quantity=Kind.PRESSURE, unit=Unit.PSI, low=Decimal(0), high=Decimal(150)
)
KPA = Question(
    "q", AskKind.NUMBER, quantity=Kind.PRESSURE, unit=Unit.KPA, low=Decimal(0), high=Decimal(1050)
)
INCH = Question(
    "q", AskKind.NUMBER, quantity=Kind.LENGTH, unit=Unit.INCH, low=Decimal(0), high=Decimal(6)
)
BOOK = phrases()


@pytest.mark.parametrize("value", range(151))
def test_a_reading_in_psi_is_understood_in_every_form(value: int) -> None:
    for words in saying.forms(value):
        meant = meant_by(words.split(), PSI, BOOK)
        assert meant.meanings == (Number(Quantity(Decimal(value), Unit.PSI)),), words


@pytest.mark.parametrize("value", range(0, 1051, 10))
def test_a_reading_in_kilopascals_is_understood_in_every_form(value: int) -> None:
    for words in saying.forms(value):
        meant = meant_by(words.split(), KPA, BOOK)
        assert Number(Quantity(Decimal(value), Unit.KPA)) in meant.meanings, words


@given(primary=st.integers(5, 150), secondary=st.integers(5, 150), seed=st.integers(0, 99))
def test_a_pair_is_understood(primary: int, secondary: int, seed: int) -> None:
    dice = Random(seed)
    words = f"primary {saying.whole(primary, dice)} secondary {saying.whole(secondary, dice)}"
    wanted = Pair(Quantity(Decimal(primary), Unit.PSI), Quantity(Decimal(secondary), Unit.PSI))
    assert meant_by(words.split(), PAIR, BOOK).meanings == (wanted,)


@pytest.mark.parametrize("sixteenths", range(1, 49))
@pytest.mark.parametrize("plainly", [True, False])
def test_a_stroke_is_understood(sixteenths: int, plainly: bool) -> None:
    """Said again plainly it has one meaning; the first time it may have a rival, to be asked."""
    words = saying.length(sixteenths / 16, saying.Again.PLAINLY if plainly else Random(0))
    meanings = meant_by(words.split(), INCH, BOOK).meanings
    values = [m.value.value for m in meanings if isinstance(m, Number)]
    assert Decimal(sixteenths) / 16 in values
    if plainly:
        assert len(values) == 1


def test_the_usual_forms() -> None:
    assert saying.forms(105) == (
        "one oh five",
        "one oh five",
        "one hundred and five",
        "one hundred five",
    )
    assert saying.forms(100) == ("one hundred", "a hundred")
    assert saying.forms(860)[0] == "eight sixty"
    assert saying.decimals(Decimal("8.6")) == "eight point six"
    assert saying.length(1.625, Random(1)) == "one and five eighths"
