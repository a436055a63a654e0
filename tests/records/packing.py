"""Payloads packed otherwise than we do, truly signed: what is refused, and at which step.

name -> (bytes, number of the step that refuses it)
"""

from __future__ import annotations

import json
import zlib

from tests.records.forging import HEADER, PACKED, PACKED_HEADER, PAYLOAD, RECORD, SUMMARY, line
from tests.records.walk_sample import KEY
from walkaround.records.base64url import to_text
from walkaround.records.packed import pack
from walkaround.records.signature import LARGEST_PAYLOAD_BYTES

_DEFLATED = pack(PAYLOAD)[10:-8]
_SUM = pack(PAYLOAD)[-8:]
_EMPTY_BLOCK = b"\0\0\0\xff\xff"  # RFC 1951 section 3.2.4: a stored block of no bytes


def packed_line(content: bytes) -> bytes:
    return line(PACKED_HEADER, content)


PACKING: dict[str, tuple[bytes, int]] = {
    **{
        f"cty {cty!r}": (line({**HEADER, "cty": cty}, pack(PAYLOAD)), 2)
        for cty in ("application/gzip", "GZIP", "gzip ", "", "zlib", "json", "zip", None, ["gzip"])
    },
    "cty of a head of a journal": (
        line({**PACKED_HEADER, "typ": "walkaround-walk-head+jws"}, pack(PAYLOAD)), 4,
    ),
    "packed, and cty is left out": (line(HEADER, pack(PAYLOAD)), 5),
    "cty, and not packed": (packed_line(PAYLOAD), 5),
    "cty, and no payload to speak of": (packed_line(b"\0"), 5),
    "packed twice": (packed_line(pack(pack(PAYLOAD))), 5),
    "packed as zlib does (RFC 1950)": (packed_line(zlib.compress(PAYLOAD)), 5),
    "packed without a header": (packed_line(_DEFLATED), 5),
    "packed with a file's name": (
        packed_line(
            pack(PAYLOAD)[:3] + b"\x08" + pack(PAYLOAD)[4:10] + b"a\0" + _DEFLATED + _SUM
        ), 5,
    ),
    "packed with a time": (packed_line(pack(PAYLOAD)[:4] + b"\1" + pack(PAYLOAD)[5:]), 5),
    "packed on another system": (packed_line(pack(PAYLOAD)[:9] + b"\3" + _DEFLATED + _SUM), 5),
    "packed in two members": (packed_line(pack(PAYLOAD[:900]) + pack(PAYLOAD[900:])), 5),
    "packed with more after it": (packed_line(pack(PAYLOAD) + b"\0"), 5),
    "packed with more before its sum": (packed_line(pack(PAYLOAD)[:-8] + b"\0" + _SUM), 5),
    "packed with a block after the last": (
        packed_line(pack(PAYLOAD)[:-8] + _EMPTY_BLOCK + _SUM), 5,
    ),
    "packed and cut by a byte": (packed_line(pack(PAYLOAD)[:-1]), 5),
    "packed and cut in the middle": (packed_line(pack(PAYLOAD)[:800] + _SUM), 5),
    "packed with another sum": (packed_line(pack(PAYLOAD)[:-8] + bytes(4) + _SUM[4:]), 5),
    "packed with another length": (packed_line(pack(PAYLOAD)[:-4] + bytes(4)), 5),
    "packed with a length past 2^32": (
        packed_line(pack(bytes(2**20))[:-4] + b"\xff" * 4), 5,
    ),
    "a block of a kind that is none": (packed_line(pack(b"")[:10] + b"\x07" + _SUM), 5),
    "a bomb: much from little": (packed_line(pack(bytes(30_000_000))), 5),
    "a bomb that is a list of lists": (packed_line(pack(b"[" * 5_000_000)), 5),
    "a byte more than may be packed": (packed_line(pack(b" " * (LARGEST_PAYLOAD_BYTES + 1))), 5),
    "as much as may be packed": (packed_line(pack(b" " * LARGEST_PAYLOAD_BYTES)), 5),
    "packed JSON with blanks": (packed_line(pack(json.dumps(SUMMARY).encode())), 5),
    "packed JSON with a member twice": (
        packed_line(pack(PAYLOAD.replace(b'{"began"', b'{"walk":"walk","began"', 1))), 5,
    ),
    "packed signature over what it holds": (
        PACKED[: PACKED.rindex(b".") + 1] + to_text(KEY.private.sign(PAYLOAD)).encode(), 8,
    ),
    "packed otherwise, under the same signature": (
        b".".join([
            PACKED.split(b".")[0],
            to_text(pack(b"")[:10] + zlib.compress(PAYLOAD, 1)[2:-4] + _SUM).encode(),
            PACKED.split(b".")[2],
        ]), 8,
    ),
    "a packed record's parts under the header of a plain one": (
        b".".join([RECORD.split(b".")[0], *PACKED.split(b".")[1:]]), 5,
    ),
}  # fmt: skip
