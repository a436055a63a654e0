"""Every event is written and read back the same, and read in no second way."""

from __future__ import annotations

import dataclasses
from decimal import Decimal
from types import ModuleType, UnionType
from typing import Any, get_args, get_origin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.records.walk_sample import EVENTS, GIVEN, psi
from walkaround import exchange
from walkaround.errors import JournalError
from walkaround.exchange import Answer, Event, Heard, Meaning, Number, Yes
from walkaround.quantity import Quantity, Unit
from walkaround.records.canonical import LARGEST, canonical, parse_canonical
from walkaround.records.codec import SHAPES, decode, encode

NEVER_WRITTEN = {
    # what is listened for and what is to be done is not what happened
    "Question", "Prompt", "Write", "Say", "Tone", "Listen", "WakeAt", "CancelWake", "Judge",
    "Finish", "Wanted",
}  # fmt: skip

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
quantities = st.builds(
    Quantity,
    st.decimals(allow_nan=False, allow_infinity=False, places=3, min_value=-9999, max_value=9999),
    st.sampled_from(Unit),
)
st.register_type_strategy(Quantity, quantities)
st.register_type_strategy(str, texts)
st.register_type_strategy(int, st.integers(-LARGEST, LARGEST))


def _dataclasses(module: ModuleType) -> set[type]:
    return {
        value
        for value in vars(module).values()
        if isinstance(value, type)
        and dataclasses.is_dataclass(value)
        and value.__module__ == module.__name__
    }


def test_no_class_of_the_exchange_is_forgotten() -> None:
    named = {kind.__name__ for kind in _dataclasses(exchange)}
    assert named == {kind.__name__ for kind in SHAPES} | NEVER_WRITTEN


@pytest.mark.parametrize("union", [Event, Answer, Meaning])
def test_every_member_of_the_unions_has_a_shape(union: UnionType) -> None:
    assert set(get_args(union)) <= set(SHAPES)


@pytest.mark.parametrize("kind", sorted(SHAPES, key=str))
def test_it_round_trips(kind: type) -> None:
    @settings(max_examples=40, deadline=None)
    @given(st.from_type(kind))
    def round_trip(value: Any) -> None:
        again = decode(parse_canonical(canonical(encode(value))))
        assert again == value
        assert type(again) is kind

    round_trip()


@pytest.mark.parametrize("value", [*EVENTS, *GIVEN], ids=lambda value: type(value).__name__)
def test_a_whole_walk_round_trips(value: Any) -> None:
    assert decode(encode(value)) == value


def test_it_reads_as_a_person_would_write_it() -> None:
    event = Heard("gauge.level", Number(psi("105")), "one oh five", 10, 20)
    assert encode(event) == {
        "is": "Heard",
        "question": "gauge.level",
        "meaning": {"is": "Number", "value": "105 psi"},
        "words": "one oh five",
        "occurred_ms": 10,
        "arrived_ms": 20,
    }


GOOD = encode(Heard("q.a", Number(psi("105")), "w", 10, 20))
DAMAGED: dict[str, Any] = {
    "no object": 5,
    "no tag": {k: v for k, v in GOOD.items() if k != "is"},
    "tag is no text": {**GOOD, "is": ["Heard"]},
    "unknown type": {**GOOD, "is": "Guessed"},
    "type that is not written": {"is": "Say", "prompts": []},
    "unknown field": {**GOOD, "mood": "good"},
    "missing field": {k: v for k, v in GOOD.items() if k != "words"},
    "wrong type": {**GOOD, "words": 5},
    "true for a number": {**GOOD, "occurred_ms": True},
    "number for true": {**GOOD, "typed": 1},
    "meaning that is an event": {**GOOD, "meaning": GOOD},
    "meaning missing": {**GOOD, "meaning": None},
    "quantity with no unit": {**GOOD, "meaning": {"is": "Number", "value": "105"}},
    "quantity as a number": {**GOOD, "meaning": {"is": "Number", "value": 105}},
    "quantity too large": {**GOOD, "meaning": {"is": "Number", "value": "1e99 psi"}},
    "quantity in a second form": {**GOOD, "meaning": {"is": "Number", "value": "1e2 psi"}},
    "quantity with a plus": {**GOOD, "meaning": {"is": "Number", "value": "+105 psi"}},
    "default spelled out": {**GOOD, "typed": False},
    "unknown member of an enum": {**GOOD, "meaning": {"is": "Said", "command": "fly"}},
    "list for a text": {**GOOD, "meaning": {"is": "Unclear", "because": ["noise"]}},
    "text for a list": {
        **GOOD,
        "meaning": {"is": "Unclear", "because": "noise", "rivals": "50"},
    },
}


@pytest.mark.parametrize("damage", DAMAGED)
def test_anything_else_is_refused(damage: str) -> None:
    assert decode(GOOD)
    with pytest.raises(JournalError):
        decode(DAMAGED[damage])


@pytest.mark.parametrize(
    "value",
    [
        Heard("q.a", Number(Quantity(Decimal("1e60"), Unit.PSI)), "w", 1, 2),
        Heard("q.a", Yes(), "w", LARGEST + 1, 2),
        object(),
        exchange.Finish("complete"),
    ],
)
def test_what_could_not_be_read_back_is_not_written(value: Any) -> None:
    with pytest.raises(JournalError):
        encode(value)


def test_every_field_is_of_a_shape_that_can_be_read() -> None:
    """A choice is one of our own classes or nothing; a tuple is of any length, of one kind."""
    for kind, fields in SHAPES.items():
        for name, field in fields.items():
            inner = get_args(field.hint)
            if get_origin(field.hint) is tuple:
                assert inner[1:] == (Ellipsis,), (kind, name)
            elif inner:
                assert all(each in (*SHAPES, type(None), Quantity) for each in inner), (kind, name)
                assert any(each in SHAPES for each in inner), (kind, name)
