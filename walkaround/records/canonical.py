"""Canonical JSON: one way to write a value, and only that way is read (RFC 8785).

Values are objects, lists, texts, small integers, true, false and null.  There is no
fraction here: a number with one is a text with its unit.  `rfc8785` does the writing;
reading re-encodes, with `msgspec` in C or with the standard library, which give the same
bytes for such values and are a hundred and ten times faster (tests hold them against
each other).
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import Annotated, Any, TypeAlias

import msgspec
import rfc8785

Json: TypeAlias = "Mapping[str, Json] | Sequence[Json] | str | int | bool | None"

DEEPEST = 16
"""Levels of nesting; our own records use six."""
LARGEST = 2**53 - 1
"""The integers that every JSON reader keeps exactly (RFC 8785 section 3.2.2.3, RFC 7493)."""

_BEYOND = re.compile("[\U00010000-\U0010ffff]")
_BEYOND_UTF_8 = (b"\xf0", b"\xf1", b"\xf2", b"\xf3", b"\xf4")
"""How such letters begin in UTF-8 (RFC 3629 section 3)."""


def canonical(value: Json) -> bytes:
    """The value's one encoding. Raises ValueError for anything that is not such a value."""
    _refuse_odd(value)
    try:
        return rfc8785.dumps(value)
    except rfc8785.CanonicalizationError as bad:
        raise ValueError(str(bad)) from None


def _object(levels: int) -> Any:
    """The type of an object with at most so many levels of lists and objects in it."""
    leaf = str | Annotated[int, msgspec.Meta(ge=-LARGEST, le=LARGEST)] | bool | None
    inner: Any = leaf
    for _ in range(levels):
        inner = leaf | list[inner] | dict[str, inner]
    return dict[str, inner]


_QUICK_LEVELS = 7
"""Enough for our own records. Each level more doubles the time to begin with; what is nested
deeper is left to the other reader."""
_READER: msgspec.json.Decoder[dict[str, Json]] = msgspec.json.Decoder(_object(_QUICK_LEVELS - 1))
_WRITER = msgspec.json.Encoder(order="sorted")


def parse_canonical(content: bytes) -> dict[str, Json]:
    """The object that `content` is the canonical encoding of.

    Raises ValueError, in one sentence, for any other bytes: duplicate members, white
    space, other orders or escapes, fractions, huge integers, deep nesting.
    """
    # Read and written again by a library that is quick: when those are the bytes that came
    # in, they are the value's one encoding.  All else is for the reader below to judge.
    try:
        value = _READER.decode(content)
    except (msgspec.MsgspecError, UnicodeError, RecursionError):
        return parse_by_the_book(content)
    if _WRITER.encode(value) == content and not any(lead in content for lead in _BEYOND_UTF_8):
        return value
    return parse_by_the_book(content)


def parse_by_the_book(content: bytes) -> dict[str, Json]:
    """The same, rule by rule with the standard library: it says what is wrong."""
    try:
        # A member that stands in it twice is found by writing it again: it would be gone.
        value = json.loads(
            content.decode("utf-8"),
            parse_float=_refuse_fraction,
            parse_constant=_refuse_fraction,
            parse_int=_small_integer,
        )
        if not isinstance(value, dict):
            raise ValueError("it is not a JSON object")
        _refuse_deep(value)
        again = recode(value)
        if again != content:
            json.loads(content, object_pairs_hook=_without_duplicates)  # says so, if it is that
    except json.JSONDecodeError as bad:
        raise ValueError(f"it is not JSON ({bad.msg} at character {bad.pos})") from None
    except UnicodeError:
        raise ValueError("it is not UTF-8 text") from None
    except RecursionError:
        raise ValueError("it is nested too deeply") from None
    if again != content:
        raise ValueError("it is not in canonical form (RFC 8785)")
    return value


def parse_any_layout(content: bytes) -> Json:
    """A JSON file that people lay out and edit: any order and white space, no member twice.

    Raises ValueError.
    """
    try:
        value: Json = json.loads(
            content.decode("utf-8"),
            object_pairs_hook=_without_duplicates,
            parse_constant=_refuse_fraction,
        )
    except RecursionError:
        raise ValueError("it is nested too deeply") from None
    return value


def recode(value: dict[str, Json]) -> bytes:
    """What `canonical` gives, quickly, for a value that came out of `parse_canonical`."""
    text = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    # Keys sort by UTF-16 units (RFC 8785 section 3.2.3); Python sorts by code points,
    # which differs only where there are letters beyond the basic plane.
    if _BEYOND.search(text):
        return rfc8785.dumps(value)
    return text.encode("utf-8")


def _without_duplicates(pairs: list[tuple[str, Json]]) -> dict[str, Json]:
    members = dict(pairs)
    if len(members) != len(pairs):
        raise ValueError("a member stands in it twice")
    return members


def _refuse_fraction(text: str) -> Json:
    raise ValueError(f"'{text[:20]}' is not a whole number; fractions are texts with a unit")


def _small_integer(text: str) -> int:
    if len(text) > 17 or abs(int(text)) > LARGEST:
        raise ValueError(f"the number '{text[:20]}...' is too large")
    return int(text)


def _refuse_deep(value: Json) -> None:
    level: list[Json] = [value]
    for _ in range(DEEPEST - 1):
        level = [
            child
            for node in level
            for child in (node.values() if isinstance(node, dict) else node)  # type: ignore[union-attr]
            if isinstance(child, (dict, list))
        ]
        if not level:
            return
    if any(level):  # an empty one holds nothing deeper
        raise ValueError("it is nested too deeply")


def _refuse_odd(value: object, depth: int = 0) -> None:
    if depth >= DEEPEST:
        raise ValueError("it is nested too deeply")
    if isinstance(value, dict):
        for key, child in value.items():
            if not isinstance(key, str):
                raise ValueError(f"{key!r} is not a text and cannot be a member's name")
            _refuse_odd(child, depth + 1)
    elif isinstance(value, (list, tuple)):
        for child in value:
            _refuse_odd(child, depth + 1)
    elif not (value is None or isinstance(value, (str, int))):
        raise ValueError(f"a {type(value).__name__} has no place in a record; write it as text")
