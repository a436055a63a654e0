"""What is asked about parts and limits: questions as data, with what makes an answer right."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from walkaround.errors import ScriptError
from walkaround.learning.words import Words
from walkaround.sheet import Reader, Table, read_sheet

_ASKS = ("does", "bad")
_NOT = frozenset({"not", "no", "never", "don't", "doesn't", "wouldn't", "won't", "isn't", "nor"})


@dataclass(frozen=True, slots=True)
class PartQuestion:
    """A question about a part. Right: all words of one of `right`, and none of `wrong`."""

    name: str  # "governor.does"
    ask: str
    right: tuple[str, ...]
    wrong: tuple[str, ...]
    tells: str
    source: str


@dataclass(frozen=True, slots=True)
class PartsBook:
    """`measures` ask for a limit, `edges` whether a value is inside; both by measure."""

    measures: Mapping[str, str]
    edges: Mapping[str, str]
    parts: tuple[PartQuestion, ...]


def load_parts(content: bytes, file: str) -> PartsBook:
    """Raises ScriptError with file, line and key."""
    top = Reader(read_sheet(content, file, ScriptError), ScriptError, "parts")
    top.text("language")
    book = PartsBook(_texts(top, "measures"), _texts(top, "edges"), tuple(_parts(top)))
    top.done()
    return book


def _texts(top: Reader, key: str) -> dict[str, str]:
    table = top.table_at(key)
    if table is None:
        raise top.fail(f"'{key}' is missing; restore it", key)
    reader = Reader(table, ScriptError, key)
    return {name: reader.text(name) for name in table.items}


def _parts(top: Reader) -> list[PartQuestion]:
    table = top.table_at("parts")
    found = []
    for name, node in table.items.items() if table is not None else ():
        if not isinstance(node, Table):
            raise top.fail(f"'{name}' must hold 'key: value' lines", "parts")
        reader = Reader(node, ScriptError, f"part '{name}'")
        source = reader.text("source")
        for ask in _ASKS:
            inner = reader.table_at(ask)
            if inner is not None:
                found.append(_question(f"{name}.{ask}", Reader(inner, ScriptError, name), source))
        reader.done()
    return found


def _question(name: str, reader: Reader, source: str) -> PartQuestion:
    question = PartQuestion(
        name=name,
        ask=reader.text("ask"),
        right=reader.texts("right"),
        wrong=reader.texts("wrong"),
        tells=reader.text("tell"),
        source=source,
    )
    reader.done()
    if not question.right:
        raise reader.fail("'right' lists no answer; give at least one", "right")
    return question


def is_right(question: PartQuestion, answer: str, words: Words) -> bool:
    """Whether the answer holds one of the right ideas, and no wrong one that is not denied."""
    said = set(words.of(answer))
    if not any(set(words.of(idea)) <= said for idea in question.right):
        return False
    denied = bool(_NOT & set(answer.lower().replace("’", "'").split()))
    return denied or not any(set(words.of(idea)) <= said for idea in question.wrong)
