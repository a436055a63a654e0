"""Data files: text stays text, and every mistake names its line."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from walkaround.errors import SheetError
from walkaround.sheet import Reader, Scalar, read_sheet


def test_every_scalar_stays_text() -> None:
    table = read_sheet(b"a: no\nb: 1:30\nc: 1.10\nd: on\ne: ~\n", "f.yaml")
    texts = [node.text for node in table.items.values() if isinstance(node, Scalar)]
    assert texts == ["no", "1:30", "1.10", "on", "~"]
    assert table.line_of("c") == 3


@pytest.mark.parametrize(
    ("content", "line", "says"),
    [
        (b"", 1, "empty"),
        (b"a: 1\na: 2\n", 2, "stands here twice"),
        (b"a: [1\nb: 2\n", 2, "not readable as YAML"),
        (b"- a\n- b\n", 1, "must begin with"),
        (b"a: &x 1\nb: *x\n", 1, "anchors"),
        (b"a: 1\nb: \xff\n", 2, "UTF-8"),
        (b"[1]: 2\n", 1, "plain word"),
        (b"a: " + b"[" * 60 + b"]" * 60, 1, "too deeply"),
        (b"a: \x00\n", 0, "not readable"),
    ],
    ids=["empty", "twice", "bracket", "list", "alias", "latin", "key", "deep", "nul"],
)
def test_a_mistake_names_its_file_and_line(content: bytes, line: int, says: str) -> None:
    with pytest.raises(SheetError, match=says) as caught:
        read_sheet(content, "broken.yaml")
    assert caught.value.file == "broken.yaml"
    assert caught.value.line == line


def test_a_reader_refuses_what_nothing_asked_for() -> None:
    reader = Reader(read_sheet(b"known: 1\nunknwon: 2\n", "f.yaml"), SheetError)
    assert reader.text("known") == "1"
    with pytest.raises(SheetError, match=r"f.yaml, line 2: 'unknwon' is not a key") as caught:
        reader.done()
    assert caught.value.key == "unknwon"


@given(st.binary(max_size=200))
def test_any_bytes_are_a_table_or_one_error(content: bytes) -> None:
    try:
        read_sheet(content, "f.yaml")
    except SheetError as error:
        assert "\n" not in str(error)
