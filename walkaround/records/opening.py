"""A journal's first entry: what walk this is, and by which data it is made.

Every file that decides what is asked or judged is named with its hash and where it
came from, so that a replay years later uses the right ones.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from walkaround.errors import JournalError
from walkaround.exchange import AskKind
from walkaround.procedure.model import Plan, Step
from walkaround.records.canonical import Json
from walkaround.records.position import Position, read_position
from walkaround.records.shape import Members
from walkaround.records.signature import WalkKind

FORMAT = "walkaround-journal-1"


@dataclass(frozen=True, slots=True)
class Source:
    """One data file used: `what` is script, rules, phrases, profile, thresholds, model ..."""

    what: str
    name: str
    sha256: str  # 64 hexadecimal letters, of the file's bytes
    origin: str  # user folder | checkout | wheel


@dataclass(frozen=True, slots=True)
class OutlineAsk:
    """One question of a step; `good` are the answers that are no finding (empty: any), `relayed`
    that somebody else reads it and calls it out to the driver."""

    id: str
    kind: AskKind
    good: tuple[str, ...] = ()
    of: str = ""
    relayed: bool = False


@dataclass(frozen=True, slots=True)
class OutlineStep:
    """A step as far as a summary needs it. An act restores a need and is done only when called."""

    id: str
    title: str
    asks: tuple[OutlineAsk, ...]
    where: str = ""
    act: bool = False
    caution: bool = False


@dataclass(frozen=True, slots=True)
class Opening:
    """`walk_id` is any text that no other walk has; `device` is the signing key's thumbprint,
    or empty when no key was at hand; `vehicle` holds the profile's facts as texts."""

    kind: WalkKind
    walk_id: str
    program: str
    script: str
    places: tuple[str, ...]
    sources: tuple[Source, ...]
    outline: tuple[OutlineStep, ...]
    vehicle: Mapping[str, str] = field(default_factory=dict)
    device: str = ""
    particulars: Mapping[str, str] = field(default_factory=dict)  # commitments, by name
    log: Position | None = None  # the line of the device's log that this walk was begun with
    sound_until: str = ""  # answers are recorded and kept until that day; empty: not recorded


def outline_of(plan: Plan) -> tuple[OutlineStep, ...]:
    """The plan's steps and acts, in order, as far as a summary needs them."""
    steps = [_outline_step(step, act=False) for step in plan.steps]
    return (*steps, *(_outline_step(step, act=True) for step in plan.acts))


def _outline_step(step: Step, *, act: bool) -> OutlineStep:
    asks = tuple(OutlineAsk(a.id, a.kind, a.good, a.of, a.relayed) for a in step.asks)
    return OutlineStep(step.id, step.title, asks, step.where, act, bool(step.caution))


def opening_body(opening: Opening) -> dict[str, Json]:
    """The entry's body."""
    body: dict[str, Json] = {
        "format": FORMAT,
        "walk": opening.kind.value,
        "id": opening.walk_id,
        "program": opening.program,
        "script": opening.script,
        "places": list(opening.places),
        "vehicle": dict(opening.vehicle),
        "device": opening.device,
        "particulars": dict(opening.particulars),
        "sources": [_source_body(source) for source in opening.sources],
        "outline": [_step_body(step) for step in opening.outline],
    }
    if opening.log is not None:
        body["log"] = opening.log.plain()
    if opening.sound_until:
        body["sound_until"] = opening.sound_until
    return body


def _source_body(source: Source) -> dict[str, Json]:
    return {
        "what": source.what,
        "name": source.name,
        "sha256": source.sha256,
        "from": source.origin,
    }


def _step_body(step: OutlineStep) -> dict[str, Json]:
    body: dict[str, Json] = {
        "id": step.id,
        "title": step.title,
        "asks": [_ask_body(ask) for ask in step.asks],
    }
    if step.where:
        body["where"] = step.where
    if step.act:
        body["act"] = True
    if step.caution:
        body["caution"] = True
    return body


def _ask_body(ask: OutlineAsk) -> dict[str, Json]:
    body: dict[str, Json] = {"id": ask.id, "kind": ask.kind.value}
    if ask.good:
        body["good"] = list(ask.good)
    if ask.of:
        body["of"] = ask.of
    if ask.relayed:
        body["relayed"] = True
    return body


def read_opening(body: Mapping[str, Json]) -> Opening:
    """The opening of a first entry's body. Raises JournalError."""
    members = Members(body, "the opening", JournalError)
    written_as = members.text("format")
    if written_as != FORMAT:
        raise JournalError(
            f"the journal's format is '{written_as[:40]}', not {FORMAT}; "
            "use the version that wrote it"
        )
    opening = Opening(
        kind=members.member(WalkKind, "walk"),
        walk_id=members.text("id"),
        program=members.text("program"),
        script=members.text("script"),
        places=members.texts("places"),
        vehicle=members.text_map("vehicle"),
        device=members.text("device"),
        particulars=members.text_map("particulars"),
        sources=tuple(_read_source(item) for item in members.objects("sources")),
        outline=tuple(_read_step(item) for item in members.objects("outline")),
        log=read_position(members.object("log")) if "log" in body else None,
        sound_until=members.text("sound_until", ""),
    )
    members.done()
    return opening


def _read_source(members: Members) -> Source:
    source = Source(
        what=members.text("what"),
        name=members.text("name"),
        sha256=members.text("sha256"),
        origin=members.text("from"),
    )
    members.done()
    return source


def _read_step(members: Members) -> OutlineStep:
    step = OutlineStep(
        id=members.text("id"),
        title=members.text("title"),
        asks=tuple(_read_ask(item) for item in members.objects("asks")),
        where=members.text("where", ""),
        act=members.flag("act"),
        caution=members.flag("caution"),
    )
    members.done()
    return step


def _read_ask(members: Members) -> OutlineAsk:
    ask = OutlineAsk(
        id=members.text("id"),
        kind=members.member(AskKind, "kind"),
        good=members.texts("good", ()),
        of=members.text("of", ""),
        relayed=members.flag("relayed"),
    )
    members.done()
    return ask
