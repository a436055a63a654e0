"""Events and answers to plain objects and back, each tagged with its type's name.

    Heard(question="gauge.level", meaning=Number(Quantity(105, psi)), ...)
    {"is": "Heard", "question": "gauge.level", "meaning": {"is": "Number", "value": "105 psi"}, ...}

A quantity is a text with its unit, an enum its value, a tuple a list; a field that
holds its default is left out, so that there is one way to write each event.  The
shapes are read off the dataclasses themselves: a new field needs no line here.
"""

from __future__ import annotations

import dataclasses
import types
from collections.abc import Iterator, Mapping
from enum import StrEnum
from typing import Any, Union, get_args, get_origin, get_type_hints

from walkaround.errors import JournalError
from walkaround.exchange import Answer, Event, Given, Meaning
from walkaround.quantity import Quantity, quantity
from walkaround.records.canonical import LARGEST, Json

TAG = "is"


@dataclasses.dataclass(frozen=True, slots=True)
class _Field:
    hint: Any
    default: object
    required: bool


def _nested(hint: Any) -> Iterator[type]:
    """Every dataclass that a hint mentions, itself included."""
    if isinstance(hint, type) and dataclasses.is_dataclass(hint):
        yield hint
    for inner in get_args(hint):
        yield from _nested(inner)


def _shape(kind: type) -> Mapping[str, _Field]:
    hints = get_type_hints(kind)
    return types.MappingProxyType(
        {
            field.name: _Field(
                hints[field.name], field.default, field.default is dataclasses.MISSING
            )
            for field in dataclasses.fields(kind)
        }
    )


def _reachable(*roots: Any) -> Mapping[type, Mapping[str, _Field]]:
    shapes: dict[type, Mapping[str, _Field]] = {}
    waiting = [kind for root in roots for kind in _nested(root)]
    while waiting:
        kind = waiting.pop()
        if kind is Quantity or kind in shapes:
            continue
        shapes[kind] = _shape(kind)
        waiting += [inner for field in shapes[kind].values() for inner in _nested(field.hint)]
    return types.MappingProxyType(shapes)


SHAPES = _reachable(Event, Answer, Meaning, Given)
"""Every class that can be written: the events, the answers, and all that they hold."""
_BY_NAME = types.MappingProxyType({kind.__name__: kind for kind in SHAPES})


def encode(value: object) -> dict[str, Json]:
    """The plain object of an event, an answer or a meaning.

    Raises JournalError for a value that could not be read back the same.
    """
    kind = type(value)
    if kind not in SHAPES:
        raise JournalError(f"a {kind.__name__} is no event and cannot be written; report this")
    plain: dict[str, Json] = {TAG: kind.__name__}
    for name, field in SHAPES[kind].items():
        inner = getattr(value, name)
        if field.required or inner != field.default:
            plain[name] = _plain(inner)
    return plain


def _plain(value: object) -> Json:
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, str):
        return value
    if isinstance(value, int):
        if abs(value) > LARGEST:
            raise JournalError(f"{value} is too large for the journal; report this")
        return value
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if isinstance(value, Quantity):
        return _quantity_text(value)
    return encode(value)


def _quantity_text(value: Quantity) -> str:
    text = str(value)
    try:
        same = quantity(text) == value
    except ValueError:
        same = False
    if not same:
        raise JournalError(f"'{text[:60]}' cannot be read back; give a shorter number")
    return text


def decode(plain: Json) -> Any:
    """The event, answer or meaning that `encode` wrote.

    Raises JournalError for an unknown type, an unknown or missing field, a value of
    the wrong type, or any second way to write the same event.
    """
    value = _object(plain, tuple(SHAPES))
    if encode(value) != plain:
        raise JournalError(f"a {type(value).__name__} is not written in its one form")
    return value


def _object(plain: Json, allowed: tuple[type, ...]) -> Any:
    if not isinstance(plain, dict):
        raise JournalError(f"{_short(plain)} stands where a tagged object is wanted")
    name = plain.get(TAG)
    kind = _BY_NAME.get(name) if isinstance(name, str) else None
    if kind is None or kind not in allowed:
        raise JournalError(f"the type {_short(name)} is not known here; a newer version wrote it?")
    shape = SHAPES[kind]
    for key in plain:
        if key != TAG and key not in shape:
            raise JournalError(f"a {name} has no field {_short(key)}; a newer version wrote it?")
    values = {}
    for key, field in shape.items():
        if key in plain:
            values[key] = _value(plain[key], field.hint, f"{name}.{key}")
        elif field.required:
            raise JournalError(f"a {name} lacks its field '{key}'")
    return kind(**values)


def _value(plain: Json, hint: Any, where: str) -> Any:
    if get_origin(hint) in (Union, types.UnionType):
        return _one_of(plain, get_args(hint))
    if get_origin(hint) is tuple:
        return _tuple(plain, get_args(hint), where)
    if hint is Quantity:
        return _quantity(plain, where)
    if hint in SHAPES:
        return _object(plain, (hint,))
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return _enum(plain, hint, where)
    if type(plain) is not hint:  # exactly: true is not an integer here
        raise JournalError(f"{where} is {_short(plain)}, not of type {hint.__name__}")
    return plain


def _one_of(plain: Json, hints: tuple[Any, ...]) -> Any:
    if plain is None and type(None) in hints:
        return None
    return _object(plain, tuple(hint for hint in hints if hint in SHAPES))


def _tuple(plain: Json, hints: tuple[Any, ...], where: str) -> tuple[Any, ...]:
    if not isinstance(plain, list):
        raise JournalError(f"{where} is {_short(plain)}, not a list")
    return tuple(_value(item, hints[0], where) for item in plain)


def _quantity(plain: Json, where: str) -> Quantity:
    if not isinstance(plain, str):
        raise JournalError(f"{where} is {_short(plain)}, not a number with its unit")
    try:
        return quantity(plain)
    except ValueError as bad:
        raise JournalError(f"{where}: {bad}") from None


def _enum(plain: Json, hint: type[StrEnum], where: str) -> StrEnum:
    try:
        return hint(plain)  # type: ignore[arg-type]
    except ValueError:
        raise JournalError(f"{where} is {_short(plain)}, which is not a {hint.__name__}") from None


def _short(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 40 else text[:37] + "..."
