"""The golden bytes: the same walk gives them again, and those of earlier versions still verify."""

from __future__ import annotations

import gzip
import tracemalloc

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.records.make_golden import FOLDER, golden
from tests.records.walk_sample import KEY
from walkaround.records.base64url import from_text
from walkaround.records.packed import pack, unpack
from walkaround.records.signature import WalkKind, parse_line
from walkaround.records.trust import TrustedKey, TrustList
from walkaround.records.verify import verify

GOLDEN_TRUST = TrustList((TrustedKey(KEY.public, (WalkKind.SIMULATED,), "tests", ""),))


def test_the_same_walk_gives_the_same_bytes() -> None:
    """A fixed key and fixed entries; Ed25519 signatures are deterministic (RFC 8032).

    A record is compared unpacked: another version of zlib may pack it otherwise.
    """
    made, kept = golden()["simulated.jws"], (FOLDER / "simulated.jws").read_bytes()
    assert golden()["simulated.jsonl"] == (FOLDER / "simulated.jsonl").read_bytes()
    assert made.split(b".")[0] == kept.split(b".")[0]
    assert parse_line(made).content == parse_line(kept).content


@pytest.mark.parametrize("name", ["simulated.jws", "simulated-plain.jws"])
def test_the_golden_records_still_verify(name: str) -> None:
    """The plain one was made before records were packed."""
    record, journal_ = (FOLDER / name).read_bytes(), (FOLDER / "simulated.jsonl").read_bytes()
    assert (b"cty" in from_text(record.split(b".")[0])) is (name == "simulated.jws")
    assert verify(record, GOLDEN_TRUST, journal=journal_).trusted


# ---------------------------------------------------------------- packing


@given(st.binary(max_size=3000))
def test_what_was_packed_comes_out_and_gzip_agrees(content: bytes) -> None:
    """The standard library's own reader of RFC 1952 is the peer."""
    packed = pack(content)
    assert unpack(packed, len(content)) == content == gzip.decompress(packed)


@pytest.mark.parametrize("size", [30_000_000, 1001])
def test_unpacking_stops_at_its_limit_however_much_there_would_be(size: int) -> None:
    bomb = pack(bytes(size))
    tracemalloc.start()
    with pytest.raises(ValueError, match="more than 1000 bytes are packed in it"):
        unpack(bomb, 1000)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 200_000  # bytes; the bomb itself is copied twice
    assert unpack(pack(bytes(1000)), 1000) == bytes(1000)
