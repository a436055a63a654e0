"""Many signed records quickly: one walk's record as a template, the day's numbers stamped in.

The bytes that come out are canonical JSON, because only texts change in place; `Stamp` is
for the benchmark's hundred thousand, `fleets` for everything that needs a whole payload.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

from tests.audit.fleets import (
    BEGAN,
    KIND,
    key_of,
    numbers_of,
    template,
    truck_of,
    trust_of,
    variant,
)
from walkaround.records.base64url import to_text
from walkaround.records.canonical import recode
from walkaround.records.keys import SigningKey
from walkaround.records.packed import pack
from walkaround.records.signature import Paper, typ_of
from walkaround.records.trust import TrustList

_PLACE = re.compile(rb"@@([^@]*(?:@axle[^@]*)?)@@")


class Stamp:
    """The template as pieces: literal bytes, and the names of what goes between them."""

    def __init__(self) -> None:
        names = numbers_of(truck_of("t", random.Random(1)), 0, random.Random(1))
        told = {name: f"@@{name}@@" for name in names}
        payload = variant(template(), told, id="@@id@@", began="@@began@@", duration="@@took@@")
        payload["vehicle"] = {"name": "@@vehicle@@"}
        payload["key"]["x"] = "@@key@@"
        payload["journal"]["hash"] = "@@hash@@"
        self._pieces = _PLACE.split(recode(payload))

    def __call__(self, values: dict[str, str]) -> bytes:
        """The payload with these values."""
        filled = list(self._pieces)
        for at in range(1, len(filled), 2):
            filled[at] = values[filled[at].decode()].encode()
        return b"".join(filled)


def sealed(content: bytes, key: SigningKey, header: str) -> bytes:
    """The signed line over bytes that are canonical already, packed as the product does it."""
    message = f"{header}.{to_text(pack(content))}".encode()
    return message + b"." + to_text(key.private.sign(message)).encode()


def stamped(drivers: int, walks: int, seed: int, stamp: Stamp) -> Iterator[tuple[str, bytes]]:
    """(id, record) of honest drivers, each with a truck, a walk a day."""
    for driver in range(drivers):
        dice, key = random.Random(f"{seed}/{driver}"), key_of(driver)
        truck = truck_of(f"truck {driver}", dice)
        typ = typ_of(KIND, Paper.RECORD)
        told = {"alg": "Ed25519", "cty": "gzip", "kid": key.thumbprint, "typ": typ}
        header = to_text(recode(dict(told)))
        jwk = str(key.public.jwk()["x"])
        for number in range(walks):
            values = numbers_of(truck, number / 7, dice)
            when = BEGAN + timedelta(days=number, minutes=dice.randrange(120))
            name = f"{seed}-{driver:05}-{number:05}"
            values |= {
                "id": name,
                "began": when.isoformat(timespec="milliseconds").replace("+00:00", "Z"),
                "took": f"{dice.gauss(1900, 150):.3f} s",
                "vehicle": truck.name,
                "key": jwk,
                "hash": f"{dice.getrandbits(256):064x}",
            }
            yield name, sealed(stamp(values), key, header)


def write_stamped(folder: Path, drivers: int, walks: int, *, seed: int = 1) -> TrustList:
    """One record a file, a folder for each driver; returns whom to trust."""
    stamp = Stamp()
    for name, line in stamped(drivers, walks, seed, stamp):
        at = folder / name.split("-")[1]
        at.mkdir(parents=True, exist_ok=True)
        (at / f"{name}.jws").write_bytes(line)
    return trust_of(drivers)
