"""The trust list: it only grows, keeps kinds apart, and takes a key back for good."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.records.walk_sample import KEY, STRANGER
from walkaround.errors import SigningKeyError
from walkaround.records.chain import chained, unchained
from walkaround.records.keys import make_key
from walkaround.records.position import Position
from walkaround.records.signature import WalkKind
from walkaround.records.trust import (
    FORMAT,
    Entry,
    Revoked,
    SeenHead,
    TrustedKey,
    TrustList,
    parse_trust,
    serialise_trust,
)

HEAD = Position(41, "ab" * 32)
OURS = TrustedKey(KEY.public, (WalkKind.WALK, WalkKind.PRACTICE), "yard tablet", "2026-03-01")
THEIRS = TrustedKey(STRANGER.public, (WalkKind.SIMULATED,), "démo", "2026-03-02")
SEEN = SeenHead(KEY.thumbprint, HEAD, "2026-03-04")
GONE = Revoked(KEY.thumbprint, "the tablet was stolen", "2026-03-05", HEAD)
LIST = TrustList((OURS, THEIRS, SEEN, GONE))


@pytest.mark.parametrize("length", range(5))
def test_a_trust_list_round_trips(length: int) -> None:
    shorter = TrustList(LIST.entries[:length])
    assert parse_trust(serialise_trust(shorter)) == shorter


@pytest.mark.parametrize("length", range(4))
def test_a_longer_list_begins_with_the_shorter(length: int) -> None:
    shorter = serialise_trust(TrustList(LIST.entries[:length]))
    longer = serialise_trust(TrustList(LIST.entries[: length + 1]))
    assert longer.startswith(shorter)
    assert longer.count(b"\n") == shorter.count(b"\n") + 1


def test_keys_are_found_by_thumbprint() -> None:
    assert LIST.find(KEY.thumbprint) is OURS
    assert LIST.find("x") is None
    assert LIST.keys == (OURS, THEIRS)
    assert LIST.seen(KEY.thumbprint) == (HEAD,)
    assert LIST.seen(STRANGER.thumbprint) == ()
    assert LIST.revoked(KEY.thumbprint) is GONE
    assert LIST.revoked(STRANGER.thumbprint) is None


def test_simulated_trust_is_of_its_own() -> None:
    with pytest.raises(SigningKeyError, match="simulated"):
        TrustedKey(KEY.public, (WalkKind.WALK, WalkKind.SIMULATED), "both", "")
    with pytest.raises(SigningKeyError, match="nothing"):
        TrustedKey(KEY.public, (), "none", "")


def test_a_key_comes_once_and_goes_once() -> None:
    standing = TrustList((OURS,))
    with pytest.raises(SigningKeyError, match="already"):
        standing.with_key(OURS)
    with pytest.raises(SigningKeyError, match="not on the trust list"):
        TrustList().without(GONE)
    with pytest.raises(SigningKeyError, match="not on the trust list"):
        TrustList().with_head(SEEN)
    gone = standing.without(GONE)
    assert gone.find(KEY.thumbprint) is OURS
    for again in (gone.with_key, gone.without, gone.with_head):
        entry: Any = {gone.with_key: OURS, gone.without: GONE}.get(again, SEEN)
        with pytest.raises(SigningKeyError, match="taken back"):
            again(entry)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 5), st.sampled_from("khr")), max_size=12))
def test_whatever_is_done_the_list_only_grows(moves: list[tuple[int, str]]) -> None:
    trust = TrustList()
    for number, move in moves:
        key = make_key(bytes([number]) * 32)
        entry: Entry
        before = serialise_trust(trust)
        try:
            match move:
                case "k":
                    trust = trust.with_key(TrustedKey(key.public, (WalkKind.WALK,), "", ""))
                case "h":
                    trust = trust.with_head(SeenHead(key.thumbprint, HEAD, ""))
                case _:
                    entry = Revoked(key.thumbprint, "lost", "")
                    trust = trust.without(entry)
        except SigningKeyError:
            assert serialise_trust(trust) == before
        assert serialise_trust(trust).startswith(before)
    assert parse_trust(serialise_trust(trust)) == trust


# ---------------------------------------------------------------- files out of order


def _lines(*bodies: Any) -> bytes:
    return chained([{"is": "format", "format": FORMAT}, *bodies])


BODIES: list[Any] = [dict(body) for body in unchained(serialise_trust(LIST))[1:]]


def _changed(index: int, **changes: Any) -> bytes:
    """A list that chains, one of its bodies changed; ... takes a member out."""
    bodies = [dict(body) for body in BODIES]
    bodies[index] = {k: v for k, v in {**bodies[index], **changes}.items() if v is not ...}
    return _lines(*bodies)


WHOLE = serialise_trust(LIST)
OUT_OF_ORDER: dict[str, bytes] = {
    "empty": b"",
    "no list": b"{}\n",
    "JSON, but no lines": b"[]",
    "another format": chained([{"is": "format", "format": "walkaround-trust-9"}]),
    "the list of an earlier format": b'{"format":"walkaround-trust-1","keys":[]}\n',
    "no format": chained(BODIES),
    "cut short": WHOLE[:-1],
    "cut in a line": WHOLE[:-9],
    "a line taken out": b"".join(WHOLE.splitlines(keepends=True)[i] for i in (0, 1, 3, 4)),
    "two lines in another order": b"".join(
        WHOLE.splitlines(keepends=True)[i] for i in (0, 2, 1, 3, 4)
    ),
    "a line twice": WHOLE + WHOLE.splitlines(keepends=True)[-1],
    "an empty line": WHOLE + b"\n",
    "a letter changed": WHOLE.replace(b"stolen", b"stolem"),
    "not UTF-8": WHOLE.replace("démo".encode(), b"d\xffmo"),
    "with a blank": WHOLE.replace(b'"body":', b'"body": ', 1),
    "another thumbprint": _changed(0, thumbprint=STRANGER.thumbprint),
    "another key": _changed(0, jwk=STRANGER.public.jwk()),
    "a private key": _changed(0, jwk={**KEY.public.jwk(), "d": "x"}),
    "walks and simulated": _changed(0, scope=["walk", "simulated"]),
    "a scope unknown": _changed(0, scope=["everything"]),
    "no scope": _changed(0, scope=[]),
    "a scope that is a text": _changed(0, scope="walk"),
    "a name that is no text": _changed(0, name=5),
    "a member more in a key": _changed(0, more="x"),
    "a member more in a head": _changed(2, more="x"),
    "a head that is none": _changed(2, head={"seq": "41", "hash": "x"}),
    "a head with more": _changed(2, head={"seq": 41, "hash": "x", "more": 1}),
    "a head of a stranger": _changed(2, thumbprint="stranger"),
    "revoked without a reason": _changed(3, why=...),
    "revoked, never trusted": _changed(3, thumbprint="stranger"),
    "revoked twice": _lines(*BODIES, BODIES[3]),
    "trusted twice": _lines(*BODIES, BODIES[0]),
    "a kind unknown": _changed(3, **{"is": "forgiven"}),
    "a body that is a list": WHOLE.replace(b'{"body":{', b'{"body":[{', 1),
}


@pytest.mark.parametrize("name", OUT_OF_ORDER)
def test_a_trust_list_out_of_order(name: str) -> None:
    with pytest.raises(SigningKeyError):
        parse_trust(OUT_OF_ORDER[name])


def test_every_byte_of_the_list_counts() -> None:
    for at in range(len(WHOLE)):
        changed = WHOLE[:at] + bytes([WHOLE[at] ^ 1]) + WHOLE[at + 1 :]
        with pytest.raises(SigningKeyError):
            parse_trust(changed)


def test_the_chain_is_the_documented_one() -> None:
    """SHA-256 over the canonical line without its hash, checked with hashlib alone."""

    prev = "0" * 64
    for seq, raw in enumerate(WHOLE.splitlines()):
        line = json.loads(raw)
        told = line.pop("hash")
        assert (line["seq"], line["prev"]) == (seq, prev)
        text = json.dumps(line, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
        prev = hashlib.sha256(text.encode()).hexdigest()
        assert prev == told
