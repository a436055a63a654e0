"""Many signed records quickly: one template cut to size, the day's numbers stamped into it.

The bytes that come out are canonical JSON, because only texts change in place; `Stamp` is
for the benchmark's hundred thousand, `fleets` for everything that needs a whole payload.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

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
from walkaround.records.signature import Paper, typ_of
from walkaround.records.trust import TrustList

_LEFT_OUT = frozenset(
    {
        "nobody-near", "vehicle-facts", "compressor-look", "air-lines-look", "wheel-brakes-look",
        "discharge-temperature", "accessories-air", "chocks-away", "park-hold-power-unit",
        "service-stop", "sum-up", "cut-out-again",
    }
)  # fmt: skip
"""Steps that no other step's state hangs on: left out to make a record of ten thousand bytes."""
_FOLLOWED = ("build-up", "loss-applied", "loss-released", "stroke@")
_PLACE = re.compile(rb"@@([^@]*(?:@axle[^@]*)?)@@")


def cut(payload: dict[str, Any]) -> dict[str, Any]:
    """A record of about ten thousand bytes: verdicts of what is followed over time, their
    rules, and only the data files that the order is judged by."""
    rules: list[Any] = []
    payload["steps"] = [step for step in payload["steps"] if step["id"] not in _LEFT_OUT]
    for step in payload["steps"]:
        kept = []
        for verdict in step.get("verdicts", ()):
            rule = payload["rules"][verdict["rule"]]
            if rule["measure"].startswith(_FOLLOWED):
                if rule not in rules:
                    rules.append(rule)
                kept.append({**verdict, "rule": rules.index(rule)})
        step.pop("verdicts", None)
        if kept:
            step["verdicts"] = kept
    used = sorted({rule["citation"] for rule in rules})
    citations = [payload["citations"][at] for at in used]
    payload["rules"] = [{**rule, "citation": used.index(rule["citation"])} for rule in rules]
    payload["citations"] = citations
    payload.update(findings=[], undetermined=[], near=[])
    wanted = ("scripts/", "steps/", "acts/", "vehicles/")
    payload["sources"] = {
        origin: {name: sha for name, sha in named.items() if name.startswith(wanted)}
        for origin, named in payload["sources"].items()
    }
    return payload


class Stamp:
    """The template as pieces: literal bytes, and the names of what goes between them."""

    def __init__(self, *, small: bool = True) -> None:
        names = numbers_of(truck_of("t", random.Random(1)), 0, random.Random(1))
        told = {name: f"@@{name}@@" for name in names}
        payload = variant(template(), told, id="@@id@@", began="@@began@@", duration="@@took@@")
        payload["vehicle"] = {"name": "@@vehicle@@"}
        payload["key"]["x"] = "@@key@@"
        payload["journal"]["hash"] = "@@hash@@"
        content = recode(cut(payload) if small else payload)
        self._pieces = _PLACE.split(content)

    def __call__(self, values: dict[str, str]) -> bytes:
        """The payload with these values."""
        filled = list(self._pieces)
        for at in range(1, len(filled), 2):
            filled[at] = values[filled[at].decode()].encode()
        return b"".join(filled)


def sealed(content: bytes, key: SigningKey, header: str) -> bytes:
    """The signed line over bytes that are canonical already."""
    message = f"{header}.{to_text(content)}".encode()
    return message + b"." + to_text(key.private.sign(message)).encode()


def stamped(drivers: int, walks: int, seed: int, stamp: Stamp) -> Iterator[tuple[str, bytes]]:
    """(id, record) of honest drivers, each with a truck, a walk a day."""
    for driver in range(drivers):
        dice, key = random.Random(f"{seed}/{driver}"), key_of(driver)
        truck = truck_of(f"truck {driver}", dice)
        header = to_text(
            recode({"alg": "Ed25519", "kid": key.thumbprint, "typ": typ_of(KIND, Paper.RECORD)})
        )
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
