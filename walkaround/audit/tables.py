"""The flat tables: what each column holds. Made from records, kept by the edge, exported as is.

The room's README shows this schema; a test holds the two against each other.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType


class Holds(StrEnum):
    """What a column holds; `name` is a text from a small set, kept once and pointed to."""

    NUMBER = "whole number"
    REAL = "number"
    TEXT = "text"
    NAME = "name"
    FLAG = "yes or no"
    NUMBERS = "whole numbers"


@dataclass(frozen=True, slots=True)
class Column:
    name: str
    holds: Holds
    says: str


_N, _R, _T, _S, _F = Holds.NUMBER, Holds.REAL, Holds.TEXT, Holds.NAME, Holds.FLAG

_WALK = Column("walk", _N, "points to `walks`")

TABLES: Mapping[str, tuple[Column, ...]] = MappingProxyType(
    {
        "walks": (
            Column("walk", _N, "number of the walk in these tables; not the same in another audit"),
            Column("content", _T, "SHA-256 of the record, and of its journal where that was read"),
            Column("id", _T, "the walk's own id"),
            Column("kind", _S, "walk, practice or simulated"),
            Column("standing", _S, "trusted, or unfinished where there is a journal only"),
            Column("key", _S, "thumbprint of the signing key"),
            Column("who", _S, "the key's name on the trust list"),
            Column("vehicle", _S, "the vehicle's name, as entered"),
            Column("script", _S, "which inspection script"),
            Column("places", _S, "ISO 3166 codes it was judged for"),
            Column("began_ms", _N, "device clock, milliseconds since 1970; -1 when unreadable"),
            Column("took_s", _R, "all sittings together, seconds"),
            Column("ended", _S, "complete, stopped or unfinished"),
            Column("interruptions", _N, "sittings after the first"),
            Column("entries", _N, "entries of its journal"),
            Column("due", _N, "steps that the script asked for"),
            Column("planned", _F, "the script was found, so that order and times were judged"),
            Column("timed", _F, "the journal was read, so that step times are known"),
        ),
        "steps": (
            _WALK,
            Column("step", _S, "step or act"),
            Column("title", _S, "its title"),
            Column("act", _F, "it restores a state and is no step of its own"),
            Column("state", _S, "done, or why it was not"),
            Column("entry", _N, "journal entry of its first answer; -1 when there is none"),
            Column("took_s", _R, "from the end of what came before to its own; -1 when not known"),
        ),
        "alignment": (
            _WALK,
            Column("step", _S, "a step that the walk has elsewhere than the script, or not"),
            Column("how", _S, "left out, moved, repeated or put in: no fault by itself"),
        ),
        "readings": (
            _WALK,
            Column("question", _S, "step.ask"),
            Column("value", _R, "as said; the primary needle where two were read"),
            Column("second", _R, "the secondary needle; empty where one was read"),
            Column("unit", _S, "their unit; empty for a count"),
        ),
        "verdicts": (
            _WALK,
            Column("step", _S, "where it was judged"),
            Column("rule", _S, "the rule; empty where the place has none"),
            Column("place", _S, "ISO 3166 code"),
            Column("measure", _S, "what was measured"),
            Column("outcome", _S, "met, not met or undetermined"),
            Column("value", _R, "the measure's size; empty where it is no size"),
            Column("unit", _S, "its unit"),
            Column("limit", _S, "as the source words it"),
        ),
        "findings": (
            _WALK,
            Column("step", _S, "where"),
            Column("what", _S, "the measure that was not met, or the question answered badly"),
        ),
        "countersignatures": (
            Column("record", _T, "SHA-256 of the record that was countersigned"),
            Column("content", _T, "SHA-256 of the countersignature itself"),
            Column("kind", _S, "walk, practice or simulated"),
            Column("key", _S, "thumbprint of its key; one by the record's own key does not count"),
            Column("who", _S, "the key's name on the trust list"),
            Column("signer", _T, "name, as the signer wrote it"),
            Column("signed", _T, "date, as the signer wrote it"),
            Column("remarks", _T, "the signer's own words"),
        ),
        "notes": (
            _WALK,
            Column("sort", _S, "order, hold, rise, quick or hurried: what to look at"),
            Column("step", _S, "where; empty for the whole walk"),
            Column("says", _T, "in one sentence"),
        ),
    }
)

LOOKS: tuple[Column, ...] = (
    Column("kind", _T, "walk, practice or simulated"),
    Column("topic", _T, "what it is about"),
    Column("sort", _T, "which test found it"),
    Column("who", _T, "empty where it is about a vehicle"),
    Column("vehicle", _T, "empty where it is about a person's walks on any"),
    Column("step", _T, "empty for whole walks"),
    Column("says", _T, "what was seen"),
    Column("why", _T, "why it is worth a look"),
    Column("chance", _R, "of this by chance; empty for what is simply so"),
    Column("adjusted", _R, "the same, all tests of the audit counted (Holm)"),
    Column("walks", Holds.NUMBERS, "some of the walks it rests on, in `walks`"),
)
"""The exported table of conclusions."""

Row = tuple[object, ...]


class Batch:
    """Rows of some walks, as tuples in the order of the columns; names as numbers.

    `walk` counts from 0 within the batch.
    """

    def __init__(self) -> None:
        self.names: dict[str, int] = {}
        self.rows: dict[str, list[Row]] = {table: [] for table in TABLES}

    def name(self, text: str) -> int:
        """The number of a name, given at its first use."""
        return self.names.setdefault(text, len(self.names))

    @property
    def walks(self) -> int:
        return len(self.rows["walks"])
