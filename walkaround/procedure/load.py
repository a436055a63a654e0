"""Reads an inspection script and everything it is put together from. Bytes in; nothing is opened.

`files` maps paths under `scripts/` to their bytes: `<name>.yaml` is the order of steps,
`steps/*.yaml` hold the step cards, `acts/*.yaml` the acts and the table of states.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal, InvalidOperation

from walkaround.errors import ScriptError
from walkaround.procedure.cards import read_cards, read_when, spot_of
from walkaround.procedure.model import Bands
from walkaround.procedure.profile import KINDS
from walkaround.procedure.script import ALWAYS, Card, Hazard, Place, Say, Script, Spot, States
from walkaround.quantity import Unit
from walkaround.sheet import Reader, Row, Scalar, Table, read_sheet


def load_script(name: str, files: Mapping[str, bytes]) -> Script:
    """The script of that name. Raises ScriptError with file, line and key."""
    path = f"{name}.yaml"
    if path not in files:
        known = ", ".join(sorted(p[:-5] for p in files if "/" not in p and p.endswith(".yaml")))
        raise ScriptError(f"there is no script named '{name}'; there is: {known}", file=path)
    cards = _unique(_cards_in(files, "steps"))
    _rest_on_something(cards)
    acts = _unique(_cards_in(files, "acts"))
    for name_of_act, act in acts.items():
        if name_of_act in cards:
            raise act.spot.error(f"'{name_of_act}' is the name of a step too; rename the act")
    return _script(name, read_sheet(files[path], path, ScriptError), cards, acts, _states(files))


def _script(
    name: str, table: Table, cards: Mapping[str, Card], acts: Mapping[str, Card], states: States
) -> Script:
    reader = Reader(table, ScriptError, f"script '{name}'")
    vehicles = reader.texts("vehicles")
    for kind in vehicles:
        if kind not in KINDS:
            raise reader.fail(f"'{kind}' is no kind of vehicle; known are {KINDS}", "vehicles")
    script = Script(
        name=name,
        title=reader.text("title"),
        vehicles=vehicles,
        order=_order(reader, cards),
        acts=tuple(acts.values()),
        states=states,
        spot=spot_of(table),
    )
    reader.done()
    return script


def _order(reader: Reader, cards: Mapping[str, Card]) -> tuple[Place, ...]:
    node = reader.node("order")
    if not isinstance(node, Row) or not node.items:
        raise reader.fail("'order' must list the steps", "order")
    places: list[Place] = []
    for item in node:
        if isinstance(item, Scalar):
            step, name, when = item.text, item.text, ALWAYS
            spot = Spot(item.file, item.line)
        elif isinstance(item, Table):
            inner = Reader(item, ScriptError, "order")
            step, name, spot = inner.text("step"), inner.text("as"), spot_of(item)
            when = read_when(inner)
            inner.done()
        else:
            raise reader.fail("each entry of 'order' is a step's name", "order")
        if step not in cards:
            raise spot.error(f"there is no step card '{step}'; check the spelling", "order")
        if name in [place.name for place in places]:
            raise spot.error(f"'{name}' comes twice; give the second one a name with 'as'", "order")
        places.append(Place(name, cards[step], spot, when))
    return tuple(places)


def _cards_in(files: Mapping[str, bytes], folder: str) -> Iterable[Card]:
    for path in sorted(p for p in files if p.startswith(folder + "/") and p.endswith(".yaml")):
        table = read_sheet(files[path], path, ScriptError)
        if folder == "acts" and "states" in table.items:
            continue
        reader = Reader(table, ScriptError)
        reader.text("chapter")
        yield from read_cards(reader.table_at(folder))
        reader.done()


def _rest_on_something(cards: Mapping[str, Card]) -> None:
    """What a measure rests on may be no question of this script, but is one of some card."""
    known = {f"{card.id}.{ask.id}" for card in cards.values() for ask in card.asks} | set(cards)
    for card in cards.values():
        for judge in card.judges:
            for at in judge.rests_on:
                if at not in known:
                    raise judge.spot.error(
                        f"step '{card.id}': '{judge.measure}' rests on '{at}', which nobody asks",
                        "rests-on",
                    )


def _unique(cards: Iterable[Card]) -> dict[str, Card]:
    known: dict[str, Card] = {}
    for card in cards:
        if card.id in known:
            other = known[card.id].spot
            raise card.spot.error(
                f"'{card.id}' stands in {other.file}, line {other.line}, too; keep one"
            )
        known[card.id] = card
    return known


def _states(files: Mapping[str, bytes]) -> States:
    found = []
    for path in sorted(p for p in files if p.startswith("acts/") and p.endswith(".yaml")):
        table = read_sheet(files[path], path, ScriptError)
        if "states" in table.items:
            found.append(table)
    if len(found) != 1:
        raise ScriptError(
            "exactly one file under acts/ must hold 'states'; restore acts/states.yaml",
            file="acts",
        )
    reader = Reader(found[0], ScriptError, "states")
    states = States(
        values=_lists(reader, "states"),
        start=_texts(reader, "start"),
        bands=_bands(reader),
        hazards=tuple(_hazard(row) for row in reader.rows("hazards")),
        words=_words(reader),
        places=reader.texts("where"),
        spot=spot_of(found[0]),
    )
    reader.done()
    return states


def _lists(reader: Reader, key: str) -> dict[str, tuple[str, ...]]:
    table = reader.table_at(key)
    if table is None:
        return {}
    inner = Reader(table, ScriptError, key)
    return {name: inner.texts(name) for name in table.items}


def _texts(reader: Reader, key: str) -> dict[str, str]:
    table = reader.table_at(key)
    if table is None:
        return {}
    inner = Reader(table, ScriptError, key)
    return {name: inner.text(name) for name in table.items}


def _bands(reader: Reader) -> dict[str, Bands]:
    table = reader.table_at("bands")
    bands: dict[str, Bands] = {}
    for name in table.items if table else ():
        inner = Reader(table, ScriptError, "bands")  # type: ignore[arg-type]
        row = inner.table_at(name)
        if row is None:
            raise inner.fail(f"'{name}' must hold 'key: value' lines", name)
        bands[name] = _band(Reader(row, ScriptError, f"bands of '{name}'"))
    return bands


def _band(reader: Reader) -> Bands:
    unit = Unit(reader.choice("unit", [u.value for u in Unit]))
    above = reader.text("above")
    below = []
    for row in reader.rows("below"):
        inner = Reader(row, ScriptError, "band")
        below.append((_number(inner, "limit"), inner.text("is")))
        inner.done()
    reader.done()
    limits = [limit for limit, _ in below]
    if limits != sorted(set(limits)):
        raise reader.fail("the limits must rise", "below")
    return Bands(unit, tuple(below), above)


def _number(reader: Reader, key: str) -> Decimal:
    text = reader.text(key)
    try:
        return Decimal(text)
    except InvalidOperation:
        raise reader.fail(f"'{key}: {text}' is not a number", key) from None


def _hazard(row: Table) -> Hazard:
    reader = Reader(row, ScriptError, "hazard")
    hazard = Hazard(
        reader.text("says"),
        tuple(_texts(reader, "needs").items()),
        tuple(_texts(reader, "leaves").items()),
        reader.text("where", ""),
        tuple(_texts(reader, "demands").items()),
    )
    reader.done()
    return hazard


def _words(reader: Reader) -> dict[str, Say]:
    table = reader.table_at("words")
    words: dict[str, Say] = {}
    if table is None:
        return words
    inner = Reader(table, ScriptError, "words")
    for name in table.items:
        choices = []
        for row in inner.rows(name):
            each = Reader(row, ScriptError, f"word '{name}'")
            choices.append((read_when(each), each.text("say")))
            each.done()
        words[name] = Say(tuple(choices))
    return words
