"""Strict reading of an object: each member by name and type, each problem in one sentence."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from walkaround.errors import JournalError, RecordError
from walkaround.records.log import What
from walkaround.records.shape import Members


def members(plain: Any) -> Members:
    return Members(plain, "the paper", RecordError)


def test_what_is_there_is_read() -> None:
    plain: Any = {
        "text": "a", "none": "", "number": 5, "flag": True, "what": "begun", "texts": ["a", "b"],
        "no texts": [], "map": {"a": "b"}, "inner": {"x": "y"}, "list": [{"x": "1"}, {"x": "2"}],
        "plain": [1],
    }  # fmt: skip
    read = members(plain)
    assert (read.text("text"), read.text("none"), read.text("text", "z")) == ("a", "", "a")
    assert read.integer("number") == 5
    assert read.flag("flag") is True
    assert read.member(What, "what") is What.BEGUN
    assert read.texts("texts") == ("a", "b")
    assert read.texts("no texts", ("z",)) == ()
    assert read.text_map("map") == {"a": "b"}
    assert read.object("inner").text("x") == "y"
    assert [item.text("x") for item in read.objects("list")] == ["1", "2"]
    assert read.plain("plain") == [1]
    assert read.raw == plain
    read.done()


def test_what_is_left_out_has_its_default_and_only_where_there_is_one() -> None:
    read = members({})
    assert read.text("x", "z") == "z"
    assert read.text("x", "") == ""
    assert read.flag("x") is False
    assert read.texts("x", ("z",)) == ("z",)
    assert read.texts("x", ()) == ()
    read.done()


WRONG: dict[str, tuple[Callable[[Members], object], Any, str]] = {
    "text": (lambda m: m.text("x"), 5, "a text"),
    "text, with a default": (lambda m: m.text("x", "z"), None, "a text"),
    "number": (lambda m: m.integer("x"), "5", "a whole number"),
    "number, true": (lambda m: m.integer("x"), True, "a whole number"),
    "flag": (lambda m: m.flag("x"), 1, "true"),
    "flag that is off": (lambda m: m.flag("x"), False, "true"),
    "member": (
        lambda m: m.member(What, "x"), "burnt",
        "one of opened, begun, signed, countersigned, rotated",
    ),
    "texts": (lambda m: m.texts("x"), "ab", "a list of texts"),
    "texts, one of them none": (lambda m: m.texts("x"), ["a", 5], "a list of texts"),
    "texts, with a default": (lambda m: m.texts("x", ()), {"a": "b"}, "a list of texts"),
    "map": (lambda m: m.text_map("x"), ["a"], "an object of texts"),
    "map of others": (lambda m: m.text_map("x"), {"a": "b", "c": 5}, "an object of texts"),
    "list": (lambda m: m.objects("x"), {"a": "b"}, "a list"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_what_is_of_another_type_is_said(name: str) -> None:
    read, value, wanted = WRONG[name]
    with pytest.raises(RecordError) as bad:
        read(members({"x": value}))
    assert str(bad.value) == f"'x' in the paper is not {wanted}; the file is damaged"


@pytest.mark.parametrize(
    "read",
    [
        lambda m: m.text("x"),
        lambda m: m.integer("x"),
        lambda m: m.member(What, "x"),
        lambda m: m.texts("x"),
        lambda m: m.text_map("x"),
        lambda m: m.object("x"),
        lambda m: m.objects("x"),
        lambda m: m.plain("x"),
    ],
)
def test_what_is_missing_is_said(read: Callable[[Members], object]) -> None:
    with pytest.raises(RecordError) as bad:
        read(members({"y": 5}))
    assert str(bad.value) == "the paper lacks 'x'; the file is damaged"


def test_where_it_is_wrong_is_said_from_the_outside_in() -> None:
    deep = members({"list": [{}, {"inner": {"x": 5}}]})
    with pytest.raises(RecordError) as bad:
        deep.objects("list")[1].object("inner").text("x")
    assert str(bad.value) == (
        "'x' in the paper, 'list' 2, 'inner' is not a text; the file is damaged"
    )
    for plain in list[Any](([], "a", None, 5)):
        with pytest.raises(JournalError) as bad_journal:
            Members(plain, "line 3", JournalError)
        assert str(bad_journal.value) == "line 3 is not an object; the file is damaged"
    with pytest.raises(RecordError) as bad:
        deep.object("list")
    assert str(bad.value) == "the paper, 'list' is not an object; the file is damaged"


@pytest.mark.parametrize(
    "read",
    [
        lambda m: m.text("x"),
        lambda m: m.text("x", "z"),
        lambda m: m.plain("x"),
    ],
)
def test_what_nobody_asked_for_is_refused(read: Callable[[Members], object]) -> None:
    whole = members({"x": "a", "m" * 60: "b"})
    read(whole)
    with pytest.raises(RecordError) as bad:
        whole.done()
    assert str(bad.value) == (
        f"the paper has a member '{'m' * 40}' that is not known here; a newer version wrote it"
    )
    alone = members({"x": "a"})
    read(alone)
    alone.done()
