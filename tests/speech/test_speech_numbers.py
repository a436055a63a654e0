"""Numbers in words, both ways."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.speech.books import gauge, inches, seconds
from walkaround.exchange import AskKind, Question
from walkaround.quantity import Kind, Quantity, Unit
from walkaround.speech import cardinals
from walkaround.speech.numbers import pair_readings, readings
from walkaround.speech.saying import (
    digit_by_digit,
    for_the_ear,
    in_another_form,
    separating,
)


@pytest.mark.parametrize("hundreds", range(0, 1001, 100))
def test_every_spoken_form_means_its_number_from_0_to_1000(hundreds: int) -> None:
    for number in range(hundreds, min(hundreds + 100, 1001)):
        for form in cardinals.forms(number):
            assert number in cardinals.values(form.split()), form


def test_no_spoken_form_has_a_rival_from_0_to_1000() -> None:
    doubtful = {
        form: cardinals.values(form.split())
        for number in range(1001)
        for form in cardinals.forms(number)
        if len(cardinals.values(form.split())) > 1
    }
    assert doubtful == {}


@pytest.mark.parametrize("number", range(11, 100))
def test_digits_read_singly_are_never_a_clipped_hundred(number: int) -> None:
    """It is the form the program asks for when it cannot tell fifteen from fifty."""
    assert cardinals.values(cardinals.digits(number).split()) == {number}


@pytest.mark.parametrize(
    ("words", "value"),
    [
        # the forms that general number libraries refuse or take wrongly
        ("one oh five", 105),
        ("one zero five", 105),
        ("one twenty", 120),
        ("one eighteen", 118),
        ("a hundred", 100),
        ("six zero", 60),
        ("a hundred and five", 105),
        ("hundred and five", 105),
        ("one hundred five", 105),
        ("one hundred oh five", 105),
        ("twelve hundred", 1200),
        ("ten fifty", 1050),
        ("one thousand and thirty four", 1034),
        ("zero eight five", 85),
    ],
)
def test_forms_drivers_use(words: str, value: int) -> None:
    assert cardinals.values(words.split()) == {value}


@pytest.mark.parametrize(
    "words",
    [
        "oh",
        "oh five",
        "and",
        "hundred and",
        "thirty and six",
        "ten five",
        "twenty ten five",
        "twenty hundred",
        "five and",
        "a",
        "one a",
        "point",
        "mark",
    ],
)
def test_nonsense_means_nothing(words: str) -> None:
    assert cardinals.values(words.split()) == frozenset()


@given(st.lists(st.sampled_from(sorted(cardinals.WORDS)), max_size=7))
def test_any_row_of_number_words_stays_within_bounds(row: list[str]) -> None:
    assert all(0 <= value <= cardinals.LARGEST for value in cardinals.values(row))


def psi(value: str) -> tuple[Quantity, ...]:
    return (Quantity(Decimal(value), Unit.PSI),)


@pytest.mark.parametrize("said", ["one oh five", "one oh five p s i", "one oh five pounds"])
def test_a_unit_may_be_said(said: str) -> None:
    assert readings(said.split(), gauge()).inside == (psi("105"),)


def test_a_clipped_hundred_and_five_is_not_guessed_from_the_range() -> None:
    assert readings(["one", "five"], gauge()).inside == (psi("15"),)
    assert readings(["one", "five"], gauge(low="60")).inside == ()


def test_out_of_range_is_not_inside() -> None:
    found = readings(["two", "fifty"], gauge())
    assert found.inside == () and found.outside == (psi("250"),)


def test_another_unit_of_the_kind_is_taken_and_its_range_converted() -> None:
    found = readings(["seven", "point", "two", "bar"], gauge())
    assert found.inside == ((Quantity(Decimal("7.2"), Unit.BAR),),)
    too_high = readings(["eleven", "bar"], gauge())  # 159.5 psi
    assert too_high.inside == ()
    kpa = readings(["seven", "hundred", "k", "p", "a"], gauge())
    assert kpa.inside == ((Quantity(Decimal(700), Unit.KPA),),)


def test_a_unit_of_another_kind_is_no_reading() -> None:
    assert not readings(["ninety", "seconds"], gauge())


def test_without_any_unit_the_unit_is_asked_for() -> None:
    assert readings(["one", "ten"], gauge(unit=None)).bare


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("one and three quarters", "1.75"),
        ("two and a half", "2.5"),
        ("three sixteenths", "0.1875"),
        ("three quarters of an inch", "0.75"),
        ("an inch and a half", "1.5"),
        ("one inch and three quarters", "1.75"),
        ("two and three eighths inches", "2.375"),
        ("one seven eighths", "1.875"),
        ("half an inch", "0.5"),
        ("half", "0.5"),
        ("two point two five", "2.25"),
        ("two point twenty five", "2.25"),
        ("an inch", "1"),
    ],
)
def test_inches_with_fractions(said: str, value: str) -> None:
    found = readings(said.split(), inches())
    assert found.inside == ((Quantity(Decimal(value), Unit.INCH),),)


@pytest.mark.parametrize("sixteenths", range(1, 96))
def test_every_sixteenth_up_to_six_inches(sixteenths: int) -> None:
    whole, part = divmod(sixteenths, 16)
    if not part:
        return
    plural = "sixteenths" if part > 1 else "sixteenth"
    said = f"{cardinals.cardinal(whole)} and " if whole else ""
    said += f"{cardinals.cardinal(part)} {plural}"
    found = readings(said.split(), inches())
    assert found.inside == ((Quantity(Decimal(sixteenths) / 16, Unit.INCH),),)


def test_half_is_no_part_of_a_pressure() -> None:
    assert not readings(["ninety", "and", "a", "half"], gauge())


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("one minute and twenty seconds", 80),
        ("two minutes", 120),
        ("ninety seconds", 90),
        ("a minute", 60),
        ("forty five", 45),
    ],
)
def test_times(said: str, value: int) -> None:
    found = readings(said.split(), seconds()).inside
    sizes = {amount.base for (amount,) in found}
    assert sizes == {value}


PAIR = gauge(AskKind.PAIR)


@pytest.mark.parametrize(
    "said",
    [
        "primary one ten secondary one oh five",
        "secondary one oh five primary one ten",
        "one ten primary one oh five secondary",
        "primary one ten and secondary one oh five",
        "one ten and one oh five",
        "one ten one oh five",
        "one ten p s i one oh five p s i",
        "one hundred and ten one hundred and five",
    ],
)
def test_pairs(said: str) -> None:
    assert pair_readings(said.split(), PAIR).inside == (psi("110") + psi("105"),)


def test_both_says_one_number_for_two() -> None:
    assert pair_readings(["both", "one", "ten"], PAIR).inside == (psi("110") + psi("110"),)


def test_a_pair_that_can_be_cut_twice_gives_both() -> None:
    found = pair_readings(["ninety", "one", "hundred"], PAIR).inside
    assert set(found) == {psi("90") + psi("100"), psi("91") + psi("100")}


@pytest.mark.parametrize("words", ["ninety", "ninety five", "one twenty", "one oh five"])
def test_one_number_is_no_pair(words: str) -> None:
    """It may be one gauge's reading with the other forgotten: asked again, never split."""
    found = pair_readings(words.split(), PAIR)
    assert found.single
    assert not found.inside


def test_a_unit_said_once_counts_for_both() -> None:
    question = gauge(AskKind.PAIR, high="1050", unit=Unit.KPA)
    found = pair_readings(["one", "hundred", "p", "s", "i", "and", "ninety"], question)
    assert found.inside == (psi("100") + psi("90"),)


def test_a_pair_with_two_ands_can_be_cut_twice_and_is_asked_again() -> None:
    question = gauge(AskKind.PAIR, high="1050", unit=Unit.KPA)
    found = pair_readings(["seven", "hundred", "and", "seven", "twenty"], question).inside
    cuts = {(int(a.value), int(b.value)) for a, b in found}
    assert cuts == {(700, 720), (707, 20)}


@given(
    st.integers(60, 150),
    st.integers(60, 150),
    st.data(),
)
def test_a_named_pair_in_any_form_is_among_its_meanings(
    a: int, b: int, data: st.DataObject
) -> None:
    one = data.draw(st.sampled_from(cardinals.forms(a)))
    other = data.draw(st.sampled_from(cardinals.forms(b)))
    found = pair_readings(f"primary {one} secondary {other}".split(), PAIR)
    assert psi(str(a)) + psi(str(b)) in found.inside


def test_read_back_is_digit_by_digit() -> None:
    assert digit_by_digit(Quantity(Decimal(105), Unit.PSI)) == "one, zero, five P S I"
    assert digit_by_digit(Quantity(Decimal("1.75"), Unit.INCH)) == "one, point, seven, five inches"
    assert digit_by_digit(Quantity(Decimal("1E+2"), Unit.KPA)) == "one, zero, zero kilopascals"


@pytest.mark.parametrize(
    ("value", "unit", "heard", "said"),
    [
        ("105", Unit.PSI, "one oh five", "one hundred and five P S I"),
        ("105", Unit.PSI, "one zero five p s i", "one hundred and five P S I"),
        ("105", Unit.PSI, "a hundred and five", "one, zero, five P S I"),
        ("118", Unit.PSI, "one eighteen", "one, one, eight P S I"),
        ("15", Unit.PSI, "one five", "fifteen P S I"),
        ("15", Unit.PSI, "fifteen", "one, five P S I"),
        ("119", Unit.PSI, "primary one one eight secondary one one nine",
         "one hundred and nineteen P S I"),
        ("110", Unit.PSI, "primary one ten secondary one one nine", "one, one, zero P S I"),
        ("7.2", Unit.BAR, "seven point two bar", "seven and two tenths bar"),
        ("1.75", Unit.INCH, "one and three quarters", "one, point, seven, five inches"),
        ("1.75", Unit.INCH, "one point seven five", "one and seventy five hundredths inches"),
        ("0.1", Unit.BAR, "zero point one", "one tenth bar"),
        ("7", Unit.PSI, "seven", "seven P S I"),
        ("105", Unit.PSI, "", "one, zero, five P S I"),
    ],
)  # fmt: skip
def test_a_reading_comes_back_in_another_form_than_it_was_heard(
    value: str, unit: Unit, heard: str, said: str
) -> None:
    assert in_another_form(Quantity(Decimal(value), unit), heard) == said


@given(st.integers(10, 1000), st.data())
def test_the_form_that_comes_back_is_never_the_one_that_was_heard(
    number: int, data: st.DataObject
) -> None:
    heard = data.draw(st.sampled_from(cardinals.forms(number)))
    back = in_another_form(Quantity(Decimal(number), Unit.PSI), heard, with_unit=False)
    words = back.replace(",", "").replace(" and ", " ").split()
    assert words != [{"oh": "zero"}.get(w, w) for w in heard.split() if w != "and"]
    assert cardinals.values(words) == {number}


def test_rivals_are_said_twice_over() -> None:
    assert separating(Quantity(Decimal(15), Unit.PSI)) == "fifteen, one five P S I"
    assert separating(Quantity(Decimal(50), Unit.PSI)) == "fifty, five zero P S I"


@pytest.mark.parametrize(
    ("written", "spoken"),
    [
        ("at most 120 s", "at most one hundred and twenty seconds"),
        ("3.0 psi/min", "three point zero P S I per minute"),
        ("1 3/4 in", "one and three quarters inches"),
        ("FMVSS 121 S5.1.1", "F M V S S one hundred and twenty one S five point one point one"),
        ("85 psi.", "eighty five P S I."),
        ("1 psi", "one P S I"),
        ("up to 60", "up to sixty"),
    ],
)
def test_running_text_is_spelled_for_the_ear(written: str, spoken: str) -> None:
    assert for_the_ear(written) == spoken


def test_quantity_kinds_that_have_no_unit_said_are_refused() -> None:
    assert not readings(["five", "bar"], gauge(unit=Unit.INCH, quantity=Kind.LENGTH))


def test_a_fraction_without_a_unit_is_no_length_in_millimetres() -> None:
    question = Question(
        "s.q", AskKind.NUMBER, quantity=Kind.LENGTH, unit=Unit.MILLIMETRE, high=Decimal(150)
    )
    assert not readings(["one", "and", "three", "quarters"], question).inside
    assert readings(["forty", "five"], question).inside
