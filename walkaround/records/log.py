"""A device's log: a signed line for each walk begun, record signed or countersigned, new key.

    {"at":"<wall clock>","prev":"<64 hex>","seq":7,"sha256":"<of the record>","walk":..,"what":..}

Each line is a JWS of its own (`signature.py`) that carries the SHA-256 of the line before,
so the last line, the log's head, pins every line up to it.  Somebody else who keeps a
copy of a head can tell later that a line was taken out, changed or put in before it.
The first line carries the device's key; a `rotated` line, signed by the old key, the next.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

from walkaround.errors import LogError, RecordError, SigningKeyError
from walkaround.records.canonical import Json
from walkaround.records.chain import NO_HASH
from walkaround.records.keys import PublicKey, SigningKey, public_key
from walkaround.records.position import Position
from walkaround.records.shape import Members
from walkaround.records.signature import Paper, SignedLine, WalkKind, is_signed_by, parse_line, sign

START = Position(-1, NO_HASH)
"""Where an empty log ends."""


class What(StrEnum):
    OPENED = "opened"  # first and once: the device's key
    BEGUN = "begun"  # a walk, before anything was heard
    SIGNED = "signed"  # a record: its hash
    COUNTERSIGNED = "countersigned"  # somebody's record: the hash of the countersignature
    ROTATED = "rotated"  # the key that signs from the next line on


@dataclass(frozen=True, slots=True)
class Note:
    """What a line says. `walk` is the walk's id, `sha256` that of the record's bytes, or of a
    countersignature's."""

    what: What
    at: str
    walk: str = ""
    sha256: str = ""
    key: PublicKey | None = None


@dataclass(frozen=True, slots=True)
class LogLine:
    """A line whose chain and signature were checked."""

    position: Position
    kind: WalkKind
    note: Note
    key_id: str


@dataclass(frozen=True, slots=True)
class DeviceLog:
    """`keys` are those that signed in turn, the one in force last; `records` says on which
    line the record of a hash stands."""

    lines: tuple[LogLine, ...]
    keys: tuple[PublicKey, ...]
    records: Mapping[str, int]

    @property
    def end(self) -> Position:
        return self.lines[-1].position

    def holds(self, position: Position) -> bool:
        """Whether this very line stands in the log."""
        there = 0 <= position.seq < len(self.lines)
        return there and self.lines[position.seq].position == position

    def signed(self, sha256: str) -> LogLine | None:
        """The first line that names a record, or a countersignature, of this hash."""
        seq = self.records.get(sha256)
        return None if seq is None else self.lines[seq]

    @property
    def has_countersigned(self) -> bool:
        """Whether its device ever signed over somebody's record."""
        return any(line.note.what is What.COUNTERSIGNED for line in self.lines)

    def clock_went_back(self) -> tuple[int, ...]:
        """Numbers of the lines whose wall clock is before that of the line before."""
        pairs = zip(self.lines, self.lines[1:], strict=False)
        return tuple(b.position.seq for a, b in pairs if b.note.at < a.note.at)


# ---------------------------------------------------------------- writing


def write_line(
    end: Position, note: Note, key: SigningKey, kind: WalkKind
) -> tuple[bytes, Position]:
    """The next line with its line end, and where the log ends then."""
    payload: dict[str, Json] = {
        "at": note.at,
        "prev": end.hash,
        "seq": end.seq + 1,
        "what": note.what.value,
    }
    if note.walk:
        payload["walk"] = note.walk
    if note.sha256:
        payload["sha256"] = note.sha256
    if note.key is not None:
        payload["key"] = note.key.jwk()
    line = sign(payload, key, kind, Paper.LOG)
    return line + b"\n", Position(end.seq + 1, _hash(line))


def sha256_of(record: bytes) -> str:
    """What a log says of a record: the hash of the signed line without a line end."""
    return _hash(record)


def _hash(line: bytes) -> str:
    return hashlib.sha256(line).hexdigest()


@dataclass(frozen=True, slots=True)
class LogEnd:
    """Where a log is to be continued: after `whole_bytes`, by the key of that thumbprint."""

    position: Position = START
    whole_bytes: int = 0
    due: str = ""


def end_of(content: bytes) -> LogEnd:
    """The end of a log's whole lines, read from the last of them alone. Raises LogError.

    What follows the last line end, or is a line with zero bytes, is a write that a crash
    cut short.
    """
    line, whole = last_line(content)
    if not line:
        return LogEnd(whole_bytes=whole)
    where = "the log's last line"
    signed = _parsed(line, where)
    members = _members(signed, where)
    note = _note(members)
    due = signed.key_id if note.key is None else note.key.thumbprint
    return LogEnd(Position(members.integer("seq"), _hash(line)), whole, due)


def last_line(content: bytes) -> tuple[bytes, int]:
    """The last whole line, without its end, and the length of all whole lines."""
    whole = content.rfind(b"\n") + 1
    while whole:
        begins = content.rfind(b"\n", 0, whole - 1) + 1
        line = content[begins : whole - 1]
        if b"\0" not in line:
            return line, whole
        whole = begins
    return b"", 0


# ---------------------------------------------------------------- reading


def read_log(content: bytes) -> DeviceLog:
    """A whole log, every line's place, hash and signature checked. Raises LogError."""
    lines = content.split(b"\n")
    if lines.pop():
        raise LogError("the log's last line is cut short; ask for a whole copy")
    read, keys, end = list[LogLine](), list[PublicKey](), START
    for raw in lines:
        line, key = _read_line(raw, end, keys[-1] if keys else None)
        read.append(line)
        end = line.position
        if key is not None:
            keys.append(key)
    if not read:
        raise LogError("the log is empty; ask for the right file")
    records: dict[str, int] = {}
    for line in read:
        if line.note.sha256:
            records.setdefault(line.note.sha256, line.position.seq)
    return DeviceLog(tuple(read), tuple(keys), records)


def _read_line(
    raw: bytes, end: Position, key: PublicKey | None
) -> tuple[LogLine, PublicKey | None]:
    where = f"line {end.seq + 2} of the log"
    signed = _parsed(raw, where)
    members = _members(signed, where)
    if (members.integer("seq"), members.text("prev")) != (end.seq + 1, end.hash):
        raise LogError(f"{where} does not continue the line before; lines were taken out or moved")
    note = _note(members)
    members.done()
    if (note.what is What.OPENED) != (key is None):
        raise LogError(f"{where}: the device's key stands first and only there")
    by = key if key is not None else note.key
    if by is None or not is_signed_by(signed, by):
        raise LogError(f"{where} is not signed by the key that is due; do not use it")
    line = LogLine(Position(end.seq + 1, _hash(raw)), signed.kind, note, by.thumbprint)
    return line, note.key


def _parsed(raw: bytes, where: str) -> SignedLine:
    try:
        signed = parse_line(raw)
    except RecordError as bad:
        raise LogError(f"{where}: {bad}") from None
    if signed.paper is not Paper.LOG:
        raise LogError(f"{where} is a signed {signed.paper}, not a line of a log")
    return signed


def _members(signed: SignedLine, where: str) -> Members:
    try:
        return Members(signed.payload(), where, LogError)
    except RecordError as bad:
        raise LogError(f"{where}: {bad}") from None


def _note(members: Members) -> Note:
    what = members.member(What, "what")
    note = Note(what, members.text("at"))
    if what in (What.BEGUN, What.SIGNED):
        note = replace(note, walk=members.text("walk"))
    if what in (What.SIGNED, What.COUNTERSIGNED):
        note = replace(note, sha256=members.text("sha256"))
    if what in (What.OPENED, What.ROTATED):
        try:
            note = replace(note, key=public_key(members.plain("key")))
        except SigningKeyError as bad:
            raise LogError(f"the log names a key that is none: {bad}") from None
    return note


# ---------------------------------------------------------------- a head given away


@dataclass(frozen=True, slots=True)
class CopiedHead:
    position: Position
    key_id: str
    at: str


def read_head(content: bytes, keys: Iterable[PublicKey]) -> CopiedHead:
    """A head that was copied from a log, signed by one of `keys`. Raises LogError."""
    raw = content.strip()
    signed = _parsed(raw, "the head")
    members = _members(signed, "the head")
    if not any(is_signed_by(signed, key) for key in keys):
        raise LogError(f"the head is by the key {signed.key_id}, which is not trusted here")
    return CopiedHead(
        Position(members.integer("seq"), _hash(raw)), signed.key_id, members.text("at")
    )


@dataclass(frozen=True, slots=True)
class Absent:
    """A walk of the log that was not shown: begun and never signed, or signed and withheld."""

    walk: str
    what: What
    at: str


def records_of(log: DeviceLog, walk: str) -> tuple[Note, ...]:
    """The records of a walk, in the order of their lines; one that was signed twice counts once."""
    found: dict[str, Note] = {}
    for line in log.lines:
        if line.note.what is What.SIGNED and line.note.walk == walk:
            found.setdefault(line.note.sha256, line.note)
    return tuple(found.values())


def earlier(log: DeviceLog, shown: Collection[str]) -> tuple[Absent, ...]:
    """Records that were not shown, of walks of which a later one was: each stop of a walk signs
    one, and the next takes its place."""
    signed: dict[str, dict[str, Note]] = {}
    last: dict[str, str] = {}  # told of by `absent`
    for line in log.lines:
        if line.note.what is What.SIGNED:
            signed.setdefault(line.note.walk, {}).setdefault(line.note.sha256, line.note)
            last[line.note.walk] = line.note.sha256
    return tuple(
        Absent(walk, note.what, note.at)
        for walk, notes in signed.items()
        if not notes.keys().isdisjoint(shown)
        for note in notes.values()
        if note.sha256 not in shown and note.sha256 != last[walk]
    )


def absent(log: DeviceLog, shown: Collection[str]) -> tuple[Absent, ...]:
    """What the log has and the records of these hashes have not, in the log's order.

    A walk that was signed when it stopped and again when it went on counts by its last line.
    """
    last = {line.note.walk: line.note for line in log.lines if line.note.walk}
    return tuple(
        Absent(walk, note.what, note.at)
        for walk, note in last.items()
        if note.what is What.BEGUN or note.sha256 not in shown
    )
