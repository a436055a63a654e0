"""Shows a learner's progress: steps against days in the terminal, and the page."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from rich.console import Console
from rich.table import Table

from walkaround.cli.drill_kit import Books
from walkaround.cli.screen import show
from walkaround.devices.disk import write_finished
from walkaround.learning.chart import SYMBOLS, Grid, Row, grid
from walkaround.learning.drill import Mark
from walkaround.learning.memory import due
from walkaround.learning.page import progress_page
from walkaround.learning.progress import STEP, Progress, next_steps
from walkaround.procedure.model import Plan

_DAYS_IN_TERMINAL, _DAYS_ON_PAGE = 10, 30
_MOST_NAMED = 5
PAGE_NAME = "progress.html"


def show_progress(
    progress: Progress, plan: Plan, books: Books, now: datetime, practice: Path
) -> None:
    """Print a table for each place practised, write the page. Raises DiskError."""
    console = Console()
    places = sorted({review.key.place for review in progress.reviews})
    if not places:
        console.print("Nothing has been practised yet. Begin with: drill --stage told")
    cards = books.cards_of(plan)
    for place in places:
        _print_grid(
            console, grid(progress, plan, cards, place=place, at=now, most_days=_DAYS_IN_TERMINAL)
        )
    pages = [
        grid(progress, plan, cards, place=place, at=now, most_days=_DAYS_ON_PAGE)
        for place in places
    ]
    content = progress_page(pages, _titles(progress, plan, books, now), now, _learner(practice))
    if places:
        path = practice / PAGE_NAME
        write_finished(path, content)
        console.print(f"To read and print: {path}", soft_wrap=True)
    _show_questions(progress, now)
    show_next(progress, plan, books, now)


def _show_questions(progress: Progress, now: datetime) -> None:
    """How many rules and parts were asked about, in one sentence; nothing where none was."""
    asked = {k: m for k, m in progress.memories().items() if not k.item.startswith(STEP)}
    if asked:
        again = len(due(asked, now))
        show(f"Rules and parts: {len(asked)} asked so far, {again} due again. (drill --questions)")


def show_next(progress: Progress, plan: Plan, books: Books, now: datetime) -> None:
    """What to practise next, in one sentence."""
    titles = _titles(progress, plan, books, now)
    if not titles:
        show("Nothing is due now. Well done; come back later.")
        return
    more = f" and {len(titles) - _MOST_NAMED} more" if len(titles) > _MOST_NAMED else ""
    show(f"To practise next: {', '.join(titles[:_MOST_NAMED])}{more}. (drill --due)")


def _titles(progress: Progress, plan: Plan, books: Books, now: datetime) -> Sequence[str]:
    cards = books.cards_of(plan)
    wanted = next_steps(progress, plan, cards, now)
    by_card = {card: plan.step(name).title for name, card in reversed(cards.items())}
    ripe = [memory.key.item.removeprefix(STEP) for memory in wanted.due]
    return [by_card[card] for card in (*ripe, *wanted.new)]


def _learner(practice: Path) -> str:
    return "" if practice.name == "practice" else practice.name


def _print_grid(console: Console, shown: Grid) -> None:
    days = [f"{day:%d %b}" for day in shown.days]
    drawn = Table("step", *days, "due", "known", title=f"Practice, {shown.place}")
    for row in shown.rows:
        cells = ["" if cell is None else SYMBOLS[cell] for cell in row.cells]
        drawn.add_row(row.title, *cells, *_when(row))
    console.print(drawn)
    console.print("  ".join(f"{SYMBOLS[mark]} {mark.value}" for mark in Mark))


def _when(row: Row) -> tuple[str, str]:
    if row.due is None:
        return "new", ""
    return row.due.isoformat(), f"{row.chance} %"
