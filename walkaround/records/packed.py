"""A record's payload made small: gzip (RFC 1952), in one form of header, as one member.

A signed line may carry any bytes (RFC 7515 section 2), and `cty` says of which media type
they are (section 4.1.10): "gzip" is `application/gzip` (RFC 6713).  What is signed are the
packed bytes, so nobody can pack them otherwise afterwards.  Unpacking stops at a limit
however much there would be, and nothing may stand before, between or after.
"""

from __future__ import annotations

import struct
import zlib

_HEADER = bytes((0x1F, 0x8B, 8, 0, 0, 0, 0, 0, 2, 255))
"""Deflate, no name, no comment, no extra field, no time, best, on no system in particular."""
_TRAILER = struct.Struct("<II")  # CRC-32 and length of what was packed
_RAW_DEFLATE = -15  # no wrapping of zlib's own; the largest window


def pack(content: bytes) -> bytes:
    """The packed bytes: the same for the same content and the same version of zlib."""
    packer = zlib.compressobj(zlib.Z_BEST_COMPRESSION, zlib.DEFLATED, _RAW_DEFLATE)
    trailer = _TRAILER.pack(zlib.crc32(content), len(content))
    return _HEADER + packer.compress(content) + packer.flush() + trailer


def unpack(packed: bytes, largest: int) -> bytes:
    """What was packed, of at most so many bytes. Raises ValueError for anything else."""
    if packed[: len(_HEADER)] != _HEADER:
        raise ValueError("it is not packed as it says")
    body, trailer = packed[len(_HEADER) : -_TRAILER.size], packed[-_TRAILER.size :]
    unpacker = zlib.decompressobj(_RAW_DEFLATE)
    try:
        content = unpacker.decompress(body, largest + 1)
    except zlib.error:
        raise ValueError("what is packed in it is damaged") from None
    if len(content) > largest:
        raise ValueError(f"more than {largest} bytes are packed in it")
    if not unpacker.eof or unpacker.unused_data:
        raise ValueError("what is packed in it ends too early or too late")
    if trailer != _TRAILER.pack(zlib.crc32(content), len(content)):
        raise ValueError("what is packed in it is not what its sum says")
    return content
