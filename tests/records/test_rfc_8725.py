"""RFC 8725, JSON Web Token best current practices, point by point: one test for each of 3.1
to 3.12.  Our lines are no JWTs, but they are JWS, and the same mistakes would be as bad."""

from __future__ import annotations

import inspect
import secrets
import zlib
from typing import Any

import pytest

from tests.records.edwards import FIELD, small_order
from tests.records.forging import (
    HEADER,
    JOURNAL,
    PACKED,
    PAYLOAD,
    RECORD,
    SUMMARY,
    TRUST,
    encoded,
    line,
    line_with_payload,
    mac_line,
    with_signature,
)
from tests.records.walk_sample import KEY, STRANGER
from walkaround.devices import keys as device_keys
from walkaround.errors import LogError, SigningKeyError
from walkaround.records import keys, log, signature, verify
from walkaround.records.base64url import from_text, to_text
from walkaround.records.journal import EntryKind, read_journal
from walkaround.records.keys import PublicKey, make_key, public_key
from walkaround.records.log import START, Note, What, write_line
from walkaround.records.report import Outcome, Report
from walkaround.records.signature import ALGORITHM, Paper, WalkKind, sign
from walkaround.records.trust import TrustedKey, TrustList


def _check(content: bytes, trust: TrustList = TRUST) -> Report:
    return verify.verify(content, trust)


def _refused_at(content: bytes, step: int, trust: TrustList = TRUST) -> None:
    report = _check(content, trust)
    assert not report.intact
    assert [s.number for s in report.steps if s.outcome is Outcome.FAILED] == [step]


def test_3_1_perform_algorithm_verification() -> None:
    """The algorithm is ours, never the line's: one name, and no use of a key for another."""
    for alg in ("none", "HS256", "EdDSA", "Ed448", "ES256", "RS256", "ed25519", "Ed25519\0"):
        _refused_at(line({**HEADER, "alg": alg}), 3)
    for secret in (KEY.public.x, to_text(KEY.public.x).encode(), encoded(KEY.public.jwk()), b""):
        _refused_at(mac_line(secret), 3)


def test_3_2_use_appropriate_algorithms() -> None:
    """A fully specified name (RFC 9864) of a deterministic signature (RFC 8032); no 'none'."""
    assert ALGORITHM == "Ed25519"
    again = sign(SUMMARY, KEY, WalkKind.WALK, Paper.RECORD)
    assert again == sign(SUMMARY, KEY, WalkKind.WALK, Paper.RECORD) == PACKED


def test_3_3_validate_all_cryptographic_operations() -> None:
    """One signature that fails anywhere refuses the whole: the heads inside a journal count."""
    assert not _check(with_signature(bytes(64))).intact
    entries = read_journal(JOURNAL).entries
    heads = [str(entry.body["jws"]) for entry in entries if entry.kind is EntryKind.HEAD]
    assert heads
    for head in heads:
        forged = head[:-4] + ("AAAA" if head[-4:] != "AAAA" else "BBBB")
        broken = JOURNAL.replace(head.encode(), forged.encode())
        assert not verify.verify(RECORD, TRUST, journal=broken).intact


SMALL = sorted(
    y + sign + more
    for y in small_order()
    for sign in (0, 2**255)
    for more in (0, FIELD)
    if y + more < 2**255
)


@pytest.mark.parametrize("x", SMALL, ids=hex)
def test_3_4_validate_cryptographic_inputs(x: int) -> None:
    """A point of small order, in any of its forms, is no key: it would sign for everybody."""
    raw = x.to_bytes(32, "little")
    with pytest.raises(SigningKeyError):
        public_key({"crv": "Ed25519", "kty": "OKP", "x": to_text(raw)})
    weak = PublicKey(raw)
    header, payload = {**HEADER, "kid": weak.thumbprint}, {**SUMMARY, "key": weak.jwk()}
    trust = TrustList((TrustedKey(weak, (WalkKind.WALK,), "nobody", ""),))
    unsigned = line(header, encoded(payload)).rsplit(b".", 1)[0]
    _refused_at(unsigned + b"." + to_text(b"\x01" + bytes(63)).encode(), 7, trust)


def test_3_4_there_is_something_to_refuse() -> None:
    """The library lets such keys pass; so the check above is not for nothing."""
    everybody = PublicKey(b"\x01" + bytes(31))
    assert everybody.verifies(b"\x01" + bytes(63), b"any text")
    assert everybody.verifies(b"\x01" + bytes(63), b"any other text")
    assert len(SMALL) == 14


def test_3_5_ensure_cryptographic_keys_have_sufficient_entropy() -> None:
    """32 bytes from the system's generator, none of them a person's choice."""
    for size in (0, 16, 31, 33):
        with pytest.raises(SigningKeyError):
            make_key(bytes(size))
    source = inspect.getsource(device_keys)
    assert source.count("make_key(") == source.count("make_key(secrets.token_bytes(SEED_BYTES))")
    assert keys.SEED_BYTES == 32
    assert len({make_key(secrets.token_bytes(32)).thumbprint for _ in range(50)}) == 50


def test_3_6_avoid_compression_of_encryption_inputs() -> None:
    """Nothing is encrypted, so no length gives away what is packed; `zip` is for JWE alone."""
    _refused_at(line_with_payload(zlib.compress(PAYLOAD)), 5)
    _refused_at(line({**HEADER, "zip": "DEF"}), 2)


def test_3_7_use_utf_8() -> None:
    """RFC 8259 section 8.1: no other encoding, no byte order mark, no half surrogates."""
    text = PAYLOAD.decode()
    for other in ("utf-16", "utf-16-le", "utf-32", "utf-8-sig", "utf-7"):
        if text.encode(other) != PAYLOAD:
            _refused_at(line_with_payload(text.encode(other)), 5)
    _refused_at(line_with_payload(PAYLOAD.replace(b"CA-ON", b"CA-\xed\xa0\x80N", 1)), 5)


def test_3_8_validate_issuer_and_subject() -> None:
    """The key is the issuer: it must be the one that is named, carried, and trusted here."""
    _refused_at(line({**HEADER, "kid": STRANGER.thumbprint}), 7)
    _refused_at(line(HEADER, encoded({**SUMMARY, "key": STRANGER.public.jwk()})), 7)
    stranger: dict[str, Any] = {**SUMMARY, "key": STRANGER.public.jwk()}
    report = _check(sign(stranger, STRANGER, WalkKind.WALK, Paper.RECORD))
    assert (report.intact, report.trusted) == (True, False)


def test_3_9_use_and_validate_audience() -> None:
    """Whom a record is for is its kind: a key is trusted for some kinds, and for no other."""
    for kind in WalkKind:
        record = sign({**SUMMARY, "walk": kind.value}, KEY, kind, Paper.RECORD)
        for scope in WalkKind:
            trust = TrustList((TrustedKey(KEY.public, (scope,), "x", ""),))
            assert _check(record, trust).trusted is (kind is scope)


def test_3_10_do_not_trust_received_claims() -> None:
    """No header can point to a key, and a name for one is compared, never opened."""
    assert {"urllib", "socket", "requests", "http"}.isdisjoint(
        name for module in (verify, signature, keys, log) for name in vars(module)
    )
    for name in ("jku", "x5u", "jwk", "x5c", "crit", "b64"):
        _refused_at(line({**HEADER, name: "https://example.test/"}), 2)
    for kid in ("../../etc/passwd", "' OR 1=1 --", "http://example.test/", "\0", "x" * 9000):
        _refused_at(line({**HEADER, "kid": kid}), 7)


def test_3_11_use_explicit_typing() -> None:
    """`typ` is there, is one of ours, to the letter, and says what the line may be used as."""
    _refused_at(line({name: value for name, value in HEADER.items() if name != "typ"}), 2)
    for typ in ("JWT", "jose", "", "walkaround-walk", "Walkaround-Walk+JWS"):
        _refused_at(line({**HEADER, "typ": typ}), 4)


def test_3_12_use_mutually_exclusive_validation_rules_for_different_kinds() -> None:
    """Every kind of line that a device signs, put in the place of every other: refused."""
    record = {kind: sign({**SUMMARY, "walk": kind.value}, KEY, kind, Paper.RECORD)
              for kind in WalkKind}  # fmt: skip
    head = {kind: sign({"seq": 1, "hash": "0" * 64}, KEY, kind, Paper.HEAD) for kind in WalkKind}
    opened = Note(What.OPENED, "2026-03-01", key=KEY.public)
    logged = {kind: write_line(START, opened, KEY, kind)[0].strip() for kind in WalkKind}
    for kind in WalkKind:
        assert not _check(head[kind]).intact
        assert not _check(logged[kind]).intact
        for content in (record[kind], head[kind]):
            with pytest.raises(LogError):
                log.read_log(content + b"\n")
        assert log.read_log(logged[kind] + b"\n").keys == (KEY.public,)
    typs = {from_text(content.split(b".")[0]) for group in (record, head, logged)
            for content in group.values()}  # fmt: skip
    assert len(typs) == 9
