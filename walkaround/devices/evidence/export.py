"""The flat tables as files for people's own tools: Parquet and CSV, names written out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

import duckdb

from walkaround.audit.looks import Look
from walkaround.audit.tables import LOOKS, TABLES, Column, Holds
from walkaround.devices.disk import disk_error, make_folder
from walkaround.devices.evidence.store import Store
from walkaround.devices.regular import must_be_replaceable
from walkaround.errors import DiskError

_FORMATS = {"parquet": "FORMAT parquet, COMPRESSION zstd", "csv": "FORMAT csv, HEADER"}


def export(store: Store, looks: Iterable[tuple[str, Look]], folder: Path) -> tuple[Path, ...]:
    """Write every table of the walks found now, and the looks, in both formats.

    `looks` come with their kind of walk. Raises DiskError.
    """
    make_folder(folder)
    _looks(store, looks)
    selected = {name: _written_out(name, columns) for name, columns in TABLES.items()}
    selected["looks"] = "SELECT * FROM looks ORDER BY ALL"
    written = []
    for name, query in selected.items():
        for suffix, options in _FORMATS.items():
            path = folder / f"{name}.{suffix}"
            _must_be_replaceable(path)
            target = str(path).replace("'", "''")
            try:
                store.tables.execute(f"COPY ({query}) TO '{target}' ({options})")
            except duckdb.Error as bad:
                raise DiskError(f"cannot write {path} ({str(bad)[:120]}); choose another") from bad
            written.append(path)
    return tuple(written)


def _must_be_replaceable(path: Path) -> None:
    try:
        must_be_replaceable(path)
    except OSError as bad:
        raise disk_error(path, bad, "or name another folder with --export") from bad


def _written_out(table: str, columns: Sequence[Column]) -> str:
    """The query of a table with names in place of their codes."""
    picked = ", ".join(
        f'(SELECT name FROM names WHERE code = t."{c.name}") AS "{c.name}"'
        if c.holds is Holds.NAME
        else f't."{c.name}"'
        for c in columns
    )
    if columns[0].name != "walk":
        return f"SELECT {picked} FROM {table} t ORDER BY ALL"
    return f"SELECT {picked} FROM {table} t SEMI JOIN here USING (walk) ORDER BY ALL"


def _looks(store: Store, looks: Iterable[tuple[str, Look]]) -> None:
    inside = ", ".join(f'"{c.name}" {_TYPES[c.holds]}' for c in LOOKS)
    store.tables.execute(f"CREATE OR REPLACE TEMP TABLE looks ({inside})")
    rows = [
        (
            kind,
            look.topic.value,
            look.sort,
            look.who,
            look.vehicle,
            look.step,
            look.says,
            look.why,
            look.chance,
            look.adjusted,
            list(look.walks),
        )
        for kind, look in looks
    ]
    if rows:
        holes = ", ".join("?" for _ in LOOKS)
        store.tables.executemany(f"INSERT INTO looks VALUES ({holes})", rows)


_TYPES = {
    Holds.TEXT: "VARCHAR",
    Holds.REAL: "DOUBLE",
    Holds.NUMBERS: "BIGINT[]",
}
