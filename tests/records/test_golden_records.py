"""The golden bytes: the same walk gives them again, and those of earlier versions still verify."""

from __future__ import annotations

import pytest

from tests.records.make_golden import FOLDER, golden
from tests.records.walk_sample import KEY
from walkaround.records.base64url import from_text
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
