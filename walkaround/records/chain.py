"""Lines that each carry the hash of the one before: a list that can only grow.

    {"body":{...},"hash":"<64 hex>","prev":"<64 hex>","seq":0}

`hash` is SHA-256 over the line's canonical form without `hash`; the first `prev` is 64
zeros.  Whoever holds the last hash can tell whether a line was taken out or changed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping

from walkaround.records.canonical import Json, canonical, parse_canonical, recode

NO_HASH = "0" * 64
"""What stands in place of a hash before the first line."""


def chained(bodies: Iterable[Mapping[str, Json]]) -> bytes:
    """The lines for these bodies, in order. Raises ValueError for a body that is no JSON."""
    lines, prev = list[bytes](), NO_HASH
    for seq, body in enumerate(bodies):
        line: dict[str, Json] = {"body": dict(body), "prev": prev, "seq": seq}
        prev = hashlib.sha256(canonical(line)).hexdigest()
        lines.append(canonical({**line, "hash": prev}) + b"\n")
    return b"".join(lines)


def unchained(content: bytes) -> tuple[Mapping[str, Json], ...]:
    """The bodies of whole lines that chain. Raises ValueError, naming the line."""
    lines = content.split(b"\n")
    if lines.pop():
        raise ValueError(f"line {len(lines) + 1} is cut short")
    bodies, prev = list[Mapping[str, Json]](), NO_HASH
    for seq, line in enumerate(lines):
        try:
            body, prev = _link(parse_canonical(line), seq, prev)
        except ValueError as bad:
            raise ValueError(f"line {seq + 1}: {bad}") from None
        bodies.append(body)
    return tuple(bodies)


def _link(plain: dict[str, Json], seq: int, prev: str) -> tuple[Mapping[str, Json], str]:
    told = plain.pop("hash", None)
    body = plain.get("body")
    if set(plain) != {"body", "prev", "seq"} or not isinstance(body, dict):
        raise ValueError("it must have body, hash, prev and seq and nothing else")
    if (plain["seq"], plain["prev"]) != (seq, prev) or isinstance(plain["seq"], bool):
        raise ValueError("it does not continue the line before")
    if hashlib.sha256(recode(plain)).hexdigest() != told:
        raise ValueError("it was changed: its hash does not match")
    return body, str(told)
