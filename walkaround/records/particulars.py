"""A person's particulars as salted commitments: the record holds the hashes, a file of its
own holds what opens them.  Deleting that file removes the person; every signature stays.

A commitment is SHA-256 over {"name":..,"salt":..,"value":..} in canonical form.  Each
name has a salt of its own, so that showing one particular shows no other.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Mapping
from dataclasses import dataclass

from walkaround.errors import RecordError
from walkaround.records.base64url import to_text
from walkaround.records.canonical import Json, canonical, parse_canonical
from walkaround.records.shape import Members

FORMAT = "walkaround-openings-1"
SALT_BYTES = 32


@dataclass(frozen=True, slots=True)
class Opened:
    """One particular with its salt: what proves that the record means this person."""

    salt: str
    value: str


def commit(particulars: Mapping[str, str], salt: bytes) -> tuple[dict[str, str], bytes]:
    """(commitments by name for the record, the openings file). `salt`: 32 random bytes.

    Raises RecordError for another size of salt: a short one could be guessed.
    """
    if len(salt) != SALT_BYTES:
        raise RecordError(f"a salt is {SALT_BYTES} random bytes, not {len(salt)}")
    opened = {
        name: Opened(_salt_of(salt, name), value) for name, value in sorted(particulars.items())
    }
    commitments = {name: commitment(name, opening) for name, opening in opened.items()}
    return commitments, openings_file(opened)


def _salt_of(salt: bytes, name: str) -> str:
    return to_text(hmac.digest(salt, name.encode("utf-8"), "sha256"))


def commitment(name: str, opened: Opened) -> str:
    """The hash that stands in the record, 64 hexadecimal letters."""
    body: dict[str, Json] = {"name": name, "salt": opened.salt, "value": opened.value}
    return hashlib.sha256(canonical(body)).hexdigest()


def open_commitment(commitments: Mapping[str, str], name: str, opened: Opened) -> bool:
    """Whether the record was made with this particular under this name."""
    return commitments.get(name) == commitment(name, opened)


def openings_file(opened: Mapping[str, Opened]) -> bytes:
    """The file's bytes: canonical JSON with a line end."""
    body: dict[str, Json] = {
        name: {"salt": item.salt, "value": item.value} for name, item in opened.items()
    }
    return canonical({"format": FORMAT, "openings": body}) + b"\n"


def read_openings(content: bytes) -> dict[str, Opened]:
    """The openings by name. Raises RecordError."""
    try:
        plain = parse_canonical(content.removesuffix(b"\n"))
    except ValueError as bad:
        raise RecordError(f"the openings file is damaged: {bad}; use your copy") from None
    members = Members(plain, "the openings file", RecordError)
    if members.text("format") != FORMAT:
        raise RecordError(f"this is not an openings file ({FORMAT}); look for the right one")
    inner = members.object("openings")
    members.done()
    opened = {}
    for name in inner.raw:
        one = inner.object(name)
        opened[name] = Opened(one.text("salt"), one.text("value"))
        one.done()
    return opened
