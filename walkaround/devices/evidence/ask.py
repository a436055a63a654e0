"""Puts the questions to the tables and hands over the answers, with names in place of codes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from walkaround.audit.conclude import Shown
from walkaround.audit.drift import FEWEST
from walkaround.audit.evidence import (
    Copies,
    Copy,
    Digits,
    Elsewhere,
    Evidence,
    LeftOut,
    Note,
    Person,
    Recurring,
    Same,
    Series,
    WalkRef,
)
from walkaround.audit.numbers import FEWEST_NUMBERS
from walkaround.devices.evidence import queries
from walkaround.devices.evidence.reader import COUNTERSIGNED, TRUSTED, UNFINISHED
from walkaround.devices.evidence.store import Store
from walkaround.devices.evidence.tree import from_text, shown
from walkaround.records.signature import WalkKind

_DAY_MS = 86_400_000
_MOST_NOTES = 20_000
_MOST_LISTED = 200
_NO_CODE = -1
_MEASURES = ("build-up", "loss-applied", "loss-released", "stroke@")
"""What is followed over time: what grows as compressor, seals and linings wear."""

Row = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Listed:
    """A file that is no part of the audit, or only shown."""

    path: str
    size: int
    standing: str
    why: str


class Asker:
    """One audit's questions. The store must have been settled."""

    def __init__(self, store: Store) -> None:
        self._tables = store.tables
        rows = self._tables.execute("SELECT name, code FROM names").fetchall()
        self._codes: dict[str, int] = dict(rows)
        self._names = {code: name for name, code in rows}

    def kinds(self) -> tuple[WalkKind, ...]:
        """Kinds of walk that are there, real ones first."""
        rows = self._tables.execute("SELECT DISTINCT kind FROM here JOIN walks USING (walk)")
        there = {self._names[code] for (code,) in rows.fetchall()}
        return tuple(kind for kind in WalkKind if kind.value in there)

    def evidence(self, kind: WalkKind) -> Evidence:
        """Everything that is counted, of one kind of walk."""
        at = {"kind": self._code(kind.value)}
        self._tables.execute(queries.PAIRS, {**at, "no_unit": self._code("")})
        self._tables.execute(queries.VECTORS)
        fewest = {"fewest": FEWEST_NUMBERS}
        counts = self._ask(queries.COUNTS, at)[0]
        return Evidence(
            walks=counts[0],
            vehicles=tuple(sorted(self._names[row[0]] for row in self._ask(queries.VEHICLES, at))),
            people=self._people(at),
            left_out=tuple(self._left_out(at)),
            elsewhere=tuple(
                Elsewhere(*(*self._named(row[:3]), row[3], tuple(row[4])))
                for row in self._ask(
                    queries.ELSEWHERE,
                    {**at, "left_out": self._code("left out"), "most": _MOST_LISTED},
                )
            ),
            same=tuple(
                Same(*(*self._named(row[:3]), *row[3:8], self._names[row[8]], row[9]))
                for row in self._ask(queries.SAME, {})
            ),
            copies=tuple(
                Copies(*(*self._named(row[:2]), row[2], row[3], tuple(row[4] or ())))
                for row in self._ask(queries.COPIES, fewest)
            ),
            copied=tuple(self._copied(fewest)),
            copy_tests=self._ask(queries.COPY_TESTS, fewest)[0][0],
            digits=self._digits(at),
            series=tuple(self._series(at)),
            recurring=tuple(
                Recurring(*(*self._named(row[:3]), tuple(row[3]), *row[4:]))
                for row in self._ask(queries.RECURRING, at)
            ),
            notes=tuple(
                Note(row[0], self._names[row[1]], self._names[row[2]], row[3])
                for row in self._ask(queries.NOTES, {**at, "most": _MOST_NOTES})
            ),
            doubles=tuple(tuple(row[0]) for row in self._ask(queries.DOUBLES, self._complete(at))),
            unplanned=counts[1],
            untimed=counts[2],
        )

    def walks(self, numbers: Iterable[int]) -> Mapping[int, WalkRef]:
        """The walks that conclusions rest on, by number."""
        rows = self._ask(queries.WALKS, {"walks": sorted(set(numbers))})
        return {row[0]: self._ref(row) for row in rows}

    def shown(self, kind: WalkKind) -> Shown:
        """What is only listed: walks never finished, countersignatures."""
        signed = {"kind": self._code(kind.value), "most": _MOST_LISTED}
        unfinished = {**signed, "standing": self._code(UNFINISHED)}
        standing = {"kind": signed["kind"], "standing": COUNTERSIGNED}
        ((borne_out,),) = self._ask(queries.BORNE_OUT, standing)
        titles: dict[str, str] = dict(map(self._named, self._ask(queries.TITLES, {})))
        return Shown(
            titles=titles,
            unfinished=tuple(self._ref(row) for row in self._ask(queries.UNFINISHED, unfinished)),
            countersigned=tuple(
                (row[0], f"{self._names[row[1]]}, as {row[2]}", row[3], row[4])
                for row in self._ask(queries.COUNTERSIGNED, {**signed, **standing})
            ),
            borne_out=borne_out,
        )

    def looked(self) -> Mapping[str, int]:
        """How many files had which standing."""
        return dict(self._ask(queries.LOOKED, {}))

    def records(self) -> frozenset[str]:
        """The SHA-256 of every record that was taken; of the journal beside it, where that was
        read, the table has a second one behind it."""
        return frozenset(content[:64] for (content,) in self._ask(queries.TAKEN, {}))

    def listed(self) -> tuple[Listed, ...]:
        """Files that were not taken, a part of each standing, with the reason."""
        found = []
        for standing in self.looked():
            if standing in (TRUSTED, UNFINISHED, COUNTERSIGNED):
                continue
            rows = self._ask(queries.LISTED, {"standing": standing, "most": _MOST_LISTED})
            found += [
                Listed(shown(from_text(row[0])), row[1], row[2], shown(row[3])) for row in rows
            ]
        return tuple(found)

    # ------------------------------------------------------------ rows to answers

    def _people(self, at: Mapping[str, Any]) -> tuple[Person, ...]:
        rows = self._ask(queries.PEOPLE, self._complete(at))
        people = [Person(self._names[row[0]], *row[1:]) for row in rows]
        return tuple(sorted(people, key=lambda person: person.who))

    def _left_out(self, at: Mapping[str, Any]) -> Iterable[LeftOut]:
        asked = {**self._complete(at), "done": self._code("done")}
        for row in self._ask(queries.LEFT_OUT, asked):
            yield LeftOut(*(*self._named(row[:2]), row[2], row[3], tuple(row[4] or ())))

    def _copied(self, fewest: Mapping[str, Any]) -> Iterable[Copy]:
        for row in self._ask(queries.COPIED, fewest):
            equal, other = (self._named(sorted(codes or ())) for codes in row[5:7])
            who, vehicle = self._named(row[3:5])
            yield Copy(*(*row[:3], who, vehicle, equal, other))

    def _digits(self, at: Mapping[str, Any]) -> tuple[Digits, ...]:
        latest: dict[int, int] = dict(self._ask(queries.LATEST, at))
        counts: dict[int, list[int]] = {}
        for who, digit, count in self._ask(queries.DIGITS, {"psi": self._code("psi")}):
            counts.setdefault(who, [0] * 10)[digit] += count
        return tuple(
            Digits(self._names[who], tuple(row), latest[who]) for who, row in counts.items()
        )

    def _series(self, at: Mapping[str, Any]) -> Iterable[Series]:
        followed = [code for name, code in self._codes.items() if name.startswith(_MEASURES)]
        asked = {**at, "measures": followed or [_NO_CODE], "fewest": FEWEST}
        for row in self._ask(queries.SERIES, asked):
            vehicle, step, measure, rule, place, unit, limit = self._named(row[:7])
            first = row[7][0]
            days = [(at_ms - first) / _DAY_MS for at_ms in row[7]]
            yield Series(
                vehicle, step, measure, rule, place, unit, limit, days, row[8], row[9], first
            )

    def _ref(self, row: Row) -> WalkRef:
        return WalkRef(row[0], row[1], from_text(row[2]), row[3], *self._named(row[4:6]))

    def _named(self, codes: Sequence[int]) -> Row:
        return tuple(self._names[code] for code in codes)

    def _code(self, name: str) -> int:
        return self._codes.get(name, _NO_CODE)

    def _complete(self, at: Mapping[str, Any]) -> dict[str, Any]:
        return {**at, "complete": self._code("complete")}

    def _ask(self, query: str, values: Mapping[str, Any]) -> list[Row]:
        return self._tables.execute(query, dict(values)).fetchall()
