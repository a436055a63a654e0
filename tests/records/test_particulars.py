"""A person's particulars: committed to, opened one by one, removable."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from walkaround.errors import RecordError
from walkaround.records.particulars import (
    Opened,
    commit,
    open_commitment,
    openings_file,
    read_openings,
)

SALT = bytes(range(32))
PERSON = {"name": "A. Person", "licence": "X1234", "empty": ""}
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)


@settings(max_examples=40, deadline=None)
@given(st.dictionaries(texts, texts, max_size=5), st.binary(min_size=32, max_size=32))
def test_what_was_committed_opens(person: dict[str, str], salt: bytes) -> None:
    commitments, content = commit(person, salt)
    opened = read_openings(content)
    assert {name: item.value for name, item in opened.items()} == person
    assert all(open_commitment(commitments, name, item) for name, item in opened.items())


def test_nothing_else_opens() -> None:
    commitments, content = commit(PERSON, SALT)
    opened = read_openings(content)["name"]
    assert not open_commitment(commitments, "name", Opened(opened.salt, "B. Person"))
    assert not open_commitment(commitments, "name", Opened(opened.salt + "A", opened.value))
    assert not open_commitment(commitments, "licence", opened)
    assert not open_commitment(commitments, "age", opened)


def test_commitments_tell_nothing_and_are_not_linked() -> None:
    first, _ = commit({"name": "A", "same": "A"}, SALT)
    second, _ = commit({"name": "A"}, bytes(32))
    assert len({first["name"], first["same"], second["name"]}) == 3
    assert all(len(text) == 64 for text in first.values())


def test_one_opening_shows_no_other_salt() -> None:
    opened = read_openings(commit(PERSON, SALT)[1])
    assert len({item.salt for item in opened.values()}) == len(PERSON)


def test_some_openings_may_be_taken_out() -> None:
    commitments, content = commit(PERSON, SALT)
    opened = read_openings(content)
    del opened["name"]
    again = read_openings(openings_file(opened))
    assert set(again) == {"licence", "empty"}
    assert all(open_commitment(commitments, name, item) for name, item in again.items())


@pytest.mark.parametrize("salt", [b"", bytes(16), bytes(33)])
def test_a_salt_that_could_be_guessed(salt: bytes) -> None:
    with pytest.raises(RecordError, match="32 random bytes"):
        commit(PERSON, salt)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"{}",
        b'{"format":"walkaround-openings-1"}',
        b'{"format":"walkaround-openings-2","openings":{}}',
        b'{"format":"walkaround-openings-1","openings":[]}',
        b'{"format":"walkaround-openings-1","openings":{"name":"A"}}',
        b'{"format":"walkaround-openings-1","openings":{"name":{"salt":"x"}}}',
        b'{"format":"walkaround-openings-1","openings":{"name":{"salt":"x","value":5}}}',
        b'{"format":"walkaround-openings-1","openings":{"n":{"a":"","salt":"x","value":"y"}}}',
        b'{"format":"walkaround-openings-1","openings":{},"x":1}',
        b'{"format":"walkaround-openings-1", "openings":{}}',
    ],
)
def test_an_openings_file_out_of_order(content: bytes) -> None:
    with pytest.raises(RecordError):
        read_openings(content)
