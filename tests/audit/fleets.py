"""Fleets of signed records for the tests of the audit, each driver with a habit.

One walk is walked for real, with the simulated truck, by text; the others are variants of
its record: numbers drawn anew from a model of a truck and of a person reading gauges, and
signed anew.  The model (spreads from walk to walk, common practice, no source) knows nothing
of the audit's tests: readings scatter, correlate within a day, and sometimes stand still.
"""

from __future__ import annotations

import hashlib
import json
import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from tests.walks.stories import Lines, library
from walkaround.cli.material import Material, files_from_library, judge_of, load
from walkaround.exchange import SittingOpened, Wording
from walkaround.records.base64url import to_text
from walkaround.records.canonical import recode
from walkaround.records.journal import open_journal, read_journal
from walkaround.records.keys import SigningKey, make_key
from walkaround.records.opening import Opening, outline_of
from walkaround.records.signature import Paper, WalkKind, typ_of
from walkaround.records.summary import summarise
from walkaround.records.trust import TrustedKey, TrustList
from walkaround.simulated.driver import EVEN, Temperament
from walkaround.simulated.faults import with_faults
from walkaround.simulated.stage import SimulatedStage
from walkaround.simulated.vehicle import facts_of
from walkaround.walk import Keeper, Walk

KIND = WalkKind.WALK
BEGAN = datetime(2026, 1, 5, 6, 30, tzinfo=UTC)
Payload = dict[str, Any]


def key_of(number: int) -> SigningKey:
    return make_key(hashlib.sha256(f"driver {number}".encode()).digest())


def trust_of(drivers: int) -> TrustList:
    """The first so many drivers' keys, each by its name."""
    return TrustList(
        tuple(TrustedKey(key_of(n).public, (KIND,), f"driver {n}", "") for n in range(drivers))
    )


# ---------------------------------------------------------------- one real walk


def material_of(script: str, vehicle: str, places: tuple[str, ...]) -> Material:
    return load(files_from_library(library(), script, vehicle), script, places)


def walked(
    material: Material,
    key: SigningKey,
    *,
    seed: int = 1,
    kind: WalkKind = KIND,
    faults: tuple[str, ...] = (),
    temperament: Temperament = EVEN,
    name: str = "walk-0001",
) -> tuple[bytes, bytes]:
    """(journal, record) of a walk of the simulated truck by text."""
    opening = Opening(
        kind=kind,
        walk_id=name,
        program="walkaround tests",
        script=material.plan.script,
        places=material.places,
        sources=material.sources(),
        outline=outline_of(material.plan),
        vehicle={"name": material.profile.name},
        device=key.thumbprint,
    )
    disk = Lines()
    line, head = open_journal(opening)
    disk.append(line)
    facts = with_faults(facts_of(material.profile), faults)
    stage = SimulatedStage(material.plan, facts, seed, temperament=temperament)
    keeper = Keeper(disk, head, kind, key)
    walk = Walk(material.plan, stage, keeper, judge_of(material), material.language)
    walk.run(SittingOpened(1, "2026-01-05T06:30:00.000Z", "boot", 0, Wording.SHORT))
    journal = bytes(disk.content)
    return journal, signed(dict(summarise(read_journal(journal), key.public.jwk())), key, kind)


@cache
def template(script: str = "straight-truck", vehicle: str = "demo-truck") -> bytes:
    """The payload of one such walk, as JSON: what the variants are made of."""
    material = material_of(script, vehicle, ("CA-ON",))
    journal, _ = walked(material, key_of(0))
    return recode(dict(summarise(read_journal(journal), key_of(0).public.jwk())))


def signed(payload: Payload, key: SigningKey, kind: WalkKind = KIND) -> bytes:
    """A record line; quicker than the product's, for thousands of them."""
    header = {"alg": "Ed25519", "kid": key.thumbprint, "typ": typ_of(kind, Paper.RECORD)}
    message = f"{to_text(recode(dict(header)))}.{to_text(recode(payload))}".encode()
    return message + b"." + to_text(key.private.sign(message)).encode()


# ---------------------------------------------------------------- trucks and readers


@dataclass
class Truck:
    """A vehicle's own numbers (psi, s, inches), and how it ages (psi/min and s a week)."""

    name: str
    cut_out: float
    cut_in: float
    warning: float
    closes: float
    climb_s: float
    loss: float
    strokes: tuple[float, ...]
    leaks_more: float = 0.0
    climbs_slower: float = 0.0


def truck_of(name: str, dice: random.Random) -> Truck:
    cut_out = dice.gauss(123, 3)
    return Truck(
        name,
        cut_out,
        cut_out - dice.uniform(18, 25),
        dice.uniform(61, 72),
        dice.uniform(24, 40),
        dice.uniform(20, 36),
        dice.uniform(0.2, 1.4),
        tuple(dice.choice((1.25, 1.375, 1.5, 1.625)) for _ in range(10)),
    )


Numbers = dict[str, str]


def honestly(now: Numbers, _before: list[Numbers], _dice: random.Random) -> Numbers:
    return now


def as_it_is(_payload: Payload, _dice: random.Random) -> None:
    """Nothing is done to the record."""


@dataclass(frozen=True)
class Habit:
    """What a driver does to an honest walk; `numbers` sees those of earlier walks."""

    name: str = "honest"
    numbers: Callable[[Numbers, list[Numbers], random.Random], Numbers] = honestly
    record: Callable[[Payload, random.Random], None] = as_it_is


def numbers_of(truck: Truck, week: float, dice: random.Random) -> Numbers:
    """One day's readings by question, as a careful person tells them."""
    cold = dice.gauss(0, 1)  # the same day makes several readings high or low together

    def pair(value: float, spread: float = 0.8) -> str:
        first, second = (round(value + dice.gauss(0, spread)) for _ in range(2))
        return f"{max(first, 0)} psi, {max(second, 0)} psi"

    def less(text: str, by: float) -> str:
        values = [int(part.split()[0]) for part in text.split(", ")]
        return ", ".join(f"{max(value - round(max(by, 0)), 0)} psi" for value in values)

    out = truck.cut_out + cold * 0.8 + dice.gauss(0, 0.8)
    loss = max(truck.loss + truck.leaks_more * week + abs(cold) * 0.2 + dice.gauss(0, 0.4), 0)
    start = pair(out - dice.uniform(6, 12))
    after = less(start, dice.gauss(8, 1))
    applied = less(after, dice.gauss(6, 1))
    climb = truck.climb_s + truck.climbs_slower * week + cold + dice.gauss(0, 0.8)
    told = {
        "level-and-park.pressure": pair(dice.uniform(70, 122), 1.5),
        "warning-off-rising.reading": pair(truck.warning + 4 + dice.gauss(0, 1)),
        "cut-out-first.reading": pair(out),
        "cut-in.reading": pair(truck.cut_in + cold * 0.5 + dice.gauss(0, 1)),
        "cut-out.reading": pair(out + dice.gauss(0, 0.6)),
        "leak-released.start": start,
        "leak-released.end": less(start, loss / 2),
        "reserve-one-application.before": less(start, loss / 2),
        "reserve-one-application.after": after,
        "leak-applied.before": after,
        "leak-applied.start": applied,
        "leak-applied.end": less(applied, loss),
        "stroke-window.reading": pair(dice.uniform(91, 98)),
        "warning-on-falling.reading": pair(truck.warning + dice.gauss(0, 1)),
        "park-valve-closes.reading": pair(truck.closes + dice.gauss(0, 1.5)),
        "cut-out-again.reading": pair(out + dice.gauss(0, 0.6)),
        "ready-to-move.reading": pair(dice.uniform(110, 124)),
        "build-up": f"{climb:.2f} s",
        "loss-applied": f"{loss:.0f} psi/min",
        "loss-released": f"{loss / 2:.0f} psi/min",
    }
    worn = [round((s + week * 0.004 + dice.gauss(0, 0.05)) * 8) / 8 for s in truck.strokes]
    return told | {f"stroke {at}": f"{inches} in" for at, inches in enumerate(worn)}


def variant(original: bytes, told: Mapping[str, str], **more: str) -> Payload:
    """The template with these numbers; `more` are members of the summary."""
    payload: Payload = json.loads(original)
    payload.update(more)
    payload["journal"] = {
        **payload["journal"],
        "hash": hashlib.sha256(more["id"].encode()).hexdigest(),
    }
    rules = payload["rules"]
    for step in payload["steps"]:
        strokes = 0
        for answer in step.get("answers", ()):
            question = f"{step['id']}.{answer['ask']}"
            if answer["ask"].startswith("stroke@"):
                question, strokes = f"stroke {strokes}", strokes + 1
            if question in told:
                answer["said"] = told[question]
                answer.pop("words", None)
        strokes = 0
        for verdict in step.get("verdicts", ()):
            measure = rules[verdict["rule"]]["measure"]
            if measure.startswith("stroke@"):
                measure, strokes = f"stroke {strokes}", strokes + 1
            if measure in told:
                verdict["value"] = told[measure]
    return payload


# ---------------------------------------------------------------- habits


def leaves_out(step: str) -> Habit:
    def record(payload: Payload, _dice: random.Random) -> None:
        body = next(body for body in payload["steps"] if body["id"] == step)
        seq = body["answers"][0]["seq"]
        body.pop("verdicts", None)
        body.update(state="unable", answers=[{"ask": "", "said": "unable", "seq": seq}])
        payload["not_done"].append({"step": step, "why": "unable"})
        for name in ("findings", "undetermined", "near"):
            payload[name] = [one for one in payload[name] if one["step"] != step]

    return Habit(f"leaves out {step}", record=record)


def copies(now: Numbers, before: list[Numbers], _dice: random.Random) -> Numbers:
    return dict(before[3]) if len(before) > 3 else now


def copies_most(now: Numbers, before: list[Numbers], dice: random.Random) -> Numbers:
    """The day before's numbers, with one changed for show."""
    if len(before) < 4:
        return now
    changed = dice.choice(sorted(now))
    return {**before[-1], changed: now[changed]}


def rounds(now: Numbers, _before: list[Numbers], _dice: random.Random) -> Numbers:
    def five(text: str) -> str:
        if "psi" not in text or "min" in text:
            return text
        return ", ".join(f"{round(int(part.split()[0]) / 5) * 5} psi" for part in text.split(", "))

    return {name: five(text) for name, text in now.items()}


def always(question: str, text: str) -> Habit:
    return Habit(f"always {text}", lambda now, _before, _dice: {**now, question: text})


def hurries(payload: Payload, dice: random.Random) -> None:
    took = f"{dice.uniform(200, 400):.3f} s"
    payload["duration"] = took
    payload["sittings"][0]["length"] = took


def drains_unchocked(payload: Payload, _dice: random.Random) -> None:
    """The chocks come after the draining: their entries change places."""
    steps = {body["id"]: body for body in payload["steps"]}
    chocks, drains = steps["wheels-chocked"]["answers"], steps["tanks-drained"]["answers"]
    last = max(answer["seq"] for answer in drains)
    for at, answer in enumerate(chocks):
        answer["seq"] = last + at + 1
    moved = steps["key-on-lamps"]["answers"]
    assert min(answer["seq"] for answer in moved) > last + len(chocks)


def rise_too_fast(payload: Payload, _dice: random.Random) -> None:
    body = next(body for body in payload["steps"] if body["id"] == "build-up-time")
    rise = next(answer for answer in body["answers"] if "points" in answer)
    first = rise["points"][0][0]
    rise["points"] = [[first + at * 400, text] for at, (_, text) in enumerate(rise["points"])]


# ---------------------------------------------------------------- fleets


@dataclass
class Fleet:
    """Drivers by number, each with a truck and a habit, and how many walks each has made."""

    habits: Mapping[int, Habit] = field(default_factory=dict)
    changes: Mapping[int, Callable[[Truck], Truck]] = field(default_factory=dict)
    drivers: int = 34
    walks: int = 30
    seed: int = 1
    every_days: int = 2
    kind: WalkKind = KIND
    cut: Callable[[Payload], Payload] | None = None

    def records(self) -> Iterator[tuple[str, bytes]]:
        """(walk's id, signed record), driver by driver."""
        original = template()
        for driver in range(self.drivers):
            yield from self._of(driver, original)

    def _of(self, driver: int, original: bytes) -> Iterator[tuple[str, bytes]]:
        dice = random.Random(f"{self.seed}/{driver}")
        key, habit = key_of(driver), self.habits.get(driver, Habit())
        truck = truck_of(f"truck {driver}", dice)
        if driver in self.changes:
            truck = self.changes[driver](truck)
        before: list[Numbers] = []
        for number in range(self.walks):
            days = number * self.every_days
            told = numbers_of(truck, days / 7, dice)
            told = habit.numbers(told, before, dice)
            before.append(told)
            name = f"{self.seed}-{driver:04}-{number:04}"
            when = BEGAN + timedelta(days=days, minutes=dice.randrange(120))
            took = f"{dice.gauss(1900, 150):.3f} s"
            wall = when.isoformat(timespec="milliseconds").replace("+00:00", "Z")
            payload = variant(original, told, id=name, began=wall, duration=took)
            payload = self.cut(payload) if self.cut else payload
            payload["vehicle"] = {"name": truck.name}
            payload["key"] = key.public.jwk()
            habit.record(payload, dice)
            yield name, signed(payload, key, self.kind)

    def write(self, folder: Path) -> TrustList:
        """Each record in a folder of its own below; returns whom to trust."""
        for name, line in self.records():
            at = folder / name.split("-")[1] / name
            at.mkdir(parents=True, exist_ok=True)
            (at / "record.jws").write_bytes(line)
        return trust_of(self.drivers)


def leaking_more(psi_per_min_a_week: float) -> Callable[[Truck], Truck]:
    return lambda truck: replace(truck, leaks_more=psi_per_min_a_week)


def climbing_slower(s_a_week: float) -> Callable[[Truck], Truck]:
    return lambda truck: replace(truck, climbs_slower=s_a_week)


def with_finding(step: str, ask: str, said: str) -> Habit:
    """The same thing found wrong in every walk, and never repaired."""

    def record(payload: Payload, _dice: random.Random) -> None:
        body = next(body for body in payload["steps"] if body["id"] == step)
        answer = next(answer for answer in body["answers"] if answer["ask"] == ask)
        answer["said"] = said
        payload["findings"].append({"step": step, "ask": ask})

    return Habit(f"finds {ask} in {step}", record=record)
