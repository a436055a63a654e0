"""Progress is drawn: steps against days, as a grid and as a page that stands alone."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from html.parser import HTMLParser

from tests.learning.drills import Practice, drilled
from walkaround.learning.chart import SYMBOLS, Grid, grid
from walkaround.learning.drill import Mark, Stage
from walkaround.learning.memory import Key, Review
from walkaround.learning.page import progress_page
from walkaround.learning.progress import Progress

AT = datetime(2026, 1, 31, 8, tzinfo=UTC)
DONE = drilled(Practice(Stage.TOLD))
PLAN = DONE.material.plan
CARDS = {step.id: DONE.kit.card(step.id) for step in PLAN.steps}


def practised() -> Progress:
    marks = [Mark.RIGHT, Mark.HELPED, Mark.WRONG, Mark.FORGOTTEN]
    return Progress(
        {
            str(day): tuple(
                Review(Key(f"step:{card}", "CA-ON"), AT + timedelta(days=day), marks[n % 4])
                for n, card in enumerate(CARDS.values())
                if (n + day) % 3
            )
            for day in range(5)
        }
    )


def drawn(most_days: int = 10) -> Grid:
    return grid(
        practised(), PLAN, CARDS, place="CA-ON", at=AT + timedelta(days=9), most_days=most_days
    )


def test_the_grid_has_a_row_for_each_step_and_a_column_for_each_day() -> None:
    shown = drawn()
    assert [row.title for row in shown.rows] == [step.title for step in PLAN.steps]
    assert len(shown.days) == 5
    assert all(len(row.cells) == 5 for row in shown.rows)
    assert drawn(2).days == shown.days[-2:]


def test_the_worst_of_a_day_is_shown_and_each_sign_is_another_shape() -> None:
    key = Key("step:cut-in", "US")
    reviews = (Review(key, AT, Mark.WRONG), Review(key, AT + timedelta(hours=1), Mark.RIGHT))
    shown = grid(Progress({"a": reviews}), PLAN, CARDS, place="US", at=AT, most_days=3)
    row = next(row for row in shown.rows if row.title == "Cut-in")
    assert row.cells == (Mark.WRONG,)
    assert row.practised == 1
    assert len(set(SYMBOLS.values())) == len(Mark)


def test_a_step_never_practised_is_new_and_others_have_a_date_and_a_chance() -> None:
    for row in drawn().rows:
        assert (row.due is None) == (row.practised == 0)
        assert row.chance is None or 0 <= row.chance <= 100


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.seen: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append(tag)
        if tag not in ("meta", "rect", "line"):
            self.open.append(tag)
        for name, value in attrs:
            assert not name.startswith("on"), "no script"
            assert name not in ("src", "href"), value

    def handle_endtag(self, tag: str) -> None:
        if tag not in ("rect", "line"):
            assert self.open.pop() == tag


def test_the_page_stands_alone_and_every_picture_has_its_table() -> None:
    page = progress_page([drawn()], ["Cut-in", "Cut-out"], AT, "").decode("utf-8")
    tags = _Tags()
    tags.feed(page)
    assert tags.open == []
    assert "script" not in tags.seen
    assert tags.seen.count("svg") == tags.seen.count("table") == 1
    assert "default-src 'none'" in page
    assert "prefers-color-scheme: dark" in page
    assert "@media print" in page
    assert "PRACTICE" in page
    for mark in Mark:
        assert mark.value in page
    assert not re.search(r"https?://", page)


def test_a_name_is_escaped_and_nothing_practised_says_so() -> None:
    empty = grid(Progress(), PLAN, CARDS, place="US", at=AT, most_days=3)
    page = progress_page([empty], [], AT, "<script>alert(1)</script>").decode("utf-8")
    assert "<script>" not in page
    assert "Nothing has been practised here yet" in page
    assert "Nothing is due" in page
