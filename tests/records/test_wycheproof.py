"""Project Wycheproof's Ed25519 cases, through our own reading of keys and verifying.

Where they come from stands in vectors/README.md.

A case is put to the library's door, `PublicKey.verifies`, and again as the signature part of a
line: there a signature of another length must be refused before it is looked at.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from walkaround.errors import RecordError, SigningKeyError
from walkaround.records.base64url import to_text
from walkaround.records.keys import PublicKey, public_key
from walkaround.records.signature import read_signature

VECTORS = Path(__file__).parent / "vectors" / "ed25519.tsv"


@dataclass(frozen=True)
class Case:
    number: str
    key: bytes
    message: bytes
    signature: bytes
    valid: bool
    told: str


def _case(line: str) -> Case:
    number, key, message, signature, result, flags, comment = line.split("\t")
    return Case(
        number,
        bytes.fromhex(key),
        bytes.fromhex(message),
        bytes.fromhex(signature),
        result == "valid",
        f"{flags}: {comment}",
    )


CASES = tuple(
    _case(line) for line in VECTORS.read_text("ascii").splitlines() if not line.startswith("#")
)


def _accepted(case: Case) -> bool:
    """As a reader of records would: the key from a JWK, the signature from its part."""
    try:
        key = public_key({"crv": "Ed25519", "kty": "OKP", "x": to_text(case.key)})
        signature = read_signature(to_text(case.signature).encode())
    except (SigningKeyError, RecordError):
        return False
    return key.verifies(signature, case.message)


def test_all_of_it_is_here() -> None:
    assert len(CASES) == 151
    assert sum(case.valid for case in CASES) == 88


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.number)
def test_a_case(case: Case) -> None:
    assert _accepted(case) is case.valid, case.told
    assert PublicKey(case.key).verifies(case.signature, case.message) is case.valid, case.told
