"""Whole orders said as recall answers: judged by states and needs, never by positions.

The published orders and the wrong ones are those of `tests/procedure`, with their sources;
the equally valid variations stand in `variations.yaml`.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.learning.recall_books import book
from tests.procedure.shipped import plan
from tests.procedure.test_published_orders import Order, Wrong, published, wrong
from walkaround.errors import SheetError
from walkaround.learning.course import Course, begin, card_of, done
from walkaround.learning.match import Matcher, matcher_for
from walkaround.learning.recall import Named, Verdict, recall
from walkaround.procedure.model import Plan
from walkaround.sheet import Reader, Row, Scalar, read_sheet

VEHICLES = {"straight-truck": "demo-truck", "tractor-trailer": "demo-tractor"}


def name_of(of: Plan, name: str) -> str:
    """A way to say the step or act that names nothing else first; its title without one."""
    owner = card_of(name, book().why)
    likes = book().likes.get(name, owner)
    ways = [phrase.text for phrase in book().phrases if phrase.of[0] in (owner, likes)]
    return ways[0] if ways else of.step(name).title


def say(course: Course, matcher: Matcher, name: str) -> tuple[Course, Named]:
    """Say one thing; returns the course after it, and what became of it."""
    found = recall(course, matcher.mentions(name_of(course.plan, name)), book().likes)
    assert found, name
    if found[-1].verdict is Verdict.RIGHT:
        for each in found:
            for act in (*each.acts, each.name):
                course = done(course, act)
    return course, found[-1]


def is_fine(course: Course, named: Named) -> bool:
    """Right, or an act that has nothing to do because things are so already."""
    already = named.verdict is Verdict.DONE and course.is_act(named.name)
    return named.verdict is Verdict.RIGHT or already


@pytest.mark.parametrize("order", published(), ids=lambda order: order.name)
def test_nothing_of_a_published_order_is_called_wrong(order: Order) -> None:
    of = plan(order.script, order.vehicle, order.places)
    course, matcher = begin(of, book().why), matcher_for(book(), of)
    for name in order.steps:
        course, named = say(course, matcher, name)
        assert is_fine(course, named), (name, named)


@pytest.mark.parametrize("order", wrong(), ids=lambda order: f"{order.steps[-1]}-{order.refused}")
def test_a_wrong_order_is_called_wrong_at_its_last_step_and_says_why(order: Wrong) -> None:
    of = plan(order.script, order.vehicle, ["US"])
    course, matcher = begin(of, book().why), matcher_for(book(), of)
    for name in order.steps[:-1]:
        course, named = say(course, matcher, name)
        assert is_fine(course, named), (name, named)
    _, named = say(course, matcher, order.steps[-1])
    assert named.verdict is Verdict.NOT_YET, order.why
    assert order.refused in {name for clause in named.missing for name, _ in clause.any_of}
    for clause in named.missing:
        variable, values = clause.any_of[0]
        card = card_of(named.name, book().why)
        assert book().reason(card, variable, values[0]) is not None


@dataclass(frozen=True)
class Variation:
    says: str
    source: str
    script: str
    places: tuple[str, ...]
    orders: tuple[tuple[str, ...], ...]


def variations() -> list[Variation]:
    path = Path(__file__).parent / "variations.yaml"
    sheet = Reader(read_sheet(path.read_bytes(), path.name), SheetError)
    found = []
    for table in sheet.rows("variations"):
        row = Reader(table, SheetError)
        orders = row.node("orders")
        assert isinstance(orders, Row)
        found.append(
            Variation(
                row.text("says"),
                row.text("source"),
                row.text("script", "straight-truck"),
                row.texts("places"),
                tuple(
                    tuple(n.text for n in order.items if isinstance(n, Scalar))
                    for order in orders
                    if isinstance(order, Row)
                ),
            )
        )
        row.done()
    return found


@pytest.mark.parametrize("variation", variations(), ids=lambda each: each.says)
def test_each_equally_valid_variation_is_right(variation: Variation) -> None:
    of = plan(variation.script, VEHICLES[variation.script], variation.places)
    assert len(variation.orders) >= 2
    for order in variation.orders:
        course, matcher = begin(of, book().why), matcher_for(book(), of)
        for name in order:
            for act in course.acts_for(course.step(name)) or ():
                course, named = say(course, matcher, act)
                assert is_fine(course, named), (order, name, act, named)
            if name in course.done:
                continue  # an act before another step goes by this one's name
            course, named = say(course, matcher, name)
            assert named.verdict is Verdict.RIGHT, (order, name, named)
        gone = [course.card(name) for name in course.done]
        assert not Counter(course.card(name) for name in order) - Counter(gone)


def test_there_are_thirteen_variations_each_with_its_source() -> None:
    assert len(variations()) == 13
    assert all(variation.source for variation in variations())
