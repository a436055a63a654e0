"""The JSON Parsing Test Suite, through both of our readers (vectors/README.md).

What a record may be is far less than JSON: an object in its one canonical form, with no
fraction.  So of what the suite says must be accepted we accept what is already canonical,
and everything that it says must be refused we refuse.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import rfc8785

from walkaround.records.canonical import LARGEST, parse_any_layout, parse_canonical

VECTORS = Path(__file__).parent / "vectors" / "json-parsing.jsonl"
CASES: dict[str, bytes] = {
    case["name"]: case["input"].encode("utf-8", "surrogatepass")
    for case in map(json.loads, VECTORS.read_text("utf-8").splitlines())
}
CASES["n_structure_100000_opening_arrays"] = b"[" * 100_000
CASES["n_structure_open_array_object"] = b'[{"":' * 50_000 + b"\n"
KINDS = (95, 176, 22)
TWICE = ("y_object_duplicated_key", "y_object_duplicated_key_and_value")
"""Accepted by the suite; a member that stands twice is refused by us (RFC 8725 section 3.10)."""


def _accepts(reader: Any, content: bytes) -> bool:
    try:
        reader(content)
    except ValueError:
        return False
    return True


def _is_canonical(content: bytes) -> bool:
    """By the standard library and the kept canonicaliser alone, apart from our reader."""
    value = json.loads(content)
    if not isinstance(value, dict) or any(_fraction(v) for v in value.values()):
        return False
    try:
        return bool(rfc8785.dumps(value) == content)
    except (rfc8785.CanonicalizationError, UnicodeError):
        return False


def _fraction(value: object) -> bool:
    if isinstance(value, int) and not isinstance(value, bool):
        return abs(value) > LARGEST
    return isinstance(value, float) or (isinstance(value, list) and any(map(_fraction, value)))


def test_all_of_it_is_here() -> None:
    kinds = [name[0] for name in CASES]
    assert (kinds.count("y"), kinds.count("n"), kinds.count("i")) == KINDS


@pytest.mark.parametrize("name", [name for name in CASES if name[0] == "n"])
def test_what_must_be_refused(name: str) -> None:
    assert not _accepts(parse_canonical, CASES[name])
    assert not _accepts(parse_any_layout, CASES[name])


@pytest.mark.parametrize("name", [name for name in CASES if name[0] == "y"])
def test_what_must_be_accepted(name: str) -> None:
    content = CASES[name]
    assert _accepts(parse_any_layout, content) is (name not in TWICE)
    assert _accepts(parse_canonical, content) is (name not in TWICE and _is_canonical(content))


def test_some_of_it_is_canonical_already() -> None:
    """So that the law above is not kept by refusing everything."""
    taken = [name for name in CASES if name[0] == "y" and _accepts(parse_canonical, CASES[name])]
    assert len(taken) >= 4, taken


@pytest.mark.parametrize("name", [name for name in CASES if name[0] == "i"])
def test_what_is_left_to_the_reader_is_refused_in_a_record(name: str) -> None:
    assert not _accepts(parse_canonical, CASES[name])
