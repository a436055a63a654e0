"""A called-out rise as a picture: inline SVG, with the same numbers in a table beside it."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from walkaround.quantity import Quantity, quantity
from walkaround.records.markup import Markup, element, joined, table

_WIDE, _HIGH = 640, 320
_LEFT, _RIGHT, _TOP, _BOTTOM = 64, 16, 16, 48
_STEPS = (Decimal(1), Decimal(2), Decimal(5), Decimal(10))
_MOST_TICKS = 8

Called = tuple[Decimal, Quantity]
"""Seconds after the first call, and the value called."""


def called_out(points: Sequence[tuple[int, str]]) -> tuple[Called, ...]:
    """The points with their time counted from the first; those without one unit are left out."""
    read: list[tuple[int, Quantity]] = []
    for at_ms, text in points:
        try:
            value = quantity(text)
        except ValueError:
            continue
        if not read or value.unit is read[0][1].unit:
            read.append((at_ms, value))
    return tuple((Decimal(at_ms - read[0][0]) / 1000, value) for at_ms, value in read)


def curve(title: str, points: Sequence[tuple[int, str]], name: str) -> Markup:
    """The picture and its table; only the table when there is no line to draw.

    `name` is an id that no other picture on the page has.
    """
    called = called_out(points)
    rows = [(f"{seconds:.1f} s", str(value)) for seconds, value in called]
    numbers = table(f"{title}: values called out", ("after the first", "called"), rows)
    times = {seconds for seconds, _ in called}
    values = {value.value for _, value in called}
    if len(times) < 2 or len(values) < 2:
        return numbers
    return joined(element("figure", _picture(title, called, name), _caption(title)), numbers)


def _caption(title: str) -> Markup:
    return element("figcaption", f"{title}: each point is a value called out; the table follows.")


def _picture(title: str, called: Sequence[Called], name: str) -> Markup:
    unit = str(called[0][1].unit)
    x_axis = _Axis([seconds for seconds, _ in called], _LEFT, _WIDE - _RIGHT)
    y_axis = _Axis([value.value for _, value in called], _HIGH - _BOTTOM, _TOP)
    dots = [(x_axis.at(seconds), y_axis.at(value.value)) for seconds, value in called]
    line = element("polyline", points=" ".join(f"{x},{y}" for x, y in dots), class_="line")
    marks = joined(*(element("circle", cx=x, cy=y, r="4", class_="dot") for x, y in dots))
    first, last = called[0], called[-1]
    told = f"From {first[1]} to {last[1]} in {last[0]:.1f} s, {len(called)} values called out."
    return element(
        "svg",
        element("title", title, id=f"{name}-title"),
        element("desc", told, id=f"{name}-desc"),
        _grid(x_axis, y_axis, unit),
        line,
        marks,
        viewBox=f"0 0 {_WIDE} {_HIGH}",
        role="img",
        aria_labelledby=f"{name}-title {name}-desc",
    )


class _Axis:
    """Values on a line of the picture, with round ticks."""

    def __init__(self, values: Sequence[Decimal], begins: int, ends: int) -> None:
        low, high = min(values), max(values)
        self._step = _round_step((high - low) / _MOST_TICKS)
        self._low = (low // self._step) * self._step
        self._high = max(-((-high) // self._step) * self._step, self._low + self._step)
        self._begins, self._ends = begins, ends

    def at(self, value: Decimal) -> str:
        share = (value - self._low) / (self._high - self._low)
        return f"{self._begins + share * (self._ends - self._begins):.1f}"

    def ticks(self) -> tuple[Decimal, ...]:
        count = int((self._high - self._low) / self._step)
        return tuple(self._low + self._step * index for index in range(count + 1))


def _round_step(least: Decimal) -> Decimal:
    """The next 1, 2 or 5 times a power of ten."""
    scale = Decimal(1).scaleb(least.adjusted())
    return next(step * scale for step in _STEPS if step * scale >= least)


def _grid(x_axis: _Axis, y_axis: _Axis, unit: str) -> Markup:
    floor, wall = str(_HIGH - _BOTTOM), str(_LEFT)
    across = [
        joined(
            element("line", x1=wall, x2=str(_WIDE - _RIGHT), y1=y, y2=y, class_="grid"),
            element("text", f"{tick:f}", x=str(_LEFT - 8), y=y, class_="left"),
        )
        for tick in y_axis.ticks()
        for y in (y_axis.at(tick),)
    ]
    down = [
        joined(
            element("line", x1=x, x2=x, y1=str(_TOP), y2=floor, class_="grid"),
            element("text", f"{tick:f}", x=x, y=str(_HIGH - _BOTTOM + 20), class_="below"),
        )
        for tick in x_axis.ticks()
        for x in (x_axis.at(tick),)
    ]
    names = joined(
        element("text", unit, x="4", y=str(_TOP + 4)),
        element(
            "text", "seconds after the first", x=str(_WIDE // 2), y=str(_HIGH - 6), class_="below"
        ),
    )
    return joined(*across, *down, names)
