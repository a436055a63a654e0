"""The flat tables on disk, in DuckDB: kept from one audit to the next, cut to what is there now.

The file's name holds the hash of the trust list and of this program's version: under
another list nothing that was verified before counts.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import duckdb
import numpy as np
from numpy.typing import NDArray

from walkaround import __version__
from walkaround.audit.tables import TABLES, Batch, Column, Holds
from walkaround.devices.disk import make_folder
from walkaround.devices.evidence.reader import TRUSTED, UNFINISHED, Looked
from walkaround.devices.evidence.tree import as_text
from walkaround.errors import DiskError, InUseError
from walkaround.records.trust import TrustList, serialise_trust

_Array = NDArray[Any]
_LAYOUT = "5"
"""Raise it when a table or the way that rows are made changes."""
_TAKEN_AT_ONCE = 20
"""Readings to a commit, each a sync: what a kill loses is only read again."""
MEMORY_MB = 350
"""Of the tables' engine; what does not fit goes to its own temporary file beside the tables."""

_SQL: Mapping[Holds, str] = {
    Holds.NUMBER: "BIGINT",
    Holds.REAL: "DOUBLE",
    Holds.TEXT: "VARCHAR",
    Holds.NAME: "INTEGER",
    Holds.FLAG: "BOOLEAN",
}
_ARRAY: Mapping[Holds, type] = {
    Holds.NUMBER: np.int64,
    Holds.REAL: np.float64,
    Holds.TEXT: object,
    Holds.NAME: np.int32,
    Holds.FLAG: np.bool_,
}
_LOOKED = "path VARCHAR, size BIGINT, content VARCHAR, standing VARCHAR, why VARCHAR"


def version_of(trust: TrustList) -> str:
    """What a verification depends on besides the bytes: trust list, program, layout."""
    told = serialise_trust(trust) + f"{__version__}/{_LAYOUT}".encode()
    return hashlib.sha256(told).hexdigest()[:24]


class Store:
    """Open tables. Use it in a `with`; a second audit at the same time is refused."""

    def __init__(self, folder: Path, trust: TrustList, *, threads: int = 2, first: int = 0) -> None:
        """`first` is the number of the first walk of an empty store: parts of one audit keep
        theirs apart by it. Raises InUseError when another audit has the tables, DiskError."""
        make_folder(folder)
        path = folder / f"audit-{version_of(trust)}.duckdb"
        self.tables = _connect(path, threads)
        self._names: dict[str, int] = {}
        self._contents: dict[str, str] = {}
        self._next = first
        self._taken = 0  # readings that are not committed yet
        self._prepare()

    # ------------------------------------------------------------ what is kept

    @property
    def known(self) -> Mapping[str, str]:
        """Contents that were verified before, with their standing."""
        return self._contents

    def _prepare(self) -> None:
        for table, columns in TABLES.items():
            inside = ", ".join(f'"{c.name}" {_SQL[c.holds]}' for c in columns)
            self.tables.execute(f"CREATE TABLE IF NOT EXISTS {table} ({inside})")
        self.tables.execute("CREATE TABLE IF NOT EXISTS names (code INTEGER, name VARCHAR)")
        self.tables.execute(f"CREATE TEMP TABLE looked ({_LOOKED})")
        rows = self.tables.execute("SELECT name, code FROM names").fetchall()
        self._names = dict(rows)
        standing = "SELECT content, name FROM walks JOIN names ON code = standing"
        self._contents = dict(self.tables.execute(standing).fetchall())
        signed = self.tables.execute("SELECT content FROM countersignatures").fetchall()
        self._contents |= {content: "countersignature" for (content,) in signed}
        ((last,),) = self.tables.execute("SELECT max(walk) FROM walks").fetchall()
        self._next = self._next if last is None else last + 1

    def take(self, looked: Sequence[Looked], batch: Batch) -> None:
        """Add what one reading found; a walk that is there already is not added twice."""
        self._begin()
        if looked:
            told = [
                (as_text(one.path), one.size, one.content, one.standing, one.why) for one in looked
            ]
            self._insert("looked", ("path", "size", "content", "standing", "why"), told, _TOLD)
        codes = self._codes(batch)
        numbers = self._numbers(batch)
        for table, columns in TABLES.items():
            rows = batch.rows[table]
            if table == "countersignatures":
                rows = [row for row in rows if str(row[1]) not in self._contents]
                self._contents |= {str(row[1]): "countersignature" for row in rows}
            if rows:
                self._fill(table, columns, rows, codes, numbers)
        self._taken += 1
        if self._taken >= _TAKEN_AT_ONCE:
            self._commit()

    def _begin(self) -> None:
        if not self._taken:
            self.tables.execute("BEGIN")

    def _commit(self) -> None:
        if self._taken:
            self._taken = 0
            self.tables.execute("COMMIT")

    def _codes(self, batch: Batch) -> _Array:
        """The batch's own number of each name -> the number kept here."""
        new = [name for name in batch.names if name not in self._names]
        if new:
            start = len(self._names)
            self._names |= {name: start + at for at, name in enumerate(new)}
            told = [(self._names[name], name) for name in new]
            self._insert("names", ("code", "name"), told, (np.int32, object))
        return np.array([self._names[name] for name in batch.names] or [0], dtype=np.int32)

    def _numbers(self, batch: Batch) -> _Array:
        """The batch's own number of each walk -> the number kept here; -1 for one known."""
        standings = {code: name for name, code in batch.names.items()}
        numbers = []
        for row in batch.rows["walks"]:
            content, standing = str(row[1]), standings[int(str(row[4]))]
            if content in self._contents:
                numbers.append(-1)
                continue
            self._contents[content] = standing
            numbers.append(self._next)
            self._next += 1
        return np.array(numbers or [0], dtype=np.int64)

    def _fill(
        self,
        table: str,
        columns: Sequence[Column],
        rows: Sequence[tuple[object, ...]],
        codes: _Array,
        numbers: _Array,
    ) -> None:
        made = dict[str, _Array]()
        for column, values in zip(columns, zip(*rows, strict=True), strict=True):
            array: _Array = np.array(values, dtype=_ARRAY[column.holds])
            if column.holds is Holds.NAME:
                array = codes[array]
            elif column.name == "walk":
                array = numbers[array]
            made[column.name] = array
        if "walk" in made:
            new = made["walk"] >= 0
            made = {name: array[new] for name, array in made.items()}
        self._insert_arrays(table, made)

    def _insert(
        self,
        table: str,
        names: Sequence[str],
        rows: Iterable[tuple[object, ...]],
        types: Sequence[type],
    ) -> None:
        columns = zip(*rows, strict=True)
        arrays: list[_Array] = [np.array(c, dtype=t) for c, t in zip(columns, types, strict=True)]
        self._insert_arrays(table, dict(zip(names, arrays, strict=True)))

    def _insert_arrays(self, table: str, arrays: Mapping[str, _Array]) -> None:
        if not len(next(iter(arrays.values()))):
            return
        listed = ", ".join(f'"{name}"' for name in arrays)
        self.tables.register("incoming", arrays)
        self.tables.execute(f"INSERT INTO {table} ({listed}) SELECT {listed} FROM incoming")
        self.tables.unregister("incoming")

    # ------------------------------------------------------------ what is there now

    def settle(self) -> None:
        """After everything was read: cut the tables down to the walks found this time.

        `now` holds the walks to audit: trusted, and of a walk with several records the one
        that its journal took furthest.
        """
        self._commit()
        self.tables.execute(
            f"""
            CREATE TEMP TABLE here AS
              SELECT w.walk, min(l.path) AS path, count(*) AS copies
              FROM walks w JOIN looked l USING (content)
              WHERE l.standing IN ('{TRUSTED}', '{UNFINISHED}') GROUP BY w.walk;
            CREATE TEMP TABLE now AS
              SELECT w.*, h.path FROM walks w JOIN here h USING (walk)
              WHERE w.standing = (SELECT code FROM names WHERE name = '{TRUSTED}')
              QUALIFY row_number() OVER (
                PARTITION BY w.kind, w.id, w.key
                ORDER BY w.entries DESC, w.walk) = 1;
            """
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        _kind: type[BaseException] | None,
        _error: BaseException | None,
        _trace: TracebackType | None,
    ) -> None:
        self.tables.close()


_TOLD = (object, np.int64, object, object, object)


def _connect(path: Path, threads: int) -> duckdb.DuckDBPyConnection:
    settings: dict[str, str | bool | int | float | list[str]] = {
        "memory_limit": f"{MEMORY_MB}MB",
        "threads": threads,
        "temp_directory": str(path.with_suffix(".tmp")),
        "preserve_insertion_order": False,
        "autoinstall_known_extensions": False,
        "autoload_known_extensions": False,
    }
    try:
        return duckdb.connect(str(path), config=settings)
    except duckdb.IOException as bad:
        if "lock" in str(bad).lower():
            raise InUseError(
                f"another audit is using {path.parent}; wait for it or choose another --cache"
            ) from bad
        raise DiskError(f"cannot open {path}; choose another folder with --cache") from bad
    except duckdb.Error as bad:
        raise DiskError(f"{path} is damaged ({str(bad)[:120]}); delete it and run again") from bad
