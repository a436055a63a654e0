"""A vehicle's measure over time as inline SVG, and bars; each picture has its table beside it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from walkaround.records.markup import Markup, element, joined

_WIDE, _HIGH = 420, 260
_LEFT, _RIGHT, _TOP, _BOTTOM = 48, 12, 22, 34
_MOST_TICKS = 6
_BAR, _GAP, _LABEL = 16, 8, 18
_NUMBER = 60  # room for the size at a bar's end


@dataclass(frozen=True, slots=True)
class Plot:
    """What is drawn: points (x, y), a line from end to end, a limit where there is one."""

    title: str
    told: str
    unit: str
    points: Sequence[tuple[float, float]]
    line: tuple[tuple[float, float], tuple[float, float]]
    limit: float | None
    ends: tuple[str, str]  # the first and the last day, as text


class _Scale:
    def __init__(self, low: float, high: float, begins: float, ends: float) -> None:
        self._low, self._span = low, (high - low) or 1.0
        self._begins, self._ends = begins, ends

    def at(self, value: float) -> str:
        share = (value - self._low) / self._span
        return f"{self._begins + share * (self._ends - self._begins):.1f}"


def scatter(plot: Plot, name: str) -> Markup:
    """The picture. `name` is an id that no other picture on the page has."""
    values = [y for _, y in plot.points] + [y for _, y in plot.line]
    if plot.limit is not None:
        values.append(plot.limit)
    ticks = _ticks(min(0.0, *values), max(values))
    x_axis = _Scale(plot.points[0][0], plot.points[-1][0], _LEFT, _WIDE - _RIGHT)
    y_axis = _Scale(ticks[0], ticks[-1], _HIGH - _BOTTOM, _TOP)
    (x1, y1), (x2, y2) = plot.line
    dots = joined(
        *(
            element("circle", cx=x_axis.at(x), cy=y_axis.at(y), r="3", class_="dot")
            for x, y in plot.points
        )
    )
    trend = element(
        "line",
        x1=x_axis.at(x1),
        y1=y_axis.at(y1),
        x2=x_axis.at(x2),
        y2=y_axis.at(y2),
        class_="line",
    )
    inside = joined(_grid(ticks, y_axis, plot), _limit(plot.limit, y_axis), trend, dots)
    return _svg(plot.title, plot.told, name, inside, _HIGH)


def bars(title: str, told: str, rows: Sequence[tuple[str, float, str]], name: str) -> Markup:
    """Rows of (name, size, size as text), the largest filling the width."""
    most = max((size for _, size, _ in rows), default=1.0) or 1.0
    parts = []
    for at, (label, size, text) in enumerate(rows):
        top = at * (_LABEL + _BAR + _GAP) + _LABEL
        long = size / most * (_WIDE - _NUMBER)
        parts += [
            element("text", _cut(label), x="0", y=str(top - 5)),
            element("rect", x="0", y=str(top), width=f"{long:.1f}", height=str(_BAR), class_="bar"),
            element("text", text, x=f"{long + 6:.1f}", y=str(top + _BAR - 4)),
        ]
    return _svg(title, told, name, joined(*parts), len(rows) * (_LABEL + _BAR + _GAP) + _GAP)


def _cut(label: str) -> str:
    return label if len(label) <= 52 else f"{label[:51]}…"


def _svg(title: str, told: str, name: str, inside: Markup, high: int) -> Markup:
    return element(
        "svg",
        element("title", title, id=f"{name}-title"),
        element("desc", told, id=f"{name}-desc"),
        inside,
        viewBox=f"0 0 {_WIDE} {high}",
        role="img",
        aria_labelledby=f"{name}-title {name}-desc",
    )


def _grid(ticks: Sequence[float], y_axis: _Scale, plot: Plot) -> Markup:
    right, floor = str(_WIDE - _RIGHT), str(_HIGH - _BOTTOM + 20)
    across = [
        joined(
            element("line", x1=str(_LEFT), x2=right, y1=y, y2=y, class_="grid"),
            element("text", f"{tick:g}", x=str(_LEFT - 8), y=y, class_="left"),
        )
        for tick in ticks
        for y in (y_axis.at(tick),)
    ]
    first, last = plot.ends
    names = joined(
        element("text", plot.unit, x="4", y=str(_TOP - 6)),
        element("text", first, x=str(_LEFT), y=floor),
        element("text", last, x=right, y=floor, class_="right"),
    )
    return joined(*across, names)


def _limit(limit: float | None, y_axis: _Scale) -> Markup:
    if limit is None:
        return joined()
    y = y_axis.at(limit)
    line = element("line", x1=str(_LEFT), x2=str(_WIDE - _RIGHT), y1=y, y2=y, class_="limit")
    return joined(
        line, element("text", f"limit {limit:g}", x=str(_LEFT + 6), y=f"{float(y) - 5:.1f}")
    )


def _ticks(low: float, high: float) -> tuple[float, ...]:
    """Round values that cover the range."""
    least = (high - low) / _MOST_TICKS or 1.0
    scale = 10.0 ** math.floor(math.log10(least))
    step = next(size * scale for size in (1, 2, 5, 10) if size * scale >= least)
    first, last = math.floor(low / step), math.ceil(high / step)
    return tuple(at * step for at in range(first, max(last, first + 1) + 1))
