"""Strict reading of a plain object: each member is asked for by name and type, none is left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import TypeVar

from walkaround.errors import WalkaroundError
from walkaround.records.canonical import Json

_E = TypeVar("_E", bound=StrEnum)


class Members:
    """A plain object being read; each problem is raised as `error`, naming the member.

    `where` is a name, or (the members it stands in, its key, its number or 0): put into
    words only when there is a problem.
    """

    __slots__ = ("_error", "_place", "_plain", "_taken")

    def __init__(
        self, plain: Json, where: str | tuple[Members, str, int], error: type[WalkaroundError]
    ) -> None:
        self._place, self._error = where, error
        if not isinstance(plain, dict):
            raise error(f"{self._where} is not an object; the file is damaged")
        self._plain: Mapping[str, Json] = plain
        self._taken: list[str] = []

    @property
    def _where(self) -> str:
        if isinstance(self._place, str):
            return self._place
        outer, key, number = self._place
        return f"{outer._where}, '{key}'" + (f" {number}" if number else "")

    @property
    def raw(self) -> Mapping[str, Json]:
        """The whole object, as it was read."""
        return self._plain

    def _get(self, key: str) -> Json:
        self._taken.append(key)
        if key not in self._plain:
            raise self._error(f"{self._where} lacks '{key}'; the file is damaged")
        return self._plain[key]

    def _wrong(self, key: str, wanted: str) -> WalkaroundError:
        return self._error(f"'{key}' in {self._where} is not {wanted}; the file is damaged")

    def text(self, key: str, default: str | None = None) -> str:
        value = self._plain.get(key)
        if type(value) is str:  # the usual case, a hundred times in a record
            self._taken.append(key)
            return value
        if default is not None and key not in self._plain:
            return default
        self._get(key)
        raise self._wrong(key, "a text")

    def integer(self, key: str) -> int:
        value = self._plain.get(key)
        if type(value) is int:
            self._taken.append(key)
            return value
        self._get(key)
        raise self._wrong(key, "a whole number")

    def flag(self, key: str) -> bool:
        """True when it stands there; a flag that is off is left out."""
        if key not in self._plain:
            return False
        if self._get(key) is not True:
            raise self._wrong(key, "true")
        return True

    def member(self, kind: type[_E], key: str) -> _E:
        value = self.text(key)
        try:
            return kind(value)
        except ValueError:
            raise self._wrong(key, f"one of {', '.join(kind)}") from None

    def texts(self, key: str, default: tuple[str, ...] | None = None) -> tuple[str, ...]:
        if default is not None and key not in self._plain:
            return default
        value = self._get(key)
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            raise self._wrong(key, "a list of texts")
        return tuple(str(item) for item in value)

    def text_map(self, key: str) -> dict[str, str]:
        value = self._get(key)
        if not isinstance(value, dict) or not all(isinstance(v, str) for v in value.values()):
            raise self._wrong(key, "an object of texts")
        return {name: str(item) for name, item in value.items()}

    def plain(self, key: str) -> Json:
        return self._get(key)

    def object(self, key: str) -> Members:
        return Members(self._get(key), (self, key, 0), self._error)

    def objects(self, key: str) -> Sequence[Members]:
        value = self._get(key)
        if not isinstance(value, list):
            raise self._wrong(key, "a list")
        return [
            Members(item, (self, key, index), self._error)
            for index, item in enumerate(value, start=1)
        ]

    def done(self) -> None:
        """Refuse a member that nobody asked for."""
        for key in self._plain:
            if key not in self._taken:
                raise self._error(
                    f"{self._where} has a member '{key[:40]}' that is not known here; "
                    "a newer version wrote it"
                )
