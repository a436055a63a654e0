"""Forged and damaged records, named by what was done to them: every one is refused, at the
step that is meant to see it."""

from __future__ import annotations

import json
import zlib
from typing import Any

import pytest

from tests.records.forging import (
    GROUP_ORDER,
    HEADER,
    PACKED,
    PACKED_HEADER,
    PAYLOAD,
    RECORD,
    SUMMARY,
    TRUST,
    encoded,
    line,
    line_saying,
    line_with_payload,
    mac_line,
    with_signature,
)
from tests.records.packing import PACKING, packed_line
from tests.records.walk_sample import KEY, STRANGER
from walkaround.records.base64url import from_text, to_text
from walkaround.records.keys import make_key
from walkaround.records.packed import pack
from walkaround.records.report import Outcome
from walkaround.records.signature import LARGEST_BYTES, Paper, WalkKind, sign
from walkaround.records.verify import verify

PARTS = RECORD.split(b".")
SIGNATURE = from_text(PARTS[2])
X = KEY.public.x
S = int.from_bytes(SIGNATURE[32:], "little")


def _json_form(**more: Any) -> bytes:
    header, payload, signature = (part.decode() for part in PARTS)
    flat = {"protected": header, "payload": payload, "signature": signature, **more}
    return json.dumps(flat).encode()


def _spare_bits(part: int) -> bytes:
    """The same bytes in base64url, with a bit set that carries nothing."""
    parts = list(PARTS)
    raw = parts[part]
    letters = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
    last = letters.index(raw[-1:])
    parts[part] = raw[:-1] + letters[last ^ 1 : (last ^ 1) + 1]
    return b".".join(parts)


def _swapped(old: bytes, new: bytes) -> bytes:
    assert old in PAYLOAD
    return line_with_payload(PAYLOAD.replace(old, new, 1))


def _nested(depth: int) -> bytes:
    return line_with_payload(b'{"a":' + b"[" * depth + b"]" * depth + b"}")


def _step_saying(**changes: Any) -> bytes:
    steps: Any = json.loads(json.dumps(SUMMARY["steps"]))
    steps[1]["verdicts"][0].update(changes)
    return line_saying(steps=steps)


def _rule_saying(**changes: Any) -> bytes:
    rules: Any = json.loads(json.dumps(SUMMARY["rules"]))
    rules[0].update(changes)
    return line_saying(rules=rules)


# name -> (bytes, number of the step that refuses it)
ONE_LINE: dict[str, tuple[bytes, int]] = {
    "empty": (b"", 1),
    "a dot": (b".", 1),
    "two dots": (b"..", 1),
    "no signature": (PARTS[0] + b"." + PARTS[1], 1),
    "an empty signature": (PARTS[0] + b"." + PARTS[1] + b".", 1),
    "an empty payload": (PARTS[0] + b".." + PARTS[2], 1),
    "an empty header": (b"." + PARTS[1] + b"." + PARTS[2], 1),
    "a fourth part": (RECORD + b".AAAA", 1),
    "a dot at the end": (RECORD + b".", 1),
    "a dot at the start": (b"." + RECORD, 1),
    "five parts, as when encrypted": (b".".join([*PARTS, b"AAAA", b"AAAA"]), 1),
    "twice": (RECORD + RECORD, 1),
    "twice, on two lines": (RECORD + b"\n" + RECORD, 1),
    "too large": (b"A" * LARGEST_BYTES + b"." + RECORD, 1),
    "garbage": (bytes(range(256)), 1),
    "JSON, flattened": (_json_form(), 1),
    "JSON, unprotected header": (_json_form(header={"kid": "x"}), 1),
    "JSON, general": (
        json.dumps({"payload": PARTS[1].decode(), "signatures": []}).encode(), 1,
    ),
    "a newline after": (RECORD + b"\n", 8),
    "CR LF after": (RECORD + b"\r\n", 8),
    "a blank after": (RECORD + b" ", 8),
    "a zero byte after": (RECORD + b"\0", 8),
    "padding after": (RECORD + b"=", 8),
    "two of padding after": (RECORD + b"==", 8),
    "a letter after": (RECORD + b"A", 8),
    "four letters after": (RECORD + b"AAAA", 8),
    "one letter less": (RECORD[:-1], 8),
    "a byte order mark before": (b"\xef\xbb\xbf" + RECORD, 2),
    "a blank before": (b" " + RECORD, 2),
    "a newline before": (b"\n" + RECORD, 2),
    "two bytes a letter": (RECORD.decode().encode("utf-16-le"), 2),
    "header and payload changed places": (b".".join([PARTS[1], PARTS[0], PARTS[2]]), 2),
    "a blank inside the header": (PARTS[0][:9] + b" " + RECORD[9:], 2),
    "padding in the header": (PARTS[0] + b"==." + PARTS[1] + b"." + PARTS[2], 2),
    "padding in the payload": (PARTS[0] + b"." + PARTS[1] + b"==." + PARTS[2], 5),
    "a newline in the payload": (
        b".".join([PARTS[0], PARTS[1][:8] + b"\n" + PARTS[1][8:], PARTS[2]]), 5,
    ),
    "standard base64 letters": (RECORD.replace(b"-", b"+").replace(b"_", b"/"), 8),
    "spare bits in the signature": (_spare_bits(2), 8),
}  # fmt: skip

HEADERS: dict[str, tuple[bytes, int]] = {
    **{
        f"alg {alg!r}": (line({**HEADER, "alg": alg}), 3)
        for alg in ("none", "None", "nOnE", "", "EdDSA", "Ed448", "HS256", "HS512", "RS256",
                    "PS256", "ES256", "ES256K", "ed25519", "Ed25519 ")
    },
    **{
        f"alg is {alg!r}": (line({**HEADER, "alg": alg}), 2)
        for alg in (None, 5, ["Ed25519"], True)
    },
    "none, with an empty signature": (line({**HEADER, "alg": "none"}).rsplit(b".", 1)[0] + b".", 1),
    "HS256 with x as the secret": (mac_line(X), 3),
    "HS256 with the thumbprint as the secret": (mac_line(KEY.thumbprint.encode()), 3),
    "HS256 with the JWK as the secret": (mac_line(encoded(KEY.public.jwk())), 3),
    **{
        f"header without {name}": (line({k: v for k, v in HEADER.items() if k != name}), 2)
        for name in HEADER
    },
    **{
        f"header with {name}": (line({**HEADER, name: value}), 2)
        for name, value in {
            "crit": ["exp"], "b64": False, "jwk": STRANGER.public.jwk(), "jku": "https://x.test/k",
            "x5u": "https://x.test/c", "x5c": ["AAAA"], "x5t": "AAAA", "cty": "json", "zip": "DEF",
            "enc": "A128GCM", "epk": {}, "nonce": "1", "ALG": "none", "exp": 1, "": "",
        }.items()
    },
    "crit that is empty": (line({**HEADER, "crit": []}), 2),
    "b64 false, named as critical": (line({**HEADER, "b64": False, "crit": ["b64"]}), 2),
    **{
        f"typ {typ!r}": (line({**HEADER, "typ": typ}), 4)
        for typ in ("JWT", "jose", "", "walkaround-walk", "WALKAROUND-WALK+JWS", "walk",
                    "application/walkaround-walk+jws", "walkaround-walk+jws ",
                    "walkaround-walk-head+jws", "walkaround-simulated-head+jws")
    },
    "typ is a list": (line({**HEADER, "typ": ["walkaround-walk+jws"]}), 2),
    "typ of a practice over a walk": (line({**HEADER, "typ": "walkaround-practice+jws"}), 6),
    "typ of a simulated over a walk": (line({**HEADER, "typ": "walkaround-simulated+jws"}), 6),
    "kid of another key": (line({**HEADER, "kid": STRANGER.thumbprint}), 7),
    "kid is empty": (line({**HEADER, "kid": ""}), 7),
    "kid is a path": (line({**HEADER, "kid": "../../etc/passwd"}), 7),
    "kid is a number": (line({**HEADER, "kid": 1}), 2),
    "header with blanks": (line(json.dumps(HEADER).encode()), 2),
    "header in another order": (
        line(json.dumps(dict(reversed(HEADER.items())), separators=(",", ":")).encode()), 2,
    ),
    "header with alg twice, ours last": (
        line(encoded(HEADER).replace(b'{"alg"', b'{"alg":"none","alg"')), 2,
    ),
    "header with alg twice, ours first": (
        line(encoded(HEADER).replace(b',"kid"', b',"alg":"none","kid"')), 2,
    ),
    "header with a letter escaped": (line(encoded(HEADER).replace(b"walk+", b"wal\\u006b+")), 2),
    "header that is no object": (line(b'"Ed25519"'), 2),
    "header that is a list": (line(b'["alg","Ed25519"]'), 2),
    "header that is no JSON": (line(b"alg=Ed25519"), 2),
    "header that is not UTF-8": (line(b'{"alg":"\xff"}'), 2),
    "header with more after it": (line(encoded(HEADER) + b"{}"), 2),
    "header nested deeply": (line(b'{"alg":' + b"[" * 9000 + b"]" * 9000 + b"}"), 2),
    "header with a newline": (line(encoded(HEADER) + b"\n"), 2),
}  # fmt: skip

PAYLOADS: dict[str, tuple[bytes, int]] = {
    "payload with blanks": (line_with_payload(json.dumps(SUMMARY).encode()), 5),
    "payload in another order": (
        line_with_payload(
            json.dumps(
                dict(sorted(SUMMARY.items(), reverse=True)),
                separators=(",", ":"),
                ensure_ascii=False,
            ).encode()
        ), 5,
    ),
    "payload with a member twice": (
        line_with_payload(PAYLOAD.replace(b'{"began"', b'{"walk":"walk","began"', 1)), 5,
    ),
    "payload with the same member twice inside": (
        line_with_payload(PAYLOAD.replace(b'"walk":"walk"', b'"walk":"walk","walk":"walk"')), 5,
    ),
    "payload with more after it": (line_with_payload(PAYLOAD + PAYLOAD), 5),
    "payload with a newline after it": (line_with_payload(PAYLOAD + b"\n"), 5),
    "payload with a byte order mark": (line_with_payload(b"\xef\xbb\xbf" + PAYLOAD), 5),
    "payload with a letter escaped": (_swapped(b"CA-ON", b"CA-\\u004fN"), 5),
    "payload with a slash escaped": (_swapped(b"/", b"\\/"), 5),
    "payload with a fraction": (_swapped(b'"entries":', b'"entries":1.0,"x":'), 5),
    "payload with an exponent": (_swapped(b'"lost_ms":0', b'"lost_ms":0e0'), 5),
    "payload with a negative nought": (_swapped(b'"lost_ms":0', b'"lost_ms":-0'), 5),
    "payload with a huge number": (_swapped(b'"lost_ms":0', b'"lost_ms":' + b"9" * 4000), 5),
    "payload with a number past 2^53": (_swapped(b'"lost_ms":0', b'"lost_ms":9007199254740993'), 5),
    "payload with NaN": (_swapped(b'"lost_ms":0', b'"lost_ms":NaN'), 5),
    "payload nested deeply": (_nested(30_000), 5),
    "payload nested a little too deeply": (_nested(20), 5),
    "payload that is a list": (line_with_payload(b"[]"), 5),
    "payload that is null": (line_with_payload(b"null"), 5),
    "payload that is a text": (line_with_payload(b'"walk"'), 5),
    "payload that is not UTF-8": (_swapped(b"CA-ON", b"CA-\xff\xfe"), 5),
    "payload with half a surrogate": (_swapped(b"CA-ON", b"\\ud800"), 5),
    "payload cut short": (line_with_payload(PAYLOAD[:-1]), 5),
    "payload compressed to nothing": (line_with_payload(b"\x03\x00"), 5),
    "an object, but no summary": (line_with_payload(b"{}"), 6),
    **{
        f"summary without {name}": (line_saying(**{name: ...}), 7 if name == "key" else 6)
        for name in SUMMARY
    },
    **{
        f"summary whose {name} is of another type": (
            line_saying(**{name: 5 if isinstance(value, str | list | dict) else "5"}),
            7 if name == "key" else 6,
        )
        for name, value in SUMMARY.items()
    },
    "summary of another format": (line_saying(format="walkaround-summary-2"), 6),
    "summary with another disclaimer": (line_saying(disclaimer="licenses-1"), 6),
    "summary of a practice": (line_saying(walk="practice"), 6),
    "summary of a kind unknown": (line_saying(walk="real"), 6),
    "verdict of no rule": (_step_saying(rule=99), 6),
    "verdict of a rule before the first": (_step_saying(rule=-1), 6),
    "verdict whose rule is a text": (_step_saying(rule="0"), 6),
    "verdict with a note that is not there": (_step_saying(note=99), 6),
    "finding in a step that is not there": (line_saying(findings=[{"step": "x", "verdict": 0}]), 6),
    "finding with a verdict that is not there": (
        line_saying(findings=[{"step": "rise", "verdict": 9}]), 6,
    ),
    "finding with an answer that is not there": (
        line_saying(findings=[{"step": "rise", "ask": "x"}]), 6,
    ),
    "verdict with an outcome unknown": (_step_saying(outcome="fine"), 6),
    "verdict whose near is a text": (_step_saying(near="no"), 6),
    "rule citing nothing": (_rule_saying(citation=99), 6),
    "rule citing before the first": (_rule_saying(citation=-1), 6),
    "key of a stranger": (line_saying(key=STRANGER.public.jwk()), 7),
    "key with its secret": (line_saying(key={**KEY.public.jwk(), "d": to_text(bytes(32))}), 7),
    "key of another curve": (line_saying(key={**KEY.public.jwk(), "crv": "X25519"}), 7),
    "key with more members": (line_saying(key={**KEY.public.jwk(), "use": "sig"}), 7),
    "key of 31 bytes": (line_saying(key={**KEY.public.jwk(), "x": to_text(X[:31])}), 7),
    "key padded": (line_saying(key={**KEY.public.jwk(), "x": to_text(X) + "="}), 7),
}  # fmt: skip

SIGNATURES: dict[str, tuple[bytes, int]] = {
    "signature of noughts": (with_signature(bytes(64)), 8),
    "signature of ones": (with_signature(b"\xff" * 64), 8),
    "signature cut by a byte": (with_signature(SIGNATURE[:-1]), 8),
    "signature with a byte more": (with_signature(SIGNATURE + b"\0"), 8),
    "signature twice": (with_signature(SIGNATURE * 2), 8),
    "signature with its halves changed": (with_signature(SIGNATURE[32:] + SIGNATURE[:32]), 8),
    "signature with S plus the group's order": (
        with_signature(SIGNATURE[:32] + (S + GROUP_ORDER).to_bytes(32, "little")), 8,
    ),
    "signature with S negated": (
        with_signature(SIGNATURE[:32] + (GROUP_ORDER - S).to_bytes(32, "little")), 8,
    ),
    "signature with R's sign bit": (
        with_signature(SIGNATURE[:31] + bytes([SIGNATURE[31] ^ 0x80]) + SIGNATURE[32:]), 8,
    ),
    "R is the neutral point, S is nought": (
        with_signature(b"\x01" + bytes(63)), 8,
    ),
    "signature of another record": (
        with_signature(from_text(line_saying(id="other").rsplit(b".", 1)[1])), 8,
    ),
    "payload of another record": (
        b".".join([PARTS[0], line_saying(id="other").split(b".")[1], PARTS[2]]), 8,
    ),
    "signature over the payload alone": (with_signature(KEY.private.sign(PAYLOAD)), 8),
    "signature by a stranger": (line(HEADER, PAYLOAD, STRANGER), 8),
}  # fmt: skip

TRUSTED: dict[str, tuple[bytes, int]] = {
    "a stranger's own record": (
        sign({**SUMMARY, "key": STRANGER.public.jwk()}, STRANGER, WalkKind.WALK, Paper.RECORD), 9,
    ),
    "a practice by a key trusted for walks": (
        sign({**SUMMARY, "walk": "practice"}, KEY, WalkKind.PRACTICE, Paper.RECORD), 10,
    ),
    "a simulated walk by a key trusted for walks": (
        sign({**SUMMARY, "walk": "simulated"}, KEY, WalkKind.SIMULATED, Paper.RECORD), 10,
    ),
}  # fmt: skip

ALL = {**PACKING, **ONE_LINE, **HEADERS, **PAYLOADS, **SIGNATURES, **TRUSTED}


def test_the_true_record_is_taken() -> None:
    assert verify(RECORD, TRUST).trusted
    assert verify(PACKED, TRUST).trusted
    assert line(PACKED_HEADER, pack(PAYLOAD)) == PACKED
    assert verify(RECORD, TRUST).payload == verify(PACKED, TRUST).payload == SUMMARY


def test_what_was_packed_otherwise_by_its_signer_is_read() -> None:
    """By another version of zlib, say: only the signed bytes count."""
    for level in (1, 6):
        raw = zlib.compress(PAYLOAD, level)[2:-4]
        packed = pack(b"")[:10] + raw + pack(PAYLOAD)[-8:]
        assert verify(packed_line(packed), TRUST).trusted


def test_there_are_many_kinds_of_forgery() -> None:
    assert len(ALL) == sum(map(len, (PACKING, ONE_LINE, HEADERS, PAYLOADS, SIGNATURES, TRUSTED)))
    assert len(ALL) > 250
    assert all(forged not in (RECORD, PACKED) for forged, _ in ALL.values())


@pytest.mark.parametrize("name", ALL)
def test_it_is_refused_at_its_step(name: str) -> None:
    forged, step = ALL[name]
    report = verify(forged, TRUST)
    assert not report.trusted
    assert report.intact is (name in TRUSTED)
    failed = [checked for checked in report.steps if checked.outcome is Outcome.FAILED]
    assert [checked.number for checked in failed] == [step], report.lines()
    assert len(failed[0].detail) < 400


# ---------------------------------------------------------------- every byte


BOTH = pytest.mark.parametrize("record", [RECORD, PACKED], ids=["plain", "packed"])


@BOTH
def test_every_byte_changed_is_refused(record: bytes) -> None:
    for at in range(len(record)):
        for bit in (0x01, 0x20):
            changed = record[:at] + bytes([record[at] ^ bit]) + record[at + 1 :]
            assert not verify(changed, TRUST).intact, at


@BOTH
def test_every_byte_removed_is_refused(record: bytes) -> None:
    for at in range(len(record)):
        assert not verify(record[:at] + record[at + 1 :], TRUST).intact, at


@BOTH
@pytest.mark.parametrize("byte", [b"A", b"\n", b"."])
def test_a_byte_added_anywhere_is_refused(record: bytes, byte: bytes) -> None:
    for at in range(len(record) + 1):
        assert not verify(record[:at] + byte + record[at:], TRUST).intact, at


@BOTH
def test_every_prefix_and_suffix_is_refused(record: bytes) -> None:
    for at in range(1, len(record)):
        assert not verify(record[:at], TRUST).intact
        assert not verify(record[at:], TRUST).intact


def test_any_other_key_is_refused() -> None:
    for number in range(50):
        other = make_key(number.to_bytes(32, "big"))
        assert not verify(line({**HEADER, "kid": other.thumbprint}, PAYLOAD, other), TRUST).intact
