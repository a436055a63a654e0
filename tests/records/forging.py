"""Tools of a forger: signed lines put together by hand, with any header, payload and signature."""

from __future__ import annotations

import hashlib
import hmac
import json
from collections.abc import Mapping
from typing import Any

from tests.records.walk_sample import KEY, journal
from walkaround.records.base64url import to_text
from walkaround.records.canonical import Json, canonical
from walkaround.records.journal import read_journal
from walkaround.records.keys import SigningKey
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.summary import summarise
from walkaround.records.trust import TrustedKey, TrustList

JOURNAL = journal(WalkKind.WALK)
SUMMARY: dict[str, Json] = summarise(read_journal(JOURNAL), KEY.public.jwk())
PACKED = sign(SUMMARY, KEY, WalkKind.WALK, Paper.RECORD)
"""A record as it is made now."""
HEADER: dict[str, Any] = {"alg": "Ed25519", "kid": KEY.thumbprint, "typ": "walkaround-walk+jws"}
PAYLOAD = canonical(SUMMARY)
PACKED_HEADER = {**HEADER, "cty": "gzip"}

TRUST = TrustList((TrustedKey(KEY.public, (WalkKind.WALK,), "yard tablet", "2026-03-01"),))

# The order of the group, RFC 8032 section 5.1: adding it to S is the classic second signature.
GROUP_ORDER = 2**252 + 27742317777372353535851937790883648493


def encoded(header: Mapping[str, Any] | bytes) -> bytes:
    """A header's bytes: as they are, or in canonical form."""
    if isinstance(header, bytes):
        return header
    text = json.dumps(header, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return text.encode()


def line(
    header: Mapping[str, Any] | bytes, payload: bytes = PAYLOAD, key: SigningKey = KEY
) -> bytes:
    """A line that is truly signed by `key`, whatever it says."""
    message = f"{to_text(encoded(header))}.{to_text(payload)}".encode()
    return message + b"." + to_text(key.private.sign(message)).encode()


RECORD = line(HEADER)
"""The same as it was made before records were packed: its parts are easier to forge."""


def line_with_payload(payload: bytes) -> bytes:
    return line(HEADER, payload)


def line_saying(**changes: Any) -> bytes:
    """A summary with members changed (or removed, by ...), signed by the trusted key."""
    changed = {**SUMMARY, **changes}
    return line(HEADER, encoded({k: v for k, v in changed.items() if v is not ...}))


def mac_line(secret: bytes) -> bytes:
    """HS256 with a public text as the secret (RFC 8725 section 2.1)."""
    message = f"{to_text(encoded({**HEADER, 'alg': 'HS256'}))}.{to_text(PAYLOAD)}".encode()
    return message + b"." + to_text(hmac.digest(secret, message, hashlib.sha256)).encode()


def with_signature(signature: bytes) -> bytes:
    """The true header and payload under another signature."""
    return RECORD[: RECORD.rindex(b".") + 1] + to_text(signature).encode()
