"""Reads step cards and acts out of a sheet: one function for each thing that a card holds."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation

from walkaround.errors import ScriptError
from walkaround.exchange import AskKind, Stake, Wording
from walkaround.procedure.model import TIMED, Clause
from walkaround.procedure.profile import FACTS
from walkaround.procedure.script import (
    GATES,
    HALTS,
    PLACES,
    AskCard,
    Card,
    JudgeCard,
    Need,
    Spot,
    When,
)
from walkaround.quantity import Kind, Unit
from walkaround.sheet import Reader, Row, Scalar, Table

_MEASURED = (AskKind.NUMBER, AskKind.PAIR, AskKind.RISE)
_NO_INPUT = ("measure", "rests-on", "only", "when", "unless")
_PLACE = re.compile(r"[A-Z]{2}(-[A-Z0-9]{1,3})?")
_CALLS = {"calls": Unit.PSI, "calls_kpa": Unit.KPA, "calls_bar": Unit.BAR}


def spot_of(table: Table) -> Spot:
    """Where the table stands."""
    return Spot(table.file, table.line, table.lines)


def read_cards(table: Table | None) -> tuple[Card, ...]:
    """Every card of a `steps:` or `acts:` table, in file order."""
    if table is None:
        return ()
    cards = []
    for name, node in table.items.items():
        if not isinstance(node, Table):
            raise spot_of(table).error(f"'{name}' must hold 'key: value' lines", name)
        cards.append(_card(name, node))
    return tuple(cards)


def _card(name: str, table: Table) -> Card:
    reader = Reader(table, ScriptError, f"step '{name}'")
    card = Card(
        id=name,
        title=reader.text("title"),
        where=reader.text("where"),
        spot=spot_of(table),
        when=read_when(reader),
        caution=reader.text("caution", ""),
        explain=reader.text("explain", ""),
        people=_whole(reader, "people", 1),
        gate=reader.choice("gate", ["", *GATES], ""),
        needs=_needs(reader, "needs"),
        wishes=_needs(reader, "wishes"),
        leaves=_flat(reader, "leaves"),
        asks=tuple(_ask(name, row) for row in reader.rows("asks")),
        judges=tuple(_judge(name, row) for row in reader.rows("judge")),
        seconds=_seconds(reader),
    )
    reader.done()
    if not card.asks:
        raise reader.fail("nothing is asked; add at least one question under 'asks'", "asks")
    return card


def read_when(reader: Reader) -> When:
    """The conditions under `when` and `unless`."""
    return When(_facts(reader, "when"), _facts(reader, "unless"))


def _facts(reader: Reader, key: str) -> tuple[tuple[str, tuple[str, ...]], ...]:
    table = reader.table_at(key)
    if table is None:
        return ()
    inner = Reader(table, ScriptError, reader.about)
    wanted = tuple((name, inner.texts(name)) for name in table.items)
    for name, values in wanted:
        for value in values:
            problem = _fact_problem(name, value)
            if problem:
                raise inner.fail(problem, name)
    return wanted


def _fact_problem(name: str, value: str) -> str:
    """Why such a condition could never hold; empty when it could."""
    if name == PLACES:
        return "" if _PLACE.fullmatch(value) else f"'{value}' is no code such as US or CA-ON"
    if name not in FACTS:
        return f"'{name}' is no fact of a vehicle or trip; known are {', '.join((*FACTS, PLACES))}"
    if value not in FACTS[name]:
        return f"'{name}: {value}' cannot be; it is one of {', '.join(FACTS[name])}"
    return ""


def _flat(reader: Reader, key: str) -> dict[str, str]:
    table = reader.table_at(key)
    if table is None:
        return {}
    inner = Reader(table, ScriptError, reader.about)
    return {name: inner.text(name) for name in table.items}


def _needs(reader: Reader, key: str) -> tuple[Need, ...]:
    needs = []
    for row in reader.rows(key):
        inner = Reader(row, ScriptError, reader.about)
        when = read_when(inner)
        variables = [name for name in row.items if name not in ("when", "unless")]
        if not variables:
            raise inner.fail("a need names at least one state, such as 'engine: off'")
        any_of = tuple((name, inner.texts(name)) for name in variables)
        needs.append(Need(Clause(any_of), when, spot_of(row)))
    return tuple(needs)


def _ask(step: str, table: Table) -> AskCard:
    name = Reader(table, ScriptError, f"step '{step}'").text("id")
    reader = Reader(table, ScriptError, f"step '{step}', question '{name}'")
    reader.text("id")
    kind = AskKind(reader.choice("kind", [k.value for k in AskKind if k is not AskKind.COMMAND]))
    measured = kind in _MEASURED
    card = AskCard(
        id=name,
        kind=kind,
        spot=spot_of(table),
        when=read_when(reader),
        texts=_texts(reader, kind),
        stake=_stake(reader, measured),
        quantity=_quantity(reader) if measured else None,
        options=reader.texts("options") if kind is AskKind.CHOICE else (),
        good=reader.texts("good"),
        seconds=_whole(reader, "seconds", 0) if kind in TIMED else 0,
        after=reader.text("after", "") if kind is AskKind.HOLD else "",
        calls=_calls(reader) if kind is AskKind.RISE else {},
        sets=reader.text("sets", "") if measured else "",
        each=reader.choice("each", ["", "brakes"], ""),
        halt=reader.choice("halt", ["", *HALTS], ""),
        vouches=reader.texts("vouches"),
        relayed=reader.choice("relayed", ["no", "yes"], "no") == "yes",
    )
    reader.done()
    if kind is AskKind.CHOICE and len(card.options) < 2:
        raise reader.fail("a choice needs at least two 'options'", "options")
    _check_good(reader, card)
    return card


def _check_good(reader: Reader, card: AskCard) -> None:
    answers = ("yes", "no") if card.kind is AskKind.YES_NO else card.options
    for answer in card.good:
        if answer not in answers:
            raise reader.fail(f"'good: {answer}' can never be the answer here", "good")
    if card.halt and not card.good and card.kind not in _MEASURED:
        raise reader.fail("'halt' needs 'good': which answers are no finding?", "halt")


def _texts(reader: Reader, kind: AskKind) -> Mapping[Wording, str]:
    if kind is AskKind.HOLD:
        return {}
    return {wording: reader.text(wording.value) for wording in Wording}


def _stake(reader: Reader, measured: bool) -> Stake:
    usual = Stake.READING if measured else Stake.ORDINARY
    return Stake(reader.choice("stake", [s.value for s in Stake], usual.value))


def _quantity(reader: Reader) -> Kind:
    known = [Kind.PRESSURE, Kind.LENGTH, Kind.TEMPERATURE]
    return Kind(reader.choice("quantity", [k.value for k in known], Kind.PRESSURE.value))


def _calls(reader: Reader) -> Mapping[Unit, tuple[Decimal, ...]]:
    called: dict[Unit, tuple[Decimal, ...]] = {}
    for key, unit in _CALLS.items():
        reader.node(key)
        values = tuple(_decimal(reader, key, text) for text in reader.texts(key))
        if len(values) < 2 or list(values) != sorted(set(values)):
            raise reader.fail(f"'{key}' needs at least two values, rising", key)
        called[unit] = values
    return called


def _judge(step: str, table: Table) -> JudgeCard:
    reader = Reader(table, ScriptError, f"step '{step}'")
    measure = reader.text("measure")
    inputs = tuple((key, reader.text(key)) for key in table.items if key not in _NO_INPUT)
    when, rests_on = read_when(reader), reader.texts("rests-on")
    only = reader.texts("only")
    for place in only:
        problem = _fact_problem(PLACES, place)
        if problem:
            raise reader.fail(problem, "only")
    if not inputs:
        raise reader.fail(f"'{measure}' is made of no answer; name at least one", "measure")
    full = tuple((key, at if "." in at else f"{step}.{at}") for key, at in inputs)
    return JudgeCard(measure, full, when, spot_of(table), rests_on, only)


def _seconds(reader: Reader) -> tuple[int, int, int]:
    node = reader.node("seconds")
    if not isinstance(node, Row) or len(node.items) != 3:
        raise reader.fail("'seconds' lists three numbers: shortest, usual, longest", "seconds")
    texts = [n.text for n in node.items if isinstance(n, Scalar)]
    if len(texts) != 3 or not all(t.isdecimal() for t in texts):
        raise reader.fail("'seconds' lists three whole numbers", "seconds")
    low, usual, high = (int(t) for t in texts)
    if not low <= usual <= high or not high:
        raise reader.fail("'seconds' must rise from shortest over usual to longest", "seconds")
    return low, usual, high


def _whole(reader: Reader, key: str, default: int) -> int:
    text = reader.text(key, str(default))
    if not (text.isascii() and text.isdecimal()):
        raise reader.fail(f"'{key}: {text}' must be a whole number", key)
    return int(text)


def _decimal(reader: Reader, key: str, text: str) -> Decimal:
    try:
        value = Decimal(text)
    except InvalidOperation:
        raise reader.fail(f"'{text}' is not a number", key) from None
    if not value.is_finite():
        raise reader.fail(f"'{text}' is not a number", key)
    return value
