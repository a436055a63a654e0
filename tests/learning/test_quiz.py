"""Questions from the rule book and the parts: free answers, judged by the rule itself."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.learning.drills import Practice, material_of
from tests.learning.recall_books import book, parts, says
from walkaround.air.measured import Measured
from walkaround.cli.material import Material
from walkaround.errors import PlaceError
from walkaround.exchange import Outcome
from walkaround.learning.drill import Effect, End, Mark, Note, Stage, Tell
from walkaround.learning.memory import Key, Review, remember
from walkaround.learning.parts import PartQuestion, is_right
from walkaround.learning.questions import (
    EdgeQuestion,
    LimitQuestion,
    NoUnitError,
    OneNumberError,
    PartAsked,
    QuizQuestion,
    limit_is_right,
    questions_for,
)
from walkaround.learning.quiz import Quiz, QuizKit, answered, chosen, open_quiz
from walkaround.procedure.measuring import vehicle_of
from walkaround.quantity import Quantity, Unit, compare
from walkaround.rules.judge import judge
from walkaround.rules.model import Amount

PLACES = ("US", "US-CA", "US-NC", "CA-ON", "CA-QC", "CA-BC", "CA-AB", "CA-NL", "CA-SK", "NZ")


def limits(below: int) -> int:
    """Always asks for the limit."""
    return 0 % below


def edges(below: int) -> int:
    """Always asks at an edge, and for the edge itself."""
    return 1 % below


def trip(place: str, vehicle: str = "demo-tractor", script: str = "tractor-trailer") -> Material:
    return material_of(Practice(Stage.TOLD, (), script, vehicle, (place,)))


def asked_at(
    place: str, dice: Callable[[int], int], vehicle: str = "demo-tractor"
) -> tuple[QuizQuestion, ...]:
    script = {"demo-tractor": "tractor-trailer", "demo-bus": "bus"}.get(vehicle, "straight-truck")
    material = trip(place, vehicle, script)
    known = vehicle_of(material.profile, material.book)
    return questions_for(material.book, parts(), place, known, dice)


def limit_of(place: str, rule: str) -> LimitQuestion:
    for asked in asked_at(place, limits):
        if isinstance(asked, LimitQuestion) and asked.rule.id == rule:
            return asked
    raise AssertionError(f"{rule} is not asked for at {place}")


# Printed values: Official Air Brake Handbook (Ontario), 10-2, 10-3, 11-2; Truck Handbook 6-1-4.
RIGHT = [
    ("ca-on.build-up", "120 seconds"),
    ("ca-on.build-up", "at most two minutes"),
    ("ca-on.build-up", "it is 2 min"),
    ("ca-on.build-up", "one hundred and twenty seconds"),
    ("ca-on.loss-applied-combination", "4 psi"),
    ("ca-on.loss-applied-combination", "four p s i in a minute"),
    ("ca-on.loss-applied-combination", "not more than 28 kPa per minute"),
    ("ca-on.loss-applied-combination", "4 psi/min"),
    ("ca-on.stroke-pressure", "between 90 and 100 psi"),
    ("ca-on.stroke-pressure", "ninety to one hundred p s i"),
    ("ca-on.stroke-pressure", "690 kPa and 621 kPa"),
    ("ca-on.warning-on", "by 55 psi"),
    ("ca-on.warning-on", "fifty five pounds"),
    ("ca-on.warning-on", "380 kPa"),
    ("ca-on.stroke-clamp-30", "two inches"),
    ("ca-on.stroke-clamp-20", "1 3/4 in"),
    ("ca-on.stroke-clamp-20", "one and three quarters inches"),
]
WRONG = [
    ("ca-on.build-up", "90 s"),
    ("ca-on.build-up", "119 seconds"),
    ("ca-on.loss-applied-combination", "3 psi"),
    ("ca-on.loss-applied-combination", "4 kPa"),
    ("ca-on.stroke-pressure", "80 to 90 psi"),
    ("ca-on.warning-on", "60 psi"),
    ("ca-on.warning-on", "55 kPa"),
    ("ca-on.stroke-clamp-30", "2 1/2 in"),
]


@pytest.mark.parametrize(("rule", "answer"), RIGHT)
def test_the_limit_is_right_in_any_words_and_any_unit(rule: str, answer: str) -> None:
    assert limit_is_right(limit_of("CA-ON", rule), answer) is True


@pytest.mark.parametrize(("rule", "answer"), WRONG)
def test_another_number_or_another_unit_is_wrong(rule: str, answer: str) -> None:
    assert limit_is_right(limit_of("CA-ON", rule), answer) is False


def test_a_number_without_its_unit_or_without_its_other_edge_is_asked_for_again() -> None:
    with pytest.raises(NoUnitError):
        limit_is_right(limit_of("CA-ON", "ca-on.build-up"), "120")
    with pytest.raises(OneNumberError):
        limit_is_right(limit_of("CA-ON", "ca-on.stroke-pressure"), "90 psi")
    assert limit_is_right(limit_of("CA-ON", "ca-on.build-up"), "I do not know") is None


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("vehicle", ["demo-tractor", "demo-truck", "demo-bus"])
def test_every_limit_asked_for_is_right_as_it_is_printed(place: str, vehicle: str) -> None:
    found = [q for q in asked_at(place, limits, vehicle) if isinstance(q, LimitQuestion)]
    assert found
    for asked in found:
        for column in range(min(len(edge) for edge in asked.edges)):
            said = " and ".join(_spoken(edge[column]) for edge in asked.edges)
            assert limit_is_right(asked, said) is True, (asked.rule.id, said)


def _spoken(printed: Quantity) -> str:
    unit = {Unit.PSI_PER_MIN: "psi a minute", Unit.KPA_PER_MIN: "kPa a minute"}.get(printed.unit)
    return f"{printed.value} {unit}" if unit else str(printed)


@pytest.mark.parametrize("place", PLACES)
def test_whether_a_value_is_inside_is_what_the_rule_says(place: str) -> None:
    """Held against exact fractions of the printed numbers, apart from the rule's own code."""
    found = [q for q in asked_at(place, edges) if isinstance(q, EdgeQuestion)]
    assert found or place == "NZ", "its one limit names no window in figures"
    for asked in found:
        value = asked.value
        assert str(value) in asked.text
        bounds = [_same_unit(bound.lesser[0], value) for bound in asked.rule.limit.bounds]
        ways = {
            "at most": value.base <= bounds[0], "less than": value.base < bounds[0],
            "at least": value.base >= bounds[0], "more than": value.base > bounds[0],
            "between": min(bounds) <= value.base <= max(bounds),
        }  # fmt: skip
        assert ways[asked.rule.limit.comparison] is asked.inside, asked.text


def _same_unit(amounts: Iterable[Amount], value: Quantity) -> Fraction:
    printed = [amount.printed for amount in amounts]
    return next((p for p in printed if p.unit is value.unit), printed[0]).base


def test_the_edge_itself_is_asked_for_and_decided_by_the_printed_words() -> None:
    """Quebec wants less than three minutes, Ontario two minutes or less (questions 8 and 10 of
    a driver's theory: C-24.2, r. 32, s. 38(1); Ontario Air Brake Handbook 10-3)."""
    ontario = next(r for r in trip("CA-ON").book.rules if r.id == "ca-on.build-up")
    quebec = next(r for r in trip("CA-QC").book.rules if r.id == "ca-qc.build-up")
    known = vehicle_of(trip("CA-ON").profile, trip("CA-ON").book)
    two, three = Quantity(Decimal(120), Unit.SECOND), Quantity(Decimal(180), Unit.SECOND)
    assert judge(ontario, Measured(two), known).outcome is Outcome.MET
    assert judge(quebec, Measured(three), known).outcome is Outcome.NOT_MET


def test_where_texts_differ_the_question_says_whose_limit_is_meant() -> None:
    cut_in = [q for q in asked_at("US", limits) if isinstance(q, LimitQuestion)]
    texts = [q.text for q in cut_in if q.rule.measure == "cut-in"]
    assert len(texts) == 2
    assert all(text.startswith("By 49 CFR 57") for text in texts)


def test_a_place_that_is_none_is_refused() -> None:
    with pytest.raises(PlaceError):
        asked_at_unknown()


def asked_at_unknown() -> None:
    material = trip("US")
    known = vehicle_of(material.profile, material.book)
    questions_for(material.book, parts(), "XX", known, limits)


# ---------------------------------------------------------------- parts


ANSWERS = [
    ("governor.does", "it cuts the compressor out when the tanks are full", True),
    ("governor.does", "it measures the speed", False),
    ("check-valve.does", "stops the air from running back to the compressor", True),
    ("which-gauge-warns.does", "the lower one", True),
    ("which-gauge-warns.does", "the higher one", False),
    ("which-gauge-warns.does", "the lower, not the higher", True),
    ("which-gauge-supply.does", "the higher", True),
    ("spring-brake.does", "a spring, when there is no air", True),
    ("spring-brake.does", "the air pressure puts it on", False),
    ("compounding.does", "so that the two forces don't add up", True),
    ("service-line-lost.does", "only when I brake the next time", True),
    ("service-line-lost.does", "right away, the brakes apply", False),
    ("automatic-adjuster.bad", "I would not adjust it, it goes to a mechanic", True),
    ("automatic-adjuster.bad", "tighten it up a bit", False),
    ("first-fall.does", "because the air is filling the chambers", True),
    ("tractor-protection-valve.does", "it keeps the air in the tractor", True),
    ("applied-only.bad", "somewhere past the foot valve, like a brake chamber", True),
    ("applied-only.bad", "in the compressor", False),
]


@pytest.mark.parametrize(("name", "answer", "right"), ANSWERS)
def test_an_answer_about_a_part_is_judged_by_its_ideas(name: str, answer: str, right: bool) -> None:
    asked = next(part for part in parts().parts if part.name == name)
    assert is_right(asked, answer, book().words) is right


@pytest.mark.parametrize("part", parts().parts, ids=lambda part: part.name)
def test_every_part_question_has_its_source_and_takes_each_of_its_answers(
    part: PartQuestion,
) -> None:
    for answer in part.right:
        assert is_right(part, answer, book().words), answer
    for answer in part.wrong:
        assert not is_right(part, answer, book().words), answer
    assert part.source
    assert part.ask.endswith("?")


# ---------------------------------------------------------------- a round


def kit(*questions: QuizQuestion) -> QuizKit:
    return QuizKit(questions, says(), book().words, trip("CA-ON").book.place_names)


def told(effects: tuple[Effect, ...]) -> str:
    return " ".join(effect.text for effect in effects if isinstance(effect, Tell))


def test_every_answer_shows_its_rule_and_its_source() -> None:
    round_ = kit(limit_of("CA-ON", "ca-on.build-up"))
    _, effects = answered(round_, Quiz(), "90 seconds")
    assert "Not quite. The limit is equal to or less than 120 s." in told(effects)
    assert "Official Air Brake Handbook (Ontario)" in told(effects)
    assert "(published)" in told(effects)
    _, effects = answered(round_, Quiz(), "two minutes")
    assert "Yes." in told(effects)
    assert "Official Air Brake Handbook (Ontario)" in told(effects)
    part = PartAsked(Key("part:governor.does", "CA-ON"), "?", parts().parts[2])
    _, effects = answered(kit(part), Quiz(), "it stops the compressor when the tanks are full")
    assert "Source: SGI Air Brake Manual" in told(effects)


def test_a_round_goes_through_its_questions_and_ends() -> None:
    round_ = kit(*asked_at("CA-ON", limits)[:3])
    quiz, effects = open_quiz(round_)
    assert "Question 1 of 3" in told(effects)
    notes: list[Note] = []
    while not quiz.ended:
        quiz, effects = answered(round_, quiz, "next")
        notes += [effect for effect in effects if isinstance(effect, Note)]
    assert [note.option for note in notes] == [Mark.WRONG] * 3
    assert any(isinstance(effect, End) and effect.complete for effect in effects)


def test_a_second_try_counts_as_known_with_help() -> None:
    round_ = kit(limit_of("CA-ON", "ca-on.build-up"))
    quiz, effects = answered(round_, Quiz(), "120")
    assert "unit" in told(effects)
    _, effects = answered(round_, quiz, "120 seconds")
    assert [e.option for e in effects if isinstance(e, Note)] == [Mark.HELPED]


def test_nothing_to_ask_says_so() -> None:
    quiz, effects = open_quiz(kit())
    assert quiz.ended
    assert "nothing to ask" in told(effects)


def test_what_is_due_is_asked_first_and_what_was_known_last() -> None:
    questions = asked_at("CA-ON", limits)
    at = datetime(2026, 1, 31, tzinfo=UTC)
    forgotten, known = questions[5], questions[0]
    reviews = [
        Review(forgotten.key, at, Mark.WRONG),
        Review(known.key, at, Mark.RIGHT),
        Review(known.key, at + timedelta(days=1), Mark.RIGHT),
    ]
    later = at + timedelta(days=1, hours=1)
    ordered = chosen(questions, remember(reviews), later, len(questions))
    assert ordered[0] is forgotten
    assert ordered[-1] is known
    assert len(chosen(questions, {}, later, 4)) == 4


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=80))
def test_any_answer_is_taken_without_a_crash(answer: str) -> None:
    dice = Random(1)
    for asked in (*asked_at("CA-ON", limits)[:4], *asked_at("CA-ON", dice.randrange)[-3:]):
        quiz, _ = answered(kit(asked), Quiz(), answer)
        assert quiz.right <= quiz.answered


def test_conversion_is_exact_where_it_is_printed_and_to_a_gauges_step_elsewhere() -> None:
    asked = limit_of("CA-ON", "ca-on.loss-applied-combination")
    printed = asked.edges[0]
    assert [str(amount) for amount in printed] == ["28 kPa/min", "4 psi/min"]
    assert compare(Quantity(Decimal(4), Unit.PSI), Quantity(Decimal(28), Unit.KPA)) == -1
    assert limit_is_right(asked, "0.3 bar") is True  # 27.6 to 28 kPa, read to 0.1 bar
    assert limit_is_right(asked, "27 kPa") is False
