"""The form of a signed summary: which members it must have, which it may, and of what type.

A kept library reads it, in C: a fleet's audit reads a hundred million of these values.
Members that are not named here are left alone, so that a later version may add some.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec
from msgspec import UNSET, Struct, UnsetType

from walkaround.errors import RecordError
from walkaround.exchange import Outcome
from walkaround.records.canonical import Json
from walkaround.records.signature import WalkKind

Flag = bool | UnsetType
"""A flag that is off is left out; see `on`."""


class Before(Struct):
    seq: int
    said: str


class Answer(Struct):
    ask: str
    said: str = ""
    seq: int | UnsetType = UNSET
    words: str = ""
    points: tuple[tuple[int, str], ...] = ()
    amended: tuple[Before, ...] = ()
    typed: Flag = UNSET
    relayed: Flag = UNSET


class Verdict(Struct):
    rule: int
    outcome: Outcome
    value: str = ""
    uncertainty: str = ""
    note: int | UnsetType = UNSET
    near: Flag = UNSET
    conformity: str = ""
    guard: str = ""
    repeats: int = 0
    doubts: tuple[str, ...] = ()


class Step(Struct):
    id: str
    title: str
    state: str
    where: str = ""
    act: Flag = UNSET
    stale: Flag = UNSET
    answers: tuple[Answer, ...] = ()
    verdicts: tuple[Verdict, ...] = ()
    earlier: tuple[dict[str, object], ...] = ()


class Rule(Struct):
    rule: str
    place: str
    measure: str
    limit: str
    standing: str
    citation: int
    severity: str = ""


class Pointer(Struct):
    step: str
    ask: str | UnsetType = UNSET
    verdict: int | UnsetType = UNSET


class NotDone(Struct):
    step: str
    why: str


class Sitting(Struct):
    sitting: int
    wall: str
    length: str
    seq: int


class Sound(Struct):
    asked_again: dict[str, int]
    microphone_lost: int
    lost_ms: int


class Journal(Struct):
    entries: int
    hash: str


class Summary(Struct):
    walk: WalkKind
    id: str
    program: str
    script: str
    disclaimer: str
    places: tuple[str, ...]
    vehicle: dict[str, str]
    ended: str
    began: str
    duration: str
    interruptions: int
    sittings: tuple[Sitting, ...]
    citations: tuple[str, ...]
    notes: tuple[str, ...]
    rules: tuple[Rule, ...]
    steps: tuple[Step, ...]
    findings: tuple[Pointer, ...]
    undetermined: tuple[Pointer, ...]
    near: tuple[Pointer, ...]
    not_done: tuple[NotDone, ...]
    sources: dict[str, dict[str, str]]
    particulars: dict[str, str]
    sound: Sound
    journal: Journal
    signed_later: Flag = UNSET


def read_form(payload: Mapping[str, Json]) -> Summary:
    """The summary in its form. Raises RecordError, naming the member, for any other."""
    try:
        return msgspec.convert(payload, Summary)
    except msgspec.ValidationError as bad:
        raise RecordError(f"the summary is not in its form ({bad}); the file is damaged") from None


def on(flag: Flag) -> bool:
    """Whether a flag stands there. Raises RecordError for one that is written and off."""
    if flag is UNSET:
        return False
    if flag is not True:
        raise RecordError("a flag of the summary is off and written all the same; it is damaged")
    return True
