"""Signed lines: a JWS in compact form (RFC 7515) over canonical JSON, by an Ed25519 key.

    base64url({"alg":"Ed25519","kid":<thumbprint>,"typ":<kind>}) . base64url(payload) . base64url(s)

The protected header has exactly these three members, in canonical form, and a compact
JWS has no other header; that of a record has `"cty":"gzip"` too, for its payload is packed
(`packed.py`); records of earlier versions are not, and are read all the same.  `alg` is
"Ed25519", the fully specified name of RFC 9864: "EdDSA" of RFC 8037 also covers another
curve and is deprecated there.  `typ` says what the line is, so that no kind passes for
another (RFC 8725 section 3.11).
"""

from __future__ import annotations

import types
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from joserfc import jws
from joserfc.jwk import OKPKey

from walkaround.errors import RecordError
from walkaround.records.base64url import from_text
from walkaround.records.canonical import Json, canonical, parse_canonical
from walkaround.records.keys import PublicKey, SigningKey
from walkaround.records.packed import pack, unpack

ALGORITHM = "Ed25519"
LARGEST_BYTES = 500_000
"""Of a whole line; a usual record is a fiftieth of it."""
LARGEST_PAYLOAD_BYTES = (LARGEST_BYTES - 500) * 3 // 4
"""Of a payload, unpacked: what a line can hold that is not packed."""
_PACKED = "gzip"
_SIGNATURE_BYTES = 64  # RFC 8032 section 5.1.6


class WalkKind(StrEnum):
    """What sort of walk it was: a key's trust covers some of them."""

    WALK = "walk"
    PRACTICE = "practice"
    SIMULATED = "simulated"


class Paper(StrEnum):
    """What sort of signed line it is."""

    RECORD = "record"
    HEAD = "head"  # inside a journal, over the entry before it
    LOG = "log"  # a line of the device's log
    COUNTERSIGNATURE = "countersignature"  # a second person's, over a record


_TYPES: Mapping[str, tuple[WalkKind, Paper]] = types.MappingProxyType(
    {
        "walkaround-walk+jws": (WalkKind.WALK, Paper.RECORD),
        "walkaround-practice+jws": (WalkKind.PRACTICE, Paper.RECORD),
        "walkaround-simulated+jws": (WalkKind.SIMULATED, Paper.RECORD),
        "walkaround-walk-head+jws": (WalkKind.WALK, Paper.HEAD),
        "walkaround-practice-head+jws": (WalkKind.PRACTICE, Paper.HEAD),
        "walkaround-simulated-head+jws": (WalkKind.SIMULATED, Paper.HEAD),
        "walkaround-walk-log+jws": (WalkKind.WALK, Paper.LOG),
        "walkaround-practice-log+jws": (WalkKind.PRACTICE, Paper.LOG),
        "walkaround-simulated-log+jws": (WalkKind.SIMULATED, Paper.LOG),
        "walkaround-walk-countersignature+jws": (WalkKind.WALK, Paper.COUNTERSIGNATURE),
        "walkaround-practice-countersignature+jws": (WalkKind.PRACTICE, Paper.COUNTERSIGNATURE),
        "walkaround-simulated-countersignature+jws": (WalkKind.SIMULATED, Paper.COUNTERSIGNATURE),
    }
)


def typ_of(kind: WalkKind, paper: Paper) -> str:
    """The `typ` of a signed line."""
    return next(typ for typ, row in _TYPES.items() if row == (kind, paper))


def sign(payload: Mapping[str, Json], key: SigningKey, kind: WalkKind, paper: Paper) -> bytes:
    """The signed line: ASCII, no line end. The same input gives the same bytes (RFC 8032).

    Raises RecordError when the payload has no canonical form or is too large.
    """
    try:
        content = canonical(payload)
    except ValueError as bad:
        raise RecordError(f"this cannot be signed: {bad}") from None
    if len(content) > LARGEST_PAYLOAD_BYTES:
        raise RecordError(f"a record of {len(content)} bytes is too large to sign; report this")
    header = {"alg": ALGORITHM, "kid": key.thumbprint, "typ": typ_of(kind, paper)}
    if paper is Paper.RECORD:
        content = pack(content)
        header = dict(sorted({**header, "cty": _PACKED}.items()))  # canonical, as written below
    line = jws.serialize_compact(
        header, content, OKPKey.import_key(key.private), algorithms=[ALGORITHM]
    )
    return line.encode("ascii")


@dataclass(frozen=True, slots=True)
class SignedLine:
    """A well-formed line whose signature has NOT been looked at yet."""

    key_id: str
    kind: WalkKind
    paper: Paper
    content: bytes  # the payload's bytes, unpacked
    signature: bytes
    message: bytes  # what is signed: header and payload in base64url, with the dot

    def payload(self) -> dict[str, Json]:
        """Raises RecordError unless the payload is one canonical JSON object."""
        return read_payload(self.content)


def parse_line(line: bytes) -> SignedLine:
    """Take a line apart, strictly, trusting nothing in it. Raises RecordError."""
    parts = split(line)
    header = read_header(parts[0])
    check_algorithm(header)
    kind, paper = kind_and_paper(header)
    content = read_content(header, parts[1])
    return SignedLine(
        key_id=str(header["kid"]),
        kind=kind,
        paper=paper,
        content=content,
        signature=read_signature(parts[2]),
        message=parts[0] + b"." + parts[1],
    )


Parts = tuple[bytes, bytes, bytes]


def split(line: bytes) -> Parts:
    """The three raw parts: header, payload, signature. Raises RecordError."""
    if len(line) > LARGEST_BYTES:
        raise RecordError(f"{len(line)} bytes are too many for a record; ask for the original")
    parts = line.split(b".")
    if len(parts) != 3 or not all(parts):
        raise RecordError(
            "this is not a signed record (three parts with dots between); look for the right file"
        )
    return parts[0], parts[1], parts[2]


def read_part(raw: bytes, name: str) -> bytes:
    """A part's bytes. Raises RecordError unless it is base64url in its one form."""
    try:
        return from_text(raw)
    except ValueError as bad:
        raise RecordError(f"the {name} is damaged: {bad}; ask for the original") from None


def read_header(raw: bytes) -> Mapping[str, Json]:
    """Exactly alg, kid and typ: so no `crit`, `b64`, `jwk`, `jku`, `x5u` can say otherwise.

    Besides them only that a record is packed.
    """
    try:
        header = parse_canonical(read_part(raw, "header"))
    except ValueError as bad:
        raise RecordError(f"the header is damaged: {bad}; ask for the original") from None
    if set(header) - {"cty"} != {"alg", "kid", "typ"} or header.get("cty", _PACKED) != _PACKED:
        raise RecordError(
            "the header must have alg, kid and typ, may have cty 'gzip', and nothing else; "
            "do not use this file"
        )
    if not all(isinstance(value, str) for value in header.values()):
        raise RecordError("alg, kid and typ in the header must be texts; do not use this file")
    return header


def check_algorithm(header: Mapping[str, Json]) -> None:
    """One algorithm and no other (RFC 8725 section 3.1). Raises RecordError."""
    if header["alg"] != ALGORITHM:
        said = str(header["alg"])[:20]
        raise RecordError(f"the algorithm is '{said}', not {ALGORITHM}; do not use this file")


def kind_and_paper(header: Mapping[str, Json]) -> tuple[WalkKind, Paper]:
    """What the line says it is. Raises RecordError for a `typ` that is none of ours."""
    found = _TYPES.get(str(header["typ"]))
    if found is None:
        said = str(header["typ"])[:40]
        raise RecordError(f"'{said}' is no kind of record known here; look for the right file")
    if "cty" in header and found[1] is not Paper.RECORD:
        raise RecordError(f"a signed {found[1]} is never packed; do not use this file")
    return found


def read_content(header: Mapping[str, Json], raw: bytes) -> bytes:
    """The payload's bytes, unpacked where the header says so. Raises RecordError."""
    content = read_part(raw, "payload")
    if "cty" not in header:
        return content
    try:
        return unpack(content, LARGEST_PAYLOAD_BYTES)
    except ValueError as bad:
        raise RecordError(f"the payload is damaged: {bad}; ask for the original") from None


def read_payload(content: bytes) -> dict[str, Json]:
    """Raises RecordError unless the payload is one canonical JSON object."""
    try:
        return parse_canonical(content)
    except ValueError as bad:
        raise RecordError(f"the payload is damaged: {bad}; ask for the original") from None


def read_signature(raw: bytes) -> bytes:
    """The 64 bytes of an Ed25519 signature (RFC 8032 section 5.1.6). Raises RecordError."""
    signature = read_part(raw, "signature")
    if len(signature) != _SIGNATURE_BYTES:
        raise RecordError(f"the signature has {len(signature)} bytes, not 64; ask for the original")
    return signature


def is_signed_by(line: SignedLine, key: PublicKey) -> bool:
    """Whether the signature is by `key` and the header names that key."""
    return line.key_id == key.thumbprint and key.verifies(line.signature, line.message)
