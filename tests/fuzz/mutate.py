"""Small changes to bytes, drawn from a seed: for the short run, which needs no fuzzer."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

TOKENS = (
    b"", b"\0", b"\n", b"\r\n", b" ", b"\t", b"'", b'"', b"\\", b"{", b"}", b"[", b"]",
    b":", b",", b"-", b"#", b"&a", b"*a", b"!!", b"|", b">", b"%", b"@", b"null", b"true",
    b"1e9", b"-0", b"0x1", b"NaN", b"9" * 30, b".", b"..", b"\xff", b"\xef\xbb\xbf",
    b"\xed\xa0\x80", b"\\u0000", b"\\ud800", "é".encode(), "½".encode(),
    "\u2028".encode(), "\U0001f602".encode(),
)  # fmt: skip


def mutated(seeds: Sequence[bytes], random: Random, largest: int) -> bytes:
    """One of the seeds with one to four things done to it."""
    content = bytearray(random.choice(seeds))
    for _ in range(random.randint(1, 4)):
        at = random.randint(0, len(content))
        match random.randrange(6):
            case 0 if content:
                content[at % len(content)] ^= 1 << random.randrange(8)
            case 1:
                content[at:at] = random.choice(TOKENS)
            case 2:
                del content[at : at + random.randint(1, 40)]
            case 3:
                other = random.choice(seeds)
                begin = random.randint(0, len(other))
                content[at:at] = other[begin : begin + random.randint(1, 200)]
            case 4:
                content[at : at + 1] = random.randbytes(random.randint(1, 4))
            case _:
                piece = content[at : at + random.randint(1, 60)]
                content[at:at] = piece * random.randint(1, 3)
    return bytes(content[:largest])
