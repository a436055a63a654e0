"""Every sentence that this room says when something is wrong, gathered: what a person reads.

`python -m tests.records.every_sentence` writes `golden/sentences.txt` anew; read the difference
before you commit it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

from tests.records import (
    more_sentences,
    test_forgeries,
    test_keys,
    test_log,
    test_particulars,
    test_trust,
)
from tests.records.forging import JOURNAL, RECORD, TRUST
from tests.records.more_sentences import said
from tests.records.walk_sample import EVENTS, KEY, joined, lines
from walkaround.exchange import Number
from walkaround.quantity import Quantity, Unit
from walkaround.records.canonical import canonical, parse_any_layout, parse_canonical
from walkaround.records.chain import chained, unchained
from walkaround.records.codec import decode, encode
from walkaround.records.journal import closing_of, next_entry, read_journal
from walkaround.records.keys import make_key, parse_key, public_key
from walkaround.records.log import absent, end_of, read_head, read_log
from walkaround.records.particulars import commit, read_openings
from walkaround.records.position import Position
from walkaround.records.report import Outcome
from walkaround.records.signature import LARGEST_BYTES, Paper, WalkKind, sign
from walkaround.records.sound import Clip, clips_of, match_sounds
from walkaround.records.trust import Revoked, SeenHead, TrustedKey, TrustList, parse_trust
from walkaround.records.verify import verify

GOLDEN = Path(__file__).parent / "golden" / "sentences.txt"


_OF_A_SUMMARY = ("summary", "verdict", "finding", "rule ")
"""Kinds of forgery whose sentences belong to the reading of a summary, which is not this list's."""


def _failed(content: bytes, trust: TrustList = TRUST, **beside: Any) -> str:
    report = verify(content, trust, **beside)
    failed = [f"{s.number}. {s.detail}" for s in report.steps if s.outcome is Outcome.FAILED]
    return "; ".join([report.verdict, *failed])


def records() -> Iterator[tuple[str, str]]:
    for name, (content, _) in test_forgeries.ALL.items():
        if not name.startswith(_OF_A_SUMMARY):
            yield name, _failed(content)
    whole = lines(WalkKind.WALK)
    beside: dict[str, dict[str, Any]] = {
        "a journal cut short": {"journal": JOURNAL[:-1]},
        "another journal": {"journal": joined(whole[:5])},
        "a stray file": {"attachments": {"x" * 100: b"stray"}},
        "openings of another": {"openings": commit({"driver": "A"}, bytes(32))[1]},
        "openings damaged": {"openings": b"{}"},
        "a log cut short": {"log": test_log.LOG[:-1]},
        "a log without it": {"log": joined(test_log.LINES[:4])},
        "a log rewritten": {"log": test_log.LOG, "heads": [test_log.LINES[4][:-9] + b"AAAAAAAA"]},
        "a head that is not there": {
            "log": joined(test_log.LINES[:5]), "heads": [test_log.LINES[5]],
        },
    }  # fmt: skip
    for name, given in beside.items():
        yield name, _failed(RECORD, **given)
    for covered in (None, Position(3, "0" * 64), Position(4, "0" * 64)):
        revoked = Revoked(KEY.thumbprint, "stolen", "2026-03-06", covered)
        trust = TRUST.without(revoked)
        yield f"revoked, covered by {covered}", _failed(RECORD, trust)
        yield f"revoked, covered by {covered}, log shown", _failed(RECORD, trust, log=test_log.LOG)


def journals() -> Iterator[tuple[str, str]]:
    parts = lines(WalkKind.WALK)
    damages: dict[str, bytes] = {
        "empty": b"",
        "line 3 removed": joined([*parts[:2], *parts[3:]]),
        "line 3 twice": joined([*parts[:3], *parts[2:]]),
        "line 3 changed": joined([*parts[:2], parts[2].replace(b"boot-a", b"boot-b"), *parts[3:]]),
        "line 3 not JSON": joined([*parts[:2], b"hello\n", *parts[3:]]),
        "line 3 laid out": joined([*parts[:2], b" " + parts[2], *parts[3:]]),
        "line 3 with more": joined(
            [*parts[:2], parts[2].replace(b'{"body"', b'{"a":1,"body"'), *parts[3:]]
        ),
        "more after the end": joined([*parts, parts[-1]]),
        "no opening first": joined(parts[1:]),
    }
    for name, content in damages.items():
        yield name, said(lambda content=content: read_journal(content))  # type: ignore[misc]
    entries = read_journal(joined(parts)).entries
    yield "no event", said(entries[0].event)
    yield "no closing", said(lambda: closing_of(entries[3]))
    complete = read_journal(joined(parts)).head
    yield "after the end", said(lambda: next_entry(complete, entries[3].kind, {}))
    plain = encode(EVENTS[2])
    changes: dict[str, Any] = {
        "no object": 5, "no tag": {}, "unknown tag": {"is": "Burnt"}, "tag of a number": {"is": 5},
        "a field more": {**plain, "more": 1}, "a field less": {"is": plain["is"]},
        "a number for a text": {**plain, "question": 5},
        "a text for a number": {**plain, "occurred_ms": "5"},
        "true for a number": {**plain, "occurred_ms": True},
        "a default written out": {**plain, "typed": False},
        "a quantity of words": {**plain, "meaning": {"is": "Number", "value": "five psi"}},
        "a quantity of no text": {**plain, "meaning": {"is": "Number", "value": 5}},
        "a long value": {**plain, "question": ["x" * 90]},
        "an enum unknown": {"is": "SittingOpened", "sitting": 1, "wall": "", "boot_id": "",
                            "boot_ms": 0, "wording": "loud"},
        "a list that is none": {"is": "Judged", "step": "s", "verdicts": 5, "occurred_ms": 0,
                                "arrived_ms": 0},
        "another class inside": {**plain, "meaning": {"is": "Verdict"}},
    }  # fmt: skip
    for name, value in changes.items():
        yield name, said(lambda value=value: decode(value))  # type: ignore[misc]
    long = Number(Quantity(Decimal("1e400"), Unit.PSI))
    yield "a number too long", said(lambda: encode(long))
    yield "no event to write", said(lambda: encode(object()))


def keys_and_lists() -> Iterator[tuple[str, str]]:
    for name, content in test_trust.OUT_OF_ORDER.items():
        yield f"trust list, {name}", said(lambda content=content: parse_trust(content))  # type: ignore[misc]
    for name, content in test_log.WRONG.items():
        yield f"log, {name}", said(lambda content=content: read_log(content))  # type: ignore[misc]
        yield f"log's end, {name}", said(lambda content=content: end_of(content))  # type: ignore[misc]
    for name, jwk in test_keys.BAD_JWKS.items():
        yield f"key, {name}", said(lambda jwk=jwk: public_key(jwk))  # type: ignore[misc]
    key = KEY
    yield "head of nothing", said(lambda: read_head(b"hello", [key.public]))
    yield "head by a stranger", said(lambda: read_head(test_log.LINES[7], [key.public]))
    yield "head that is a record", said(lambda: read_head(RECORD, [key.public]))
    yield "private key damaged", said(lambda: parse_key(b"x", None))
    yield "a short seed", said(lambda: make_key(b"x"))
    yield "trusted for nothing", said(lambda: TrustedKey(key.public, (), "n", ""))
    yield (
        "trusted for both",
        said(lambda: TrustedKey(key.public, (WalkKind.WALK, WalkKind.SIMULATED), "n", "")),
    )
    revoked = Revoked("abc", "", "")
    yield "revoked, unknown", said(lambda: TrustList().without(revoked))
    yield "a salt too short", said(lambda: commit({}, b"x"))
    for content in (b"", b"{}", b'{"format":"x"}', b'{"format":"walkaround-openings-1"}'):
        yield f"openings, {content!r}", said(lambda content=content: read_openings(content))  # type: ignore[misc]
    yield "commitments", str(commit(test_particulars.PERSON, test_particulars.SALT))


def bytes_and_texts() -> Iterator[tuple[str, str]]:
    for content in (b"", b"[]", b"{", b'{"a":1,"a":1}', b'{"a":1.5}', b'{"a":NaN}', b"\xff",
                    b'{"a":' + b"9" * 40 + b"}", b'{"a": 1}', b'{"a":"\\ud800"}',
                    b'{"a":' + b"[" * 20 + b"]" * 20 + b"}",
                    b'{"a":1234567890123.4567890123456}'):  # fmt: skip
        yield f"canonical, {content[:30]!r}", said(lambda content=content: parse_canonical(content))  # type: ignore[misc]
        yield f"laid out, {content[:30]!r}", said(lambda content=content: parse_any_layout(content))  # type: ignore[misc]
    deep: Any = []
    for _ in range(20):
        deep = [deep]
    for value in ({"a": 1.5}, {1: "a"}, {"a": b"x"}, {"a": 2**53}, {"a": deep}):
        yield f"written, {str(value)[:30]}", said(lambda value=value: canonical(value))  # type: ignore[misc]
    lines = chained([{"a": 1}, {"a": 2}, {"a": 3}])
    for name, content in {
        "cut short": lines[:-1],
        "second changed": lines.replace(b'"a":2', b'"a":4'),
        "second removed": b"".join(lines.splitlines(keepends=True)[::2]),
        "second not JSON": lines.replace(b'{"body":{"a":2}', b"{body"),
    }.items():
        yield f"chain, {name}", said(lambda content=content: unchained(content))  # type: ignore[misc]
    fits = LARGEST_BYTES - 500
    for size in (fits * 3 // 4 - 10, fits * 3 // 4 + 10):
        payload = {"a": "x" * (size - 8)}
        yield (
            f"signing {size} bytes",
            said(
                lambda payload=payload: sign(payload, KEY, WalkKind.WALK, Paper.RECORD)  # type: ignore[misc]
            ),
        )
    yield (
        "signing a fraction",
        said(
            lambda: sign({"a": 1.5}, KEY, WalkKind.WALK, Paper.RECORD)  # type: ignore[dict-item]
        ),
    )


def reports() -> Iterator[tuple[str, str]]:
    yield "the report alone", "\n    ".join(verify(RECORD, TRUST).lines())
    seen = TRUST.with_head(SeenHead(KEY.thumbprint, test_log.position(5), ""))
    both = verify(RECORD, seen, log=test_log.LOG, heads=[test_log.LINES[4]])
    yield "a head given and one seen", both.steps[17].detail
    yield "no head", verify(RECORD, TRUST, log=test_log.LOG).steps[17].detail
    yield "walks not shown", str(absent(test_log.READ, []))
    yield "a head", read_head(test_log.LINES[5], [KEY.public]).at
    clips = (Clip("q", "0" * 64, 0, 1),)
    yield "a recording of another", said(lambda: match_sounds(clips, {"x" * 100: b"stray"}))
    yield "no recording", match_sounds(clips, {})
    yield "a sound entry of nothing", said(lambda: clips_of([{}]))
    yield (
        "the whole report",
        "\n    ".join(
            verify(
                RECORD, TRUST, journal=JOURNAL, log=test_log.LOG, heads=[test_log.LINES[4]]
            ).lines()
        ),
    )
    yield "a failed report", "\n    ".join(verify(RECORD[:-1] + b"!", TRUST).lines())


def everything() -> str:
    """One line each, in a fixed order."""
    told: list[str] = []
    parts = (records, journals, keys_and_lists, bytes_and_texts, reports)
    for part in (*parts, *more_sentences.PARTS):
        told.append(f"# {part.__name__}")
        told += [f"{name}: {sentence}" for name, sentence in part()]
    text = "\n".join(told) + "\n"
    return re.sub(r"\d{4,} bytes", "so many bytes", text)  # a summary may grow or shrink


if __name__ == "__main__":
    GOLDEN.write_text(everything(), "utf-8")
