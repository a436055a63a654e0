"""Published orders replayed against the scripts' needs and leaves, and wrong orders caught.

The sources are named in `published_orders.yaml` beside each order. It is a check that our
states are not stricter than print; where acts had to be put in by hand the file says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.procedure.shipped import plan
from walkaround.errors import SheetError
from walkaround.procedure.model import Clause, Plan
from walkaround.procedure.restore import after, unmet
from walkaround.sheet import Reader, Scalar, Table, read_sheet

HERE = Path(__file__).parent


@dataclass(frozen=True)
class Order:
    name: str
    source: str
    script: str
    vehicle: str
    places: tuple[str, ...]
    steps: tuple[str, ...]
    by_hand: tuple[str, ...]


@dataclass(frozen=True)
class Wrong:
    why: str
    script: str
    vehicle: str
    steps: tuple[str, ...]
    refused: str


def sheet(name: str) -> Reader:
    return Reader(read_sheet((HERE / name).read_bytes(), name), SheetError)


def published() -> list[Order]:
    table = sheet("published_orders.yaml").table_at("orders")
    assert table is not None
    orders = []
    for name, node in table.items.items():
        assert isinstance(node, Table)
        reader = Reader(node, SheetError, name)
        steps: list[str] = []
        by_hand: list[str] = []
        items = reader.node("order")
        for item in items:  # type: ignore[union-attr]
            if isinstance(item, Scalar):
                steps.append(item.text)
            else:
                unsaid = Reader(item, SheetError).texts("by-hand")  # type: ignore[arg-type]
                steps += unsaid
                by_hand += unsaid
        orders.append(
            Order(
                name,
                reader.text("source"),
                reader.text("script"),
                reader.text("vehicle"),
                reader.texts("places"),
                tuple(steps),
                tuple(by_hand),
            )
        )
        reader.done()
    return orders


def wrong() -> list[Wrong]:
    vehicles = {"straight-truck": "demo-truck", "tractor-trailer": "demo-tractor"}
    return [
        Wrong(
            row.text("why"), script, row.text("vehicle", vehicles[script]),
            row.texts("steps"), row.text("refused"),
        )
        for row in (Reader(t, SheetError) for t in sheet("wrong_orders.yaml").rows("orders"))
        for script in [row.text("script")]
    ]  # fmt: skip


def replay(of: Plan, steps: tuple[str, ...]) -> tuple[str, tuple[Clause, ...]] | None:
    """The first step whose needs the state does not meet, with what is missing."""
    state: Mapping[str, str] = of.start
    for name in steps:
        step = of.step(name)
        missing = unmet(step.needs, state)
        if missing:
            return name, missing
        state = {**after(step, state), **step.expects}
    return None


@pytest.mark.parametrize("order", published(), ids=lambda order: order.name)
def test_a_published_order_meets_every_need(order: Order) -> None:
    assert replay(plan(order.script, order.vehicle, order.places), order.steps) is None


@pytest.mark.parametrize("order", wrong(), ids=lambda order: f"{order.steps[-1]}-{order.refused}")
def test_a_wrong_order_is_caught_at_its_last_step(order: Wrong) -> None:
    found = replay(plan(order.script, order.vehicle, ["US"]), order.steps)
    assert found is not None, order.why
    step, missing = found
    assert step == order.steps[-1]
    assert order.refused in {name for clause in missing for name, _ in clause.any_of}


def test_there_are_enough_of_both() -> None:
    documents = {order.source.split(",")[0] for order in published()}
    assert len(published()) >= 12
    assert len(documents) >= 9
    assert len(wrong()) >= 12


def test_the_text_itself_is_most_of_each_order() -> None:
    for order in published():
        said = [name for name in order.steps if name not in order.by_hand]
        assert len(said) >= 3, order.name
