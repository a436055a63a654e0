"""Progress as a page: one HTML file to read and print, with nothing to fetch or run.

Every picture has its table; shapes carry the meaning, and each has its words.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from walkaround.learning.chart import SYMBOLS, Grid, Row
from walkaround.learning.drill import Mark
from walkaround.records.markup import Markup, element, joined, listed, table

_BAR, _GAP, _HIGH, _LEFT, _LOW = 34, 18, 160, 40, 34
_STYLE = """
:root { color-scheme: light dark; --ink: #1a1a1a; --paper: #fff; --rule: #767676;
  --right: #0b4f9c; --helped: #7fb2e5; --wrong: #ffffff; --band: #eef4fb; }
@media (prefers-color-scheme: dark) { :root { --ink: #f0f0f0; --paper: #161616;
  --rule: #9a9a9a; --right: #8cc2ff; --helped: #2f5f8f; --wrong: #161616; --band: #22303d; } }
body { color: var(--ink); background: var(--paper); margin: 0;
  font: 1rem/1.5 system-ui, sans-serif; }
main { max-width: 64rem; margin: 0 auto; padding: 1rem; }
h1, h2 { line-height: 1.2; } h2 { margin-top: 2rem; border-bottom: 2px solid var(--rule); }
.practice { background: var(--band); border: 2px solid currentColor; padding: .5rem 1rem; }
.wide { overflow-x: auto; margin: 1rem 0; }
table { border-collapse: collapse; width: 100%; }
caption { text-align: left; font-weight: bold; padding: .3rem 0; }
th, td { border: 1px solid var(--rule); padding: .2rem .5rem; text-align: left; }
tbody th { font-weight: normal; } td .mark { font-size: 1.2rem; line-height: 1; }
.words { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%);
  white-space: nowrap; }
svg { max-width: 100%; height: auto; } svg text { fill: var(--ink); font-size: 12px; }
svg rect { stroke: var(--ink); stroke-width: 1; }
svg .right { fill: var(--right); } svg .helped { fill: var(--helped); }
svg .wrong { fill: var(--wrong); } svg line { stroke: var(--rule); }
@media print { :root { --ink: #000; --paper: #fff; --rule: #555; --right: #333;
  --helped: #aaa; --wrong: #fff; --band: #fff; } main { max-width: none; padding: 0; }
  .wide { overflow: visible; } tr, figure { break-inside: avoid; }
  thead { display: table-header-group; } h2 { break-after: avoid; } }
"""
_HEAD = Markup(
    '<head><meta charset="utf-8">'
    '<meta name="viewport" content="width=device-width, initial-scale=1">'
    '<meta name="color-scheme" content="light dark">'
    '<meta http-equiv="Content-Security-Policy" '
    "content=\"default-src 'none'; style-src 'unsafe-inline'\">"
    f"<title>Practice of the air-brake check</title><style>{_STYLE}</style></head>"
)
_CLASSES = ((Mark.RIGHT, "right"), (Mark.HELPED, "helped"), (Mark.WRONG, "wrong"))

_MOST_NEXT = 6
"""Steps named to practise next, at once."""


def progress_page(
    grids: Sequence[Grid], due_titles: Sequence[str], at: datetime, learner: str
) -> bytes:
    """The page, UTF-8. `due_titles` are what to practise next, first things first."""
    whose = f" of {learner}" if learner else ""
    parts = [
        element("h1", f"Practice{whose}: the air-brake check"),
        element(
            "p",
            element("strong", "PRACTICE"),
            ": no vehicle was checked. It says what was remembered, and nothing about any truck.",
            class_="practice",
        ),
        element("p", f"As of {at:%d %B %Y}. Days are days in UTC."),
        _next(due_titles),
        *(_place(grid, number) for number, grid in enumerate(grids, start=1)),
        _legend(),
    ]
    page = element("html", _HEAD, element("body", element("main", *parts)), lang="en")
    return f"<!DOCTYPE html>\n{page}\n".encode()


def _next(titles: Sequence[str]) -> Markup:
    rest = len(titles) - _MOST_NEXT
    # A wall of thirty steps frightens whoever has only begun; the table has them all.
    shown = [*titles[:_MOST_NEXT], *([f"and {rest} more: see the table"] if rest > 0 else [])]
    body = listed(shown) if titles else element("p", "Nothing is due. Well done; come back later.")
    return element("section", element("h2", "To practise next"), body)


def _place(grid: Grid, number: int) -> Markup:
    title = element("h2", f"Steps against days, {grid.place}")
    if not grid.days:
        return element("section", title, element("p", "Nothing has been practised here yet."))
    return element("section", title, _picture(grid, number), _table(grid))


def _table(grid: Grid) -> Markup:
    headings = ("step", *(_day(day) for day in grid.days), "due again", "still known")
    rows = [
        (row.title, *(_cell(cell) for cell in row.cells), _due(row), _chance(row))
        for row in grid.rows
    ]
    return table(f"How each step was known, {grid.place}", headings, rows)


def _cell(mark: Mark | None) -> str:
    if mark is None:
        return ""
    return joined(
        element("span", SYMBOLS[mark], class_="mark", aria_hidden="true"),
        element("span", mark.value, class_="words"),
    )


def _due(row: Row) -> str:
    return "new" if row.due is None else row.due.isoformat()


def _chance(row: Row) -> str:
    return "" if row.chance is None else f"{row.chance} %"


def _day(day: date) -> str:
    return f"{day:%d %b}"


def _legend() -> Markup:
    named = [f"{SYMBOLS[mark]} {mark.value}" for mark in Mark]
    return element(
        "section",
        element("h2", "What the signs mean"),
        listed(named),
        element(
            "p",
            "Still known is an estimate of the spaced-repetition method (FSRS), not a mark. "
            "A real walk in which a step was explained or left out counts here as well.",
        ),
    )


def _picture(grid: Grid, number: int) -> Markup:
    """A bar for each day: steps right at once below, then with help, then to practise again."""
    most = max(sum(grid.counts(day).values()) for day in range(len(grid.days)))
    width = _LEFT + len(grid.days) * (_BAR + _GAP)
    bars: list[Markup] = []
    for place, day in enumerate(grid.days):
        left = _LEFT + place * (_BAR + _GAP)
        bars += _bar(grid, place, left, most)
        bars.append(element("text", _day(day), x=str(left), y=str(_HIGH + 18), class_="day"))
    named = f"picture-{number}"
    title = element("title", f"Steps practised on each day, {grid.place}", id=named)
    axis = [
        element("text", str(most), x="4", y="14"),
        element("text", "0", x="4", y=str(_HIGH)),
        Markup(f'<line x1="{_LEFT - 6}" y1="{_HIGH}" x2="{width}" y2="{_HIGH}"/>'),
    ]
    drawn = element(
        "svg",
        title,
        *axis,
        *bars,
        viewBox=f"0 0 {width} {_HIGH + _LOW}",
        width=str(width),
        role="img",
        aria_labelledby=named,
    )
    text = (
        "From below: right at once (full), with help (half as strong), to practise again (empty)."
    )
    return element("figure", drawn, element("figcaption", text))


def _bar(grid: Grid, place: int, left: int, most: int) -> list[Markup]:
    counts = grid.counts(place)
    again = counts[Mark.WRONG] + counts[Mark.FORGOTTEN]
    numbers = {Mark.RIGHT: counts[Mark.RIGHT], Mark.HELPED: counts[Mark.HELPED], Mark.WRONG: again}
    found, foot = [], float(_HIGH)
    for mark, class_ in _CLASSES:
        high = numbers[mark] * (_HIGH - 10) / most
        foot -= high
        if high:
            found.append(
                Markup(
                    f'<rect class="{class_}" x="{left}" y="{foot:.1f}" width="{_BAR}" '
                    f'height="{high:.1f}"/>'
                )
            )
    return found
