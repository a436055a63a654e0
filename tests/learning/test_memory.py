"""When a step is due again, held against the library's own tests and the published formula."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import pytest
from fsrs import Card, Rating, Scheduler
from fsrs.scheduler import DEFAULT_PARAMETERS
from hypothesis import given, settings
from hypothesis import strategies as st

from walkaround.learning.drill import Mark
from walkaround.learning.memory import RATINGS, Key, Review, due, remember

KEY = Key("step:leak-applied", "CA-ON")
# Date, ratings and intervals of py-fsrs, tests/test_basic.py, test_review_card
# (open-spaced-repetition/py-fsrs, commit 120420b). The parameters of the release that is
# installed differ from that commit's in the fourth place: two long intervals by one day.
BEGAN = datetime(2022, 11, 29, 12, 30, tzinfo=UTC)
GOOD, AGAIN = Mark.RIGHT, Mark.WRONG
REFERENCE = (GOOD, GOOD, GOOD, GOOD, GOOD, GOOD, AGAIN, AGAIN, GOOD, GOOD, GOOD, GOOD, GOOD)
REFERENCE_DAYS = (0, 2, 11, 46, 163, 497, 0, 0, 2, 4, 7, 12, 20)


def test_the_librarys_reference_schedule_is_ours() -> None:
    reviews: list[Review] = []
    at, days = BEGAN, []
    for mark in REFERENCE:
        reviews.append(Review(KEY, at, mark))
        memory = remember(reviews)[KEY]
        days.append((memory.due - at).days)
        at = memory.due
    differ = [abs(ours - theirs) for ours, theirs in zip(days, REFERENCE_DAYS, strict=True)]
    assert max(differ) <= 1
    assert differ.count(0) >= 11
    assert days == [0, 2, 11, 46, 163, 498, 0, 0, 2, 4, 7, 12, 21]  # fsrs 6.3.2, installed here


def test_the_first_intervals_follow_the_published_formula() -> None:
    """FSRS-6 (open-spaced-repetition, "The Algorithm"): interval I = S / F (R^(1/D) - 1) with
    F = 0.9^(1/D) - 1, so that I = S at a retention of 0.9; after the first "good" S is the third
    parameter, and the next stability is S (1 + e^w8 (11 - d) S^-w9 (e^(w10 (1 - R)) - 1))."""
    w = DEFAULT_PARAMETERS
    decay = -w[20]
    factor = 0.9 ** (1 / decay) - 1
    stability = w[2]
    difficulty = w[4] - math.exp(w[5] * (3 - 1)) + 1
    assert 1 <= difficulty <= 10
    first = remember([Review(KEY, BEGAN, GOOD)])[KEY]
    assert first.card.stability == pytest.approx(stability)
    assert first.card.difficulty == pytest.approx(difficulty)
    later = BEGAN + timedelta(days=3)
    chance = (1 + factor * 3 / stability) ** decay
    assert first.chance(later) == pytest.approx(chance)
    grown = stability * (
        1
        + math.exp(w[8]) * (11 - difficulty) * stability ** -w[9]
        * (math.exp((1 - chance) * w[10]) - 1)
    )  # fmt: skip
    second = remember([Review(KEY, BEGAN, GOOD), Review(KEY, later, GOOD)])[KEY]
    assert second.card.stability == pytest.approx(grown)
    assert (second.due - later).days == round(grown)


MARKS = st.lists(st.tuples(st.sampled_from(list(Mark)), st.integers(0, 40)), max_size=8)


@settings(max_examples=40, deadline=None)
@given(MARKS)
def test_it_is_what_the_library_does_by_itself(practices: list[tuple[Mark, int]]) -> None:
    scheduler, at = Scheduler(enable_fuzzing=False), BEGAN
    card = Card(card_id=7, due=BEGAN)
    reviews = []
    for mark, days in practices:
        at += timedelta(days=days)
        card, _ = scheduler.review_card(card, RATINGS[mark], at)
        reviews.append(Review(KEY, at, mark))
    found = remember(reviews)
    assert [memory.due for memory in found.values()] == ([card.due] if practices else [])


@settings(max_examples=20, deadline=None)
@given(MARKS)
def test_the_same_practice_gives_the_same_dates(practices: list[tuple[Mark, int]]) -> None:
    reviews = [
        Review(KEY, BEGAN + timedelta(days=day, minutes=n), mark)
        for n, (mark, day) in enumerate(practices)
    ]
    assert remember(reviews) == remember(reversed(reviews))


def test_what_was_forgotten_comes_before_what_was_known() -> None:
    later = BEGAN + timedelta(days=30)
    reviews = [
        Review(Key("step:cut-in", "US"), BEGAN, Mark.RIGHT),
        Review(Key("step:sum-up", "US"), BEGAN, Mark.FORGOTTEN),
        Review(Key("step:cut-in", "CA-ON"), BEGAN, Mark.HELPED),
    ]
    ordered = [(memory.key.item, memory.key.place) for memory in due(remember(reviews), later)]
    assert ordered == [("step:sum-up", "US"), ("step:cut-in", "CA-ON"), ("step:cut-in", "US")]


def test_each_place_is_remembered_apart() -> None:
    reviews = [Review(Key("step:cut-in", place), BEGAN, Mark.RIGHT) for place in ("US", "NZ")]
    assert len(remember(reviews)) == 2


def test_forgetting_brings_a_step_back_sooner() -> None:
    known = remember([Review(KEY, BEGAN, GOOD), Review(KEY, BEGAN + timedelta(days=2), GOOD)])
    lost = remember([Review(KEY, BEGAN, GOOD), Review(KEY, BEGAN + timedelta(days=2), AGAIN)])
    assert lost[KEY].due < known[KEY].due
    assert RATINGS[Mark.FORGOTTEN] is Rating.Again
