"""A countersignature: a second person's signed line over the hash of a record, with remarks.

It is a record of its own and changes nothing in the first.  It says that its signer had
these bytes before them on that day, and what they remarked; not that the readings are true.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from walkaround.errors import RecordError, SigningKeyError
from walkaround.records.canonical import Json
from walkaround.records.keys import SigningKey, public_key
from walkaround.records.shape import Members
from walkaround.records.signature import Paper, WalkKind, is_signed_by, parse_line, sign

FORMAT = "walkaround-countersignature-1"
MOST_REMARKS = 4000


@dataclass(frozen=True, slots=True)
class Countersignature:
    """`record` is the SHA-256 of the countersigned line; `signer` and `at` are as entered."""

    record: str
    walk_id: str
    kind: WalkKind
    remarks: str
    signer: str
    at: str
    key_id: str


def countersign(
    record: bytes,
    key: SigningKey,
    kind: WalkKind,
    *,
    walk_id: str,
    remarks: str,
    signer: str,
    at: str,
) -> bytes:
    """The signed line over a record that was verified. Raises RecordError."""
    if not remarks.strip() or len(remarks) > MOST_REMARKS:
        raise RecordError(f"remarks are 1 to {MOST_REMARKS} letters; say what you looked at")
    payload: dict[str, Json] = {
        "format": FORMAT,
        "record": {"sha256": hashlib.sha256(record).hexdigest(), "id": walk_id},
        "remarks": remarks,
        "signer": signer,
        "at": at,
        "key": key.public.jwk(),
    }
    return sign(payload, key, kind, Paper.COUNTERSIGNATURE)


def read_countersignature(line: bytes) -> Countersignature:
    """One whose signature fits the key in it, trusted or not. Raises RecordError."""
    signed = parse_line(line)
    if signed.paper is not Paper.COUNTERSIGNATURE:
        raise RecordError(f"this is a signed {signed.paper}, no countersignature")
    members = Members(signed.payload(), "the countersignature", RecordError)
    if members.text("format") != FORMAT:
        raise RecordError(f"this is no countersignature ({FORMAT}); use the version that wrote it")
    over = members.object("record")
    told = Countersignature(
        over.text("sha256"),
        over.text("id"),
        signed.kind,
        members.text("remarks"),
        members.text("signer"),
        members.text("at"),
        signed.key_id,
    )
    try:
        key = public_key(members.plain("key"))
    except SigningKeyError as bad:
        raise RecordError(f"the countersignature's key is damaged: {bad}") from None
    over.done()
    members.done()
    if not is_signed_by(signed, key):
        raise RecordError("the countersignature was changed: its signature does not fit")
    return told
