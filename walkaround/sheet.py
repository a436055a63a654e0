"""A YAML data file read as text, with the file and line of every key.

Every scalar is a str, so that `no`, `on`, `1:30` and `1.10` stay as they are
written.  Duplicate keys, anchors, tags and several documents are refused.  Bytes
come in; nothing is opened here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import yaml

from walkaround.errors import SheetError

_Loader: type = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_DEEPEST = 40


@dataclass(frozen=True, slots=True)
class Scalar:
    """A text and where it stands."""

    text: str
    file: str
    line: int


@dataclass(frozen=True, slots=True)
class Row:
    """A list and where it stands."""

    items: tuple[Node, ...]
    file: str
    line: int

    def __iter__(self) -> Iterator[Node]:
        return iter(self.items)


@dataclass(frozen=True, slots=True)
class Table:
    """A mapping, in file order, and where it and each of its keys stand."""

    items: Mapping[str, Node]
    lines: Mapping[str, int]
    file: str
    line: int

    def line_of(self, key: str) -> int:
        return self.lines.get(key, self.line)


Node = Scalar | Row | Table


def read_sheet(content: bytes, file: str, error: type[SheetError] = SheetError) -> Table:
    """The file's top mapping. Raises `error`, with file and line, for anything else."""
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as bad:
        line = content.count(b"\n", 0, bad.start) + 1
        raise error(
            "this is not UTF-8 text; save the file as UTF-8", file=file, line=line
        ) from None
    try:
        root = yaml.compose(text, Loader=_Loader)
    except yaml.MarkedYAMLError as bad:
        mark = bad.problem_mark or bad.context_mark
        said = bad.problem or bad.context or "not readable"
        raise error(
            f"not readable as YAML ({said}); check the indentation and the quotes here",
            file=file,
            line=mark.line + 1 if mark else 0,
        ) from None
    except yaml.YAMLError as bad:
        said = str(bad).splitlines()[0]
        raise error(f"not readable as YAML ({said}); save it as plain text", file=file) from None
    except RecursionError:
        raise error("nested too deeply; flatten it", file=file) from None
    if root is None:
        raise error("the file is empty; restore it or delete it", file=file, line=1)
    node = _convert(root, file, error, set(), 0)
    if not isinstance(node, Table):
        raise error("the file must begin with 'key: value' lines", file=file, line=1)
    return node


def _convert(
    node: yaml.Node, file: str, error: type[SheetError], seen: set[int], depth: int
) -> Node:
    line = node.start_mark.line + 1
    if id(node) in seen:
        raise error("anchors and aliases are not used here; write it out", file=file, line=line)
    if depth > _DEEPEST:
        raise error("nested too deeply; flatten it", file=file, line=line)
    seen.add(id(node))
    if isinstance(node, yaml.ScalarNode):
        return Scalar(node.value, file, line)
    if isinstance(node, yaml.SequenceNode):
        return Row(tuple(_convert(n, file, error, seen, depth + 1) for n in node.value), file, line)
    items: dict[str, Node] = {}
    lines: dict[str, int] = {}
    for key, value in node.value:
        key_line = key.start_mark.line + 1
        if not isinstance(key, yaml.ScalarNode):
            raise error("a key must be a plain word", file=file, line=key_line)
        if key.value in items:
            raise error(
                f"'{key.value}' stands here twice; keep one",
                file=file,
                line=key_line,
                key=key.value,
            )
        items[key.value] = _convert(value, file, error, seen, depth + 1)
        lines[key.value] = key_line
    return Table(items, lines, file, line)


class Reader:
    """Takes known keys out of one table; `done` refuses whatever is left.

    Every method raises the error class it was made with, naming file, line and key.
    """

    def __init__(self, table: Table, error: type[SheetError], about: str = "") -> None:
        self.table, self.error, self.about = table, error, about
        self._taken: set[str] = set()

    def fail(self, problem: str, key: str = "") -> SheetError:
        """An error at the key's line, to be raised by the caller."""
        head = f"{self.about}: " if self.about else ""
        return self.error(
            head + problem, file=self.table.file, line=self.table.line_of(key), key=key
        )

    def node(self, key: str) -> Node | None:
        self._taken.add(key)
        return self.table.items.get(key)

    def text(self, key: str, default: str | None = None) -> str:
        node = self.node(key)
        if node is None:
            if default is None:
                raise self.fail(f"'{key}' is missing; add it", key)
            return default
        if not isinstance(node, Scalar):
            raise self.fail(f"'{key}' must be a single text", key)
        if default is None and not node.text.strip():
            raise self.fail(f"'{key}' is empty; fill it in", key)
        return node.text

    def choice(self, key: str, allowed: Sequence[str], default: str | None = None) -> str:
        value = self.text(key, default)
        if value not in allowed:
            raise self.fail(
                f"'{key}: {value}' must be one of {', '.join(filter(None, allowed))}", key
            )
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts; a single text counts as a list of one; missing is empty."""
        node = self.node(key)
        if node is None:
            return ()
        if isinstance(node, Scalar):
            return (node.text,)
        if isinstance(node, Row) and all(isinstance(n, Scalar) for n in node.items):
            return tuple(n.text for n in node.items if isinstance(n, Scalar))
        raise self.fail(f"'{key}' must be a list of texts", key)

    def table_at(self, key: str) -> Table | None:
        node = self.node(key)
        if node is None or isinstance(node, Table):
            return node
        raise self.fail(f"'{key}' must hold 'key: value' lines", key)

    def rows(self, key: str) -> tuple[Table, ...]:
        """A list of mappings; missing is empty."""
        node = self.node(key)
        if node is None:
            return ()
        if isinstance(node, Row) and all(isinstance(n, Table) for n in node.items):
            return tuple(n for n in node.items if isinstance(n, Table))
        raise self.fail(f"'{key}' must be a list of 'key: value' groups", key)

    def done(self) -> None:
        """Refuse the first key that nothing asked for."""
        for key in self.table.items:
            if key not in self._taken:
                raise self.fail(
                    f"'{key}' is not a key I know here; known are {', '.join(sorted(self._taken))}",
                    key,
                )
