"""Numbers in words, each with every value that it may mean, written out by hand.

Written against small changes of the code that no other test noticed (tests/mutation).  An empty
list means: no number, ask again.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

import pytest

from walkaround.exchange import AskKind, Question, Stake
from walkaround.quantity import Kind, Unit
from walkaround.speech import cardinals
from walkaround.speech.numbers import Readings, pair_readings, readings


def _question(kind: Kind, unit: Unit | None, high: int) -> Question:
    return Question("s.q", AskKind.NUMBER, Stake.READING, kind, unit, Decimal(0), Decimal(high))


PSI = _question(Kind.PRESSURE, Unit.PSI, 9999)
NO_UNIT = _question(Kind.PRESSURE, None, 9999)
INCH = _question(Kind.LENGTH, Unit.INCH, 100)
MILLIMETRE = _question(Kind.LENGTH, Unit.MILLIMETRE, 1000)
SECOND = _question(Kind.TIME, Unit.SECOND, 9999)
CELSIUS = _question(Kind.TEMPERATURE, Unit.CELSIUS, 400)
COUNT = Question("s.n", AskKind.COUNT, Stake.READING, None, None, Decimal(0), Decimal(9999))


def _values(found: Readings) -> list[str]:
    return sorted(" ".join(str(q) for q in each) for each in (*found.inside, *found.outside))


WHOLE: dict[str, Sequence[int]] = {
    "zero": [0], "oh": [], "five": [5], "ten": [10], "fifteen": [15], "ninety": [90],
    "ninety nine": [99], "five ninety": [590], "fifty fifty": [5050], "ten five": [],
    "one hundred": [100], "hundred": [100], "a hundred": [100], "hundred five": [105],
    "hundred and five": [105], "hundred oh five": [105], "hundred and oh five": [105],
    "hundred zero five": [105], "ten hundred": [], "eleven hundred": [1100],
    "nine hundred ninety nine": [999], "twenty hundred": [], "ninety nine hundred": [9900],
    "one thousand": [1000], "thousand": [1000], "a thousand": [1000], "nine thousand": [9000],
    "ten thousand": [], "one thousand and ten": [1010], "thousand one hundred": [1100],
    "one thousand one hundred and five": [1105], "two thousand zero": [2000],
    "one twenty": [120], "one oh five": [105], "one zero five": [105], "one five": [15],
    "one one five": [115], "zero eight five": [85], "oh eight five": [],
    "one two three four": [1234],
    "one two three four five": [], "ten fifty": [1050], "twelve oh five": [1205],
    "twelve zero five": [1205], "twelve ten": [1210], "twelve five": [], "ten oh five": [1005],
    "one ten": [110], "nine ninety nine": [999], "one hundred hundred": [], "five apples": [],
    "": [], "and": [], "one and five": [], "hundred and": [], "fifty five five": [],
}  # fmt: skip


@pytest.mark.parametrize("words", WHOLE)
def test_whole_numbers(words: str) -> None:
    assert sorted(cardinals.values(words.split())) == list(WHOLE[words])


FORMS: dict[int, Sequence[str]] = {
    0: ["zero"],
    7: ["seven"],
    10: ["ten", "one zero", "one oh"],
    42: ["forty two", "four two"],
    100: ["one hundred", "a hundred", "hundred", "one zero zero", "one oh oh"],
    101: ["one hundred one", "one hundred and one", "a hundred one", "a hundred and one",
          "hundred one", "hundred and one", "one oh one", "one zero one"],
    199: ["one hundred ninety nine", "one hundred and ninety nine", "a hundred ninety nine",
          "a hundred and ninety nine", "hundred ninety nine", "hundred and ninety nine",
          "one ninety nine", "one nine nine"],
    110: ["one hundred ten", "one hundred and ten", "a hundred ten", "a hundred and ten",
          "hundred ten", "hundred and ten", "one ten", "one one zero", "one one oh"],
    200: ["two hundred", "two zero zero", "two oh oh"],
    909: ["nine hundred nine", "nine hundred and nine", "nine oh nine", "nine zero nine"],
    1000: ["one thousand", "a thousand", "thousand", "one zero zero zero", "one oh oh oh"],
}  # fmt: skip


@pytest.mark.parametrize("number", FORMS)
def test_every_way_to_say_a_number(number: int) -> None:
    found = cardinals.forms(number)
    assert set(found) == set(FORMS[number])
    assert found[0] == FORMS[number][0]
    assert len(found) == len(set(found))


def test_a_long_row_is_no_number() -> None:
    row = ["one", "thousand", "nine", "hundred", "and", "ninety", "nine"]
    assert cardinals.values(row) == {1999}
    assert cardinals.values([*row, *row]) == frozenset()


AMOUNTS: tuple[tuple[Question, str, Sequence[str]], ...] = (
    (PSI, "one oh five", ["105 psi"]),
    (PSI, "seven hundred k p a", ["700 kPa"]),
    (PSI, "seven bar", ["7 bar"]),
    (PSI, "seven inches", []),
    (PSI, "one and a half", []),
    # decimals
    (PSI, "ninety eight point five", ["98.5 psi"]),
    (PSI, "ninety eight point oh five", ["98.05 psi"]),
    (PSI, "one point two five", ["1.25 psi"]),
    (PSI, "one point one two five", ["1.125 psi"]),
    (PSI, "one point one two five five", []),
    (PSI, "one point twenty five", ["1.25 psi"]),
    (PSI, "one point ten", ["1.10 psi"]),
    (PSI, "one point ninety nine", ["1.99 psi"]),
    (PSI, "one point one hundred", []),
    (PSI, "one point a hundred and five", []),
    (PSI, "point five", ["0.5 psi"]),
    (PSI, "one point", []),
    (PSI, "apple point five", []),
    # lengths
    (INCH, "half", ["0.5 in"]),
    (INCH, "a half", ["0.5 in"]),
    (INCH, "a quarter", ["0.25 in"]),
    (INCH, "three quarters", ["0.75 in"]),
    (INCH, "five eighths", ["0.625 in"]),
    (INCH, "eleven sixteenths", ["0.6875 in"]),
    (INCH, "eight eighths", []),
    (INCH, "nine eighths", []),
    (INCH, "apple eighths", []),
    (INCH, "one and three quarters", ["1.75 in"]),
    (INCH, "two three eighths", ["2.375 in"]),
    (INCH, "one and a half inches", ["1.5 in"]),
    (INCH, "an inch", ["1 in"]),
    (INCH, "an inch and a half", ["1.5 in"]),
    (INCH, "one inch and three quarters", ["1.75 in"]),
    (INCH, "one inch three quarters", ["1.75 in"]),
    (INCH, "two inches and five eighths", ["2.625 in"]),
    (INCH, "two inches five eighths", ["2.625 in"]),
    (INCH, "two inches half", ["2.5 in"]),
    (INCH, "two inches", ["2 in"]),
    (INCH, "two inches and", []),
    (INCH, "five eighths of an inch", ["0.625 in"]),
    (MILLIMETRE, "forty four", ["44 mm"]),
    (MILLIMETRE, "one and three quarters", []),
    (MILLIMETRE, "one and three quarters inches", ["1.75 in"]),
    # times
    (SECOND, "ninety", ["90 s"]),
    (SECOND, "a minute", ["60 s", "1 min"]),
    (SECOND, "one minute", ["60 s", "1 min"]),
    (SECOND, "two minutes five", ["125 s"]),
    (SECOND, "one minute and twenty seconds", ["80 s"]),
    (SECOND, "one minute one second", ["61 s"]),
    (SECOND, "one minute twenty", ["80 s"]),
    (SECOND, "one minute fifty nine", ["119 s"]),
    (SECOND, "one minute sixty", []),
    (SECOND, "a minute and five", ["65 s"]),
    # temperatures: "degrees" alone takes the question's own unit
    (CELSIUS, "two hundred degrees", ["200 °C"]),
    (CELSIUS, "two hundred degrees fahrenheit", ["200 °F"]),
    (CELSIUS, "two hundred", ["200 °C"]),
    # counts have no parts; their unit is written 1
    (COUNT, "four", ["4 1"]),
    (COUNT, "five", ["5 1"]),
    (COUNT, "four point five", []),
)


@pytest.mark.parametrize(("question", "words", "wanted"), AMOUNTS, ids=lambda part: str(part)[:40])
def test_amounts(question: Question, words: str, wanted: Sequence[str]) -> None:
    found = readings(words.split(), question)
    unique = set(_values(found))
    if question is SECOND and set(wanted) == {"60 s", "1 min"}:
        assert unique <= set(wanted)
        assert unique
        return
    assert unique == {str(text) for text in wanted}
    assert bool(found) is bool(wanted)


def test_a_number_that_has_to_be_said_with_its_unit() -> None:
    found = readings(["five"], NO_UNIT)
    assert (found.bare, bool(found), found.inside) == (True, True, ())
    assert _values(readings(["five", "psi"], NO_UNIT)) == ["5 psi"]
    pair = pair_readings(["five", "and", "six"], NO_UNIT)
    assert pair.bare is True
    assert _values(pair_readings(["five", "and", "six", "psi"], NO_UNIT)) == ["5 psi 6 psi"]
    assert _values(pair_readings(["five", "psi", "and", "six"], NO_UNIT)) == ["5 psi 6 psi"]


@pytest.mark.parametrize(
    ("kind", "truth"),
    [("inside", True), ("outside", True), ("bare", True), ("single", True), ("", False)],
)
def test_readings_are_something_when_anything_was_made_out(kind: str, truth: bool) -> None:
    held = {"inside": ((),), "outside": ((),), "bare": True, "single": True}
    assert bool(Readings(**({kind: held[kind]} if kind else {}))) is truth  # type: ignore[arg-type]


def test_the_gauges_own_ends_are_inside() -> None:
    question = _question(Kind.PRESSURE, Unit.PSI, 150)
    assert readings(["one", "fifty"], question).inside
    assert readings(["zero"], question).inside
    assert not readings(["one", "fifty", "one"], question).inside
    assert readings(["one", "fifty", "one"], question).outside


PAIRS: dict[str, Sequence[str]] = {
    "one ten and one oh five": ["110 psi 105 psi"],
    "primary one ten secondary one oh five": ["110 psi 105 psi"],
    "primary one ten and secondary one oh five": ["110 psi 105 psi"],
    "secondary one oh five primary one ten": ["110 psi 105 psi"],
    "one ten primary one oh five secondary": ["110 psi 105 psi"],
    "one ten primary and one oh five secondary": ["110 psi 105 psi"],
    "one oh five secondary one ten primary": ["110 psi 105 psi"],
    "both one ten": ["110 psi 110 psi"],
    "primary one ten": [],
    "one ten secondary": [],
    "one primary ten secondary five": [],
    "primary one ten primary one oh five": [],
    "one ten and": [],
    "and": [],
    "": [],
}


@pytest.mark.parametrize("words", PAIRS)
def test_pairs(words: str) -> None:
    question = _question(Kind.PRESSURE, Unit.PSI, 150)
    found = pair_readings(words.split(), question)
    assert [" ".join(str(q) for q in each) for each in found.inside] == list(PAIRS[words])


def test_one_number_is_no_pair() -> None:
    question = _question(Kind.PRESSURE, Unit.PSI, 150)
    assert pair_readings(["one", "twenty"], question) == Readings(single=True)
