"""What a verification is given, and what its steps so far have found out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from walkaround.records.canonical import Json
from walkaround.records.journal import JournalReading
from walkaround.records.keys import PublicKey
from walkaround.records.log import DeviceLog, LogLine
from walkaround.records.second import Weighed
from walkaround.records.signature import Parts, WalkKind
from walkaround.records.trust import TrustList
from walkaround.records.view import SummaryView


class NotCheckedError(Exception):
    """A step that cannot be done with what was given."""


@dataclass(slots=True)
class Case:
    """Filled step by step."""

    record: bytes
    trust: TrustList
    journal: bytes | None
    attachments: Mapping[str, bytes] | None
    openings: bytes | None
    log: bytes | DeviceLog | None
    heads: Sequence[bytes]
    countersignatures: Mapping[str, bytes]
    countersigners: Sequence[DeviceLog]
    sounds: Mapping[str, bytes] | None
    parts: Parts = (b"", b"", b"")
    header: Mapping[str, Json] = field(default_factory=dict)
    kind: WalkKind | None = None
    payload: dict[str, Json] = field(default_factory=dict)
    summary: SummaryView | None = None
    key: PublicKey | None = None
    reading: JournalReading | None = None
    device_log: DeviceLog | None = None
    signed_in: LogLine | None = None  # the line of the log that names the record
    countersigned: tuple[Weighed, ...] = ()
    signed_later: bool = False

    @property
    def told(self) -> SummaryView:
        """The summary; steps after the sixth run only when there is one."""
        assert self.summary is not None
        return self.summary

    @property
    def key_id(self) -> str:
        return str(self.header.get("kid", ""))
