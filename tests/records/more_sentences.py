"""More of what this room says when something is wrong: countersignatures, keys, odd shapes."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from typing import Any

from tests.records import test_countersignature as counter
from tests.records.forging import HEADER, RECORD, SUMMARY, encoded, line, line_saying
from tests.records.walk_sample import CLOSING, KEY, STRANGER, lines
from walkaround.errors import WalkaroundError
from walkaround.exchange import Command, No, Prompt, Said
from walkaround.records.base64url import to_text
from walkaround.records.canonical import parse_any_layout
from walkaround.records.codec import encode
from walkaround.records.countersignature import read_countersignature
from walkaround.records.journal import (
    EMPTY,
    EntryKind,
    closing_of,
    next_entry,
    open_journal,
    read_journal,
    write_closing,
    write_said,
)
from walkaround.records.keys import parse_key, parse_public, public_key, serialise_key
from walkaround.records.second import Weighed, Worth
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.verify import verify

_KIND = WalkKind.WALK


def said(call: Callable[[], object]) -> str:
    """The sentence that a call fails with, after the name of its error."""
    try:
        call()
    except (WalkaroundError, ValueError) as bad:
        return f"{type(bad).__name__}: {bad}"
    return "nothing is wrong"


def countersignatures() -> Iterator[tuple[str, str]]:
    """Lines that are none, and what each is worth."""
    true = counter.countersigned()
    whole = json.loads(json.dumps(counter.read_payload(true)))

    def signed(**changes: Any) -> bytes:
        changed = {name: v for name, v in {**whole, **changes}.items() if v is not ...}
        return sign(changed, STRANGER, _KIND, Paper.COUNTERSIGNATURE)

    for name, content in {
        "a record": sign(SUMMARY, KEY, _KIND, Paper.RECORD),
        "nothing": b"",
        "another format": signed(format="walkaround-countersignature-2"),
        "no remarks": signed(remarks=...),
        "remarks of a number": signed(remarks=5),
        "more than there is": signed(more="x"),
        "a record of more": signed(record={**whole["record"], "more": "x"}),
        "no hash": signed(record={"id": "x"}),
        "a key damaged": signed(key={"kty": "OKP"}),
        "another's key": signed(key=KEY.public.jwk()),
        "its signature changed": true[:-4] + (b"AAAA" if true[-4:] != b"AAAA" else b"BBBB"),
    }.items():
        yield name, said(lambda content=content: read_countersignature(content))  # type: ignore[misc]
    for size in (0, 1, 3999, 4000, 4001):
        yield f"remarks of {size}", said(lambda size=size: counter.countersigned("x" * size))  # type: ignore[misc]
    for worth in Worth:
        yield worth.name, str(Weighed("a.jws", worth, "somebody", "T. Rainer: fine"))
    yield "no more than its worth", str(Weighed("a.jws", Worth.UNREADABLE))
    long = verify(RECORD, counter.TRUST, countersignatures={"n" * 200: true, "m" * 200: b"x"})
    for one in long.countersignatures:
        yield "of a long name", str(one)


def keys() -> Iterator[tuple[str, str]]:
    """Files that are no keys, and keys that are not opened."""
    for content in (b"", b"{", b"[]", b"5", b"\xff", b"[" * 100_000, b'{"x":1,"x":1}'):
        yield f"public, {content[:20]!r}", said(lambda content=content: parse_public(content))  # type: ignore[misc]
        yield (
            f"any layout, {content[:20]!r}",
            said(
                lambda content=content: parse_any_layout(content)  # type: ignore[misc]
            ),
        )
    jwk = dict(KEY.public.jwk())
    for x in (5, None, "", "A", "====", "A" * 43, to_text(b"\x01" + bytes(31)), to_text(bytes(33))):
        yield f"x is {x!r}", said(lambda x=x: public_key({**jwk, "x": x}))  # type: ignore[misc]
    locked, bare = serialise_key(KEY, b"chocks"), serialise_key(KEY, None)
    yield "an empty passphrase", said(lambda: serialise_key(KEY, b""))
    yield "none where one is needed", said(lambda: parse_key(locked, None))
    yield "one where none is needed", said(lambda: parse_key(bare, b"chocks"))
    yield "the wrong one", said(lambda: parse_key(locked, b"wedges"))


def shapes() -> Iterator[tuple[str, str]]:
    """Members of a summary and of a journal that are of another shape."""
    for points in (5, None, [5], [[1]], [[True, "x"]], [["1", "x"]], [[1, 2]], [[1, "x", 2]], []):
        steps: Any = json.loads(json.dumps(SUMMARY["steps"]))
        steps[1]["answers"][0]["points"] = points
        report = verify(line_saying(steps=steps), counter.TRUST)
        yield f"points {points!r}", "; ".join(str(step) for step in report.steps[5:6])
    first, head = open_journal(counter_opening())
    for name, kind, body in (
        ("an event of nothing", EntryKind.EVENT, {"event": 5}),
        ("an event of no kind", EntryKind.EVENT, {"event": {"is": "Burnt"}}),
        ("a closing of others", EntryKind.CLOSING, {
            **closing_body(head), "given": [encode(No())],
        }),
    ):  # fmt: skip
        more, _ = next_entry(head, kind, body)
        entry = read_journal(first + more).entries[1]
        yield name, said(entry.event)
        yield f"{name}, as a closing", said(lambda entry=entry: closing_of(entry))  # type: ignore[misc]
    yield "a fraction", said(lambda: next_entry(head, EntryKind.SAID, {"at": 1.5}))  # type: ignore[dict-item]
    yield "too long", said(lambda: next_entry(head, EntryKind.SAID, {"a": "x" * 1_000_000}))
    prompt = Prompt("phrase:x", values={"heard": "one oh five", "command": Said(Command.STOP)})  # type: ignore[dict-item]
    line_, _ = write_said(head, [prompt], 5)
    yield "what was asked", line_.decode()[:140]
    yield "the line after nothing", next_entry(EMPTY, EntryKind.SAID, {})[0].decode().strip()


def counter_opening() -> Any:
    """The opening of the tests' sample."""
    return read_journal(lines(_KIND)[0]).opening


def closing_body(head: Any) -> dict[str, Any]:
    """A closing as it is written."""
    content, _ = write_closing(head, CLOSING)
    body: dict[str, Any] = json.loads(content)["body"]
    return body


def header_only() -> Iterator[tuple[str, str]]:
    """Headers by hand."""
    report = verify(line({**HEADER, "cty": 5}, encoded(SUMMARY)), counter.TRUST)
    yield "cty of a number", str(report.steps[1])


PARTS = (countersignatures, keys, shapes, header_only)
