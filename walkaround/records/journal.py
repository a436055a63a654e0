"""The journal: one canonical JSON object a line, each carrying the hash of the one before.

    {"body":{...},"hash":"<64 hex>","kind":"event","prev":"<64 hex>","seq":7,"sitting":1}

`hash` is SHA-256 over the canonical form of the line without `hash`; `prev` of the first
line is 64 zeros; `seq` counts from 0.  Every few entries the head is signed in an entry
of its own.  A last line that a crash cut short is reported and left out; any other
change, removal, repetition or new order raises JournalError with the line's number.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from types import MappingProxyType

from walkaround.errors import JournalError
from walkaround.exchange import Event, Given, Prompt, SittingOpened
from walkaround.records.canonical import Json, canonical, parse_canonical, recode
from walkaround.records.chain import NO_HASH
from walkaround.records.codec import decode, encode
from walkaround.records.keys import SigningKey
from walkaround.records.opening import Opening, opening_body, read_opening
from walkaround.records.shape import Members
from walkaround.records.signature import Paper, WalkKind, parse_line, sign
from walkaround.records.sound import Clip

HEAD_EVERY = 8
"""Entries between signed heads: what a thief of the disk could still rewrite unseen."""
_LARGEST_LINE = 1_000_000
_LINES_AT_ONCE = 5
"""As many lines may be written and synced together: prompts said, an event, a signed head."""


class EntryKind(StrEnum):
    OPENING = "opening"  # first, once: what walk this is
    SITTING = "sitting"  # a start or a resume
    EVENT = "event"
    SAID = "said"  # prompts, by id
    HEAD = "head"  # the entry before, signed
    SOUND = "sound"  # a recording of an answer, by its hash
    CLOSING = "closing"


class Ended(StrEnum):
    """How a walk came to its end; after `stopped` it may be taken up again."""

    COMPLETE = "complete"
    STOPPED = "stopped"


@dataclass(frozen=True, slots=True)
class Head:
    """Where a journal ends: all that is needed to write its next line."""

    seq: int = -1
    hash: str = NO_HASH
    sitting: int = 0
    signed_seq: int = -1  # the last entry that a signed head covers
    complete: bool = False

    @property
    def due(self) -> bool:
        """Whether it is time to sign the head."""
        return self.seq - self.signed_seq >= HEAD_EVERY


EMPTY = Head()
"""A journal without a line."""


@dataclass(frozen=True, slots=True)
class Entry:
    seq: int
    prev: str
    sitting: int
    kind: EntryKind
    body: Mapping[str, Json]
    hash: str

    def event(self) -> Event:
        """The event of a sitting or event entry. Raises JournalError with the line's number."""
        if self.kind not in (EntryKind.EVENT, EntryKind.SITTING):
            raise JournalError(f"line {self.seq + 1} of the journal holds no event")
        try:
            event: Event = decode(self.body["event"])
        except JournalError as bad:
            raise JournalError(f"line {self.seq + 1} of the journal: {bad}") from None
        return event


@dataclass(frozen=True, slots=True)
class JournalReading:
    """`torn_tail` are the bytes of a last line that a crash cut short: cut them off the file,
    at `whole_bytes`, before writing on."""

    opening: Opening
    entries: tuple[Entry, ...]
    head: Head
    whole_bytes: int
    torn_tail: bytes = b""


# ---------------------------------------------------------------- writing

Written = tuple[bytes, Head]
"""A line with its newline, and the head after it."""


def open_journal(opening: Opening) -> Written:
    """The first line of a new journal."""
    return next_entry(EMPTY, EntryKind.OPENING, opening_body(opening))


def write_event(head: Head, event: Event) -> Written:
    """The next line, for an event; a SittingOpened becomes a sitting entry."""
    if isinstance(event, SittingOpened):
        head = replace(head, sitting=event.sitting)
        return next_entry(head, EntryKind.SITTING, {"event": encode(event)})
    return next_entry(head, EntryKind.EVENT, {"event": encode(event)})


def write_said(head: Head, prompts: Iterable[Prompt], at_ms: int) -> Written:
    """The next line, for prompts that were spoken: ids and values, not the wording itself."""
    body = [
        {
            "id": prompt.id,
            "wording": prompt.wording.value,
            "values": {name: str(value) for name, value in prompt.values.items()},
        }
        for prompt in prompts
    ]
    return next_entry(head, EntryKind.SAID, {"prompts": body, "at_ms": at_ms})


def write_head(head: Head, key: SigningKey, kind: WalkKind) -> Written:
    """The next line, a signature over the entry before it."""
    line = sign(head_payload(head.seq, head.hash), key, kind, Paper.HEAD)
    return next_entry(head, EntryKind.HEAD, {"jws": line.decode("ascii")})


def write_sound(head: Head, clip: Clip) -> Written:
    """The next line, for a recording of an answer: its hash, never the sound itself."""
    body: dict[str, Json] = {
        "question": clip.question,
        "sha256": clip.sha256,
        "from_ms": clip.from_ms,
        "until_ms": clip.until_ms,
    }
    return next_entry(head, EntryKind.SOUND, body)


@dataclass(frozen=True, slots=True)
class Closing:
    """How a walk ended, with the engine's own list of what stands: `given` are the answers,
    `done` the steps done, `not_done` the steps given up, each with its reason."""

    how: Ended
    at_ms: int
    given: tuple[Given, ...] = ()
    done: tuple[str, ...] = ()
    not_done: Mapping[str, str] = field(default_factory=dict)


def write_closing(head: Head, closing: Closing) -> Written:
    """The last line of a walk, or of a walk stopped for now."""
    body: dict[str, Json] = {
        "how": closing.how.value,
        "at_ms": closing.at_ms,
        "given": [encode(given) for given in closing.given],
        "done": list(closing.done),
        "not_done": dict(closing.not_done),
    }
    return next_entry(head, EntryKind.CLOSING, body)


def closing_of(entry: Entry) -> Closing:
    """The closing of a closing entry. Raises JournalError."""
    members = Members(entry.body, f"line {entry.seq + 1} of the journal", JournalError)
    given = tuple(decode(item.raw) for item in members.objects("given"))
    if not all(isinstance(item, Given) for item in given):
        raise JournalError(f"line {entry.seq + 1} of the journal: what stands is not an answer")
    return Closing(
        how=members.member(Ended, "how"),
        at_ms=members.integer("at_ms"),
        given=given,
        done=members.texts("done"),
        not_done=members.text_map("not_done"),
    )


def head_payload(seq: int, entry_hash: str) -> dict[str, Json]:
    """What a signed head says."""
    return {"seq": seq, "hash": entry_hash}


def next_entry(head: Head, kind: EntryKind, body: Mapping[str, Json]) -> Written:
    """The next line of any kind. Raises JournalError for a body that cannot be written."""
    if head.complete:
        raise JournalError("this walk is complete; start a new one")
    entry = {
        "body": dict(body),
        "kind": kind.value,
        "prev": head.hash,
        "seq": head.seq + 1,
        "sitting": head.sitting,
    }
    try:
        entry["hash"] = hashlib.sha256(canonical(entry)).hexdigest()
        line = canonical(entry) + b"\n"
    except ValueError as bad:
        raise JournalError(f"this cannot be written to the journal: {bad}; report this") from None
    if len(line) > _LARGEST_LINE:
        raise JournalError(f"a journal line of {len(line)} bytes is too long; report this")
    return line, _after(head, kind, entry)


def _after(head: Head, kind: EntryKind, entry: Mapping[str, Json]) -> Head:
    seq = head.seq + 1
    body = entry["body"]
    how = body.get("how") if isinstance(body, dict) and kind is EntryKind.CLOSING else None
    return Head(
        seq=seq,
        hash=str(entry["hash"]),
        sitting=head.sitting,
        signed_seq=seq if kind is EntryKind.HEAD else head.signed_seq,
        complete=how == Ended.COMPLETE,
    )


# ---------------------------------------------------------------- reading


def read_journal(content: bytes, *, after_crash: bool = False) -> JournalReading:
    """Read a whole journal and check its chain; signatures of heads are `verify`'s business.

    A piece after the last newline is a torn tail and no error, and so is what begins with
    a line of zero bytes among the last few (what some file systems leave of a write that a
    power cut broke).  With `after_crash`, to take a walk up again and not to verify it, so
    is any damage among the last lines that may have been written together: a file system
    may leave old bytes in a block that it had not yet written.
    Raises JournalError, naming the line, for anything else that is out of order.
    """
    lines, torn = _lines(content)
    head, entries = EMPTY, list[Entry]()
    for number, line in enumerate(lines, start=1):
        try:
            entry, head = _read_line(line, head)
        except (ValueError, JournalError) as bad:
            rest = [*lines[number - 1 :], torn]
            if after_crash and entries and _written_at_once(rest):
                torn = b"\n".join(rest)
                break
            raise JournalError(
                f"line {number} of the journal: {bad}; keep the file and use your copy"
            ) from None
        entries.append(entry)
    if not entries:
        raise JournalError("the journal has no whole line; nothing was kept, start a new walk")
    return JournalReading(
        opening=read_opening(entries[0].body),
        entries=tuple(entries),
        head=head,
        whole_bytes=len(content) - len(torn),
        torn_tail=torn,
    )


def _lines(content: bytes) -> tuple[list[bytes], bytes]:
    lines = content.split(b"\n")
    torn = lines.pop()
    # Canonical JSON has no zero byte: it escapes every control character.
    for index in range(max(len(lines) - _LINES_AT_ONCE, 0), len(lines)):
        if b"\0" in lines[index]:
            torn = b"\n".join([*lines[index:], torn])
            return lines[:index], torn
    return lines, torn


def _written_at_once(rest: Sequence[bytes]) -> bool:
    """Whether no more lines of a journal begin in there than one write may hold."""
    return sum(line.startswith(b'{"body":') for line in rest) <= _LINES_AT_ONCE


def _read_line(line: bytes, head: Head) -> tuple[Entry, Head]:
    if len(line) > _LARGEST_LINE:
        raise ValueError("it is too long")
    if head.complete:
        raise ValueError("the walk was complete before it")
    plain = parse_canonical(line)
    entry = _entry(plain)
    if entry.seq != head.seq + 1:
        raise ValueError(f"it is entry {entry.seq}, where {head.seq + 1} is due")
    if entry.prev != head.hash:
        raise ValueError("it does not continue the line before")
    unhashed = {key: value for key, value in plain.items() if key != "hash"}
    if hashlib.sha256(recode(unhashed)).hexdigest() != entry.hash:
        raise ValueError("it was changed: its hash does not match")
    if (entry.kind is EntryKind.OPENING) != (entry.seq == 0):
        raise ValueError("an opening stands first and only there")
    head = _with_sitting(entry, head)
    return entry, _after(head, entry.kind, plain)


_MEMBERS = frozenset({"body", "hash", "kind", "prev", "seq", "sitting"})
_BODIES: Mapping[EntryKind, frozenset[str]] = MappingProxyType(
    {
        EntryKind.SITTING: frozenset({"event"}),
        EntryKind.EVENT: frozenset({"event"}),
        EntryKind.SAID: frozenset({"prompts", "at_ms"}),
        EntryKind.HEAD: frozenset({"jws"}),
        EntryKind.SOUND: frozenset({"question", "sha256", "from_ms", "until_ms"}),
        EntryKind.CLOSING: frozenset({"how", "at_ms", "given", "done", "not_done"}),
    }
)


def _entry(plain: Mapping[str, Json]) -> Entry:
    if set(plain) != _MEMBERS:
        raise ValueError(f"it must have {', '.join(sorted(_MEMBERS))} and nothing else")
    seq, sitting, body = plain["seq"], plain["sitting"], plain["body"]
    texts = [plain["prev"], plain["hash"], plain["kind"]]
    if type(seq) is not int or type(sitting) is not int or not isinstance(body, dict):
        raise ValueError("seq, sitting or body is of the wrong type")
    if not all(isinstance(text, str) for text in texts):
        raise ValueError("prev, hash or kind is not a text")
    try:
        kind = EntryKind(str(plain["kind"]))
    except ValueError:
        raise ValueError(f"its kind {str(plain['kind'])[:20]!r} is not known here") from None
    if set(body) != _BODIES.get(kind, set(body)):
        raise ValueError(f"its body is not that of a {kind} entry")
    return Entry(seq, str(plain["prev"]), sitting, kind, body, str(plain["hash"]))


def _with_sitting(entry: Entry, head: Head) -> Head:
    if entry.kind is not EntryKind.SITTING:
        if entry.sitting != head.sitting:
            raise ValueError(f"it is of sitting {entry.sitting}, not {head.sitting}")
        return head
    event = decode(entry.body.get("event"))
    if not isinstance(event, SittingOpened) or event.sitting != entry.sitting:
        raise ValueError("it opens no sitting of its number")
    if head.sitting and entry.sitting != head.sitting + 1:
        raise ValueError(f"it opens sitting {entry.sitting}, where {head.sitting + 1} is due")
    return replace(head, sitting=entry.sitting)


def key_named(reading: JournalReading) -> str:
    """The thumbprint of the key that a journal is bound to; empty when to none.

    That of its first signed head, else the one that its opening names. Raises RecordError.
    """
    heads = (entry for entry in reading.entries if entry.kind is EntryKind.HEAD)
    signed = next((parse_line(str(head.body["jws"]).encode("utf-8")) for head in heads), None)
    return signed.key_id if signed is not None else reading.opening.device


def nothing_heard(reading: JournalReading) -> bool:
    """Whether it was begun and no more: there is nothing in it to sign, or to go on with."""
    return all(entry.kind is not EntryKind.EVENT for entry in reading.entries)


def events(entries: Sequence[Entry]) -> tuple[Event, ...]:
    """Every event in order, sittings included: what a replay is fed. Raises JournalError."""
    return tuple(
        entry.event() for entry in entries if entry.kind in (EntryKind.EVENT, EntryKind.SITTING)
    )
