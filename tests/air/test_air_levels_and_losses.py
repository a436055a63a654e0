"""Leakage, levels, reserve and answers in words."""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal

import pytest

from tests.rules.book_of_rules import the_book
from walkaround.air.levels import COUNTS
from walkaround.air.measured import Measured
from walkaround.air.measures import MEASURES, YES_MEANS, form, known
from walkaround.exchange import (
    Answer,
    Choice,
    Count,
    Given,
    Held,
    Mark,
    No,
    NotDone,
    Number,
    Pair,
    Yes,
)
from walkaround.procedure.measuring import gauge_facts
from walkaround.quantity import Quantity, Unit, quantity

GAUGE = gauge_facts(the_book())


def _read(text: str) -> Answer:
    parts = [quantity(part) for part in text.split(" | ")]
    return Pair(*parts) if len(parts) > 1 else Number(parts[0])


def _inputs(**answers: Answer | str) -> dict[str, Given | None]:
    return {
        name: Given(f"s.{name}", _read(a) if isinstance(a, str) else a, 1, 0)
        for name, a in answers.items()
    }


def _loss(
    answers: Mapping[str, Answer | str], measure: str = "loss-released", settling: str = "excluded"
) -> Measured:
    whole = {"hold": Held(0, 60000), **answers}
    return form(measure, _inputs(**whole), {"settling": settling, "hold_s": "60"}, GAUGE)


def test_the_worse_circuit_counts() -> None:
    measured = _loss({"start": "120 psi | 121 psi", "end": "119 psi | 118 psi"})
    assert measured.value == Quantity(Decimal(3), Unit.PSI_PER_MIN)


@pytest.mark.parametrize(
    ("seconds", "fall", "rate"),
    [(60, 3, "3"), (60.9, 3, "3"), (90, 3, "2"), (120, 6, "3"), (180, 6, "2")],
)
def test_any_hold_comes_down_to_a_minute(seconds: float, fall: int, rate: str) -> None:
    hold = Held(5000, 5000 + round(seconds * 1000))
    measured = _loss({"start": "120 psi", "end": f"{120 - fall} psi", "hold": hold})
    assert measured.value == Quantity(Decimal(rate), Unit.PSI_PER_MIN)


def test_mixed_units_are_subtracted_by_size() -> None:
    measured = _loss({"start": "8.30 bar | 8.30 bar", "end": "810 kPa | 820 kPa"})
    assert measured.value == Quantity(Decimal("0.2"), Unit.BAR_PER_MIN)


def test_settling_is_counted_as_the_text_says() -> None:
    answers: dict[str, Answer | str] = {"before": "120 psi", "start": "113 psi", "end": "112 psi"}
    excluded = _loss(answers, "loss-applied", "excluded")
    included = _loss(answers, "loss-applied", "included")
    silent = _loss(answers, "loss-applied", "not said")
    assert excluded.value == Quantity(Decimal(1), Unit.PSI_PER_MIN)
    assert included.value == Quantity(Decimal(8), Unit.PSI_PER_MIN)
    assert (silent.value, silent.other) == (excluded.value, included.value)


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ({"start": "120 psi", "end": "118 psi", "hold": Held(0, 59999)}, "too short"),
        (
            {"start": "120 psi", "end": "118 psi", "hold": Held(0, 60000, gap=True)},
            "sound was lost",
        ),
        ({"start": "118 psi", "end": "120 psi"}, "the pressure rose"),
        ({"start": "118 psi | 118 psi", "end": "117 psi"}, "two gauges"),
        ({"start": "118 in", "end": "117 psi"}, "not a pressure"),
        ({"start": NotDone("gauge dead"), "end": "117 psi"}, "gauge dead"),
        ({"end": "117 psi"}, "'start' was not answered"),
    ],
)
def test_a_leak_that_cannot_be_judged_says_why(answers: dict[str, Answer | str], said: str) -> None:
    measured = _loss(answers)
    assert measured.value is None
    assert said in measured.why


@pytest.mark.parametrize("measure", COUNTS)
def test_each_level_takes_the_gauge_that_counts(measure: str) -> None:
    expected = {"higher": "61 psi", "lower": "58 psi"}[COUNTS[measure]]
    measured = form(measure, _inputs(reading="58 psi | 61 psi"), {}, GAUGE)
    assert measured.value == quantity(expected)
    other = "lower" if COUNTS[measure] == "higher" else "higher"
    assert form(measure, _inputs(reading="58 psi | 61 psi"), {"gauge": other}, GAUGE).value != (
        measured.value
    )


def test_the_band_is_the_widest_it_can_be() -> None:
    inputs = _inputs(cut_out="124 psi | 126 psi", cut_in="103 psi | 101 psi")
    assert form("governor-band", inputs, {}, GAUGE).value == quantity("25 psi")


def test_a_cut_in_above_the_cut_out_is_a_contradiction() -> None:
    inputs = _inputs(cut_out="110 psi", cut_in="112 psi")
    assert form("governor-band", inputs, {}, GAUGE).value is None


@pytest.mark.parametrize(("value", "expected"), [("fall", "25"), ("remaining", "75")])
def test_reserve_as_the_text_counts_it(value: str, expected: str) -> None:
    inputs = _inputs(before="120 psi | 120 psi", after="90 psi | 100 psi")
    measured = form("reserve", inputs, {"value": value}, GAUGE)
    assert measured.value == Quantity(Decimal(expected), Unit.PERCENT)


def test_words_stay_words() -> None:
    answers: list[tuple[Answer, str]] = [
        (Yes(), "yes"),
        (No(), "no"),
        (Choice("drops"), "drops"),
        (Count(3), "3"),
    ]
    for answer, word in answers:
        assert form("seen-drain-water", _inputs(answer=answer), {}, GAUGE).value == word


def test_an_offset_cancels_in_a_drop_and_a_gain_does_not() -> None:
    """49 CFR 571.121 S5.1.4: 7 % of a 125 psi cut-out is 8.75 psi; of a level u = a/√3, so
    U = 10.1 psi; of a 2 psi fall from 120 psi the gain is a/120 of it, u = 0.146/√3 psi."""
    rough = gauge_facts(the_book(), accuracy=quantity("8.75 psi"))
    level = form("cut-out", _inputs(reading="125 psi"), {}, rough)
    assert level.uncertainty == level.shared == Quantity(Decimal(10), Unit.PSI)
    fall = _inputs(start="120 psi", end="118 psi", hold=Held(0, 60000))
    plain, wide = (form("loss-released", fall, {}, gauge) for gauge in (GAUGE, rough))
    assert plain.uncertainty == quantity("0.41 psi/min")
    assert plain.shared is None
    expected = 2 * math.hypot(math.sqrt(2) * 0.5 / math.sqrt(12), 2 * 8.75 / 120 / math.sqrt(3))
    assert wide.uncertainty is not None
    assert float(wide.uncertainty.value) == pytest.approx(expected, abs=0.005)
    assert wide.shared == quantity("0.17 psi/min")
    assert wide.value == plain.value


def test_a_ratio_on_one_gauge_loses_the_gain_and_keeps_the_offset() -> None:
    """5 psi off at 100 psi moves 20 % down by 5/100 of it, 1 point: U = 2 · 1/√3 = 1.2 points."""
    rough = gauge_facts(the_book(), accuracy=quantity("5 psi"))
    measured = form("reserve", _inputs(before="100 psi", after="80 psi"), {}, rough)
    assert measured.shared == quantity("1.2 %")


def test_an_uncertain_temperature_is_a_difference() -> None:
    """1 °C as a step is 2 · 1/√12 = 0.58 K, 1.0 °F: no zero of the scale in it."""
    for reading, said in (("200 °C", "0.58 °C"), ("392 °F", "1.0 °F")):
        measured = form("discharge-temperature", _inputs(reading=reading), {}, GAUGE)
        assert str(measured.uncertainty) == said


def test_an_unknown_measure_is_said() -> None:
    assert form("tyre-pressure", {}, {}, GAUGE).why == "there is no measure called 'tyre-pressure'"


def test_every_measure_answers_for_nothing_with_what_is_missing() -> None:
    for name in (*MEASURES, *YES_MEANS):
        entry = known(name)
        assert entry is not None
        measured = form(name, dict.fromkeys(entry.inputs), {}, GAUGE)
        assert measured.value is None
        assert "was not answered" in measured.why or "is missing" in measured.why


def _held_on(later: str | None) -> Measured:
    answers: dict[str, Answer | str] = {
        "before": "120 psi", "start": "120 psi", "end": "118 psi",
        "hold": Held(0, 60000), "longer": Held(0, 120000),
    }  # fmt: skip
    if later is not None:
        answers["later"] = later
    return form("loss-applied", _inputs(**answers), {"hold_s": "120"}, GAUGE)


def test_a_rule_that_holds_longer_is_judged_by_the_second_reading() -> None:
    """6 psi in 120 s are 3 in a minute; the first minute's 2 are another rule's."""
    assert _held_on("114 psi").value == Quantity(Decimal(3), Unit.PSI_PER_MIN)
    assert _held_on(None).why == "'later' was not answered"
    inputs = _inputs(
        start="120 psi", end="118 psi", hold=Held(0, 60000), longer=Held(0, 120000), later="99 psi"
    )
    short = form("loss-applied", inputs, {"hold_s": "60", "settling": "excluded"}, GAUGE)
    assert short.value == Quantity(Decimal(2), Unit.PSI_PER_MIN)


@pytest.mark.parametrize(
    ("closes", "said"),
    [("59 psi | 40 psi", "yes"), ("60 psi | 40 psi", "no"), ("40 psi | 61 psi", "no")],
)
def test_springs_set_below_the_lower_of_the_warnings_needles(closes: str, said: str) -> None:
    """r. 334(1)(d) of Western Australia: not before the warning; at it is not below it."""
    inputs = _inputs(warning="60 psi | 66 psi", closes=closes)
    measured = form("springs-after-warning", inputs, {}, GAUGE)
    assert measured.value == said
    assert measured.why.startswith("the warning came on at 60 psi, the springs set at")


def test_a_recovery_ends_where_its_text_ends_it() -> None:
    """49 CFR 570.57(a)(2): back to the pressure before; Saf-C 3226.04(b)(4): to the cut-out."""
    inputs = {
        name: Given(f"s.{name}", Mark(), 1, at_ms)
        for name, at_ms in (("from_mark", 1000), ("to_mark", 9000), ("cut_out_mark", 12000))
    }
    assert form("recovery", inputs, {}, GAUGE).value == quantity("8 s")
    assert form("recovery", inputs, {"to": "cut-out"}, GAUGE).value == quantity("11 s")
