"""What the driver does at each question: one row each, by `step.ask`.

A row's moves are carried out in order and then something is told: `tells` names an entry of
`telling.TELLS`.  Repeating a row does no harm.  Durations are estimates of a practised
person's: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping

from walkaround.simulated.doing import (
    Build,
    Note,
    Pump,
    Put,
    Row,
    Settle,
    Take,
    Throttle,
    Until,
    row,
)

ANY_CAUTION = row("yes", Take(2))
"""A caution is looked after, then assented to."""

_PEDAL_OFF = Put("pedal_psi", 0.0)
_FULL = Put("pedal_psi", 200.0)
_OPEN_RED = (
    Put("supply_held", True),
    Put("supply_open", True),
    Until("supply line filled", 60),
    Put("supply_held", False),
    Take(2),
)
_RELEASE = (
    Put("pedal_psi", 40.0),
    Take(1),
    Put("parking_released", True),
    Take(3),
    _PEDAL_OFF,
    Take(1),
)
_REJOIN = row("yes", Take(20), Put("service_joined", True), Put("supply_joined", True))
_KNOBS_OUT = (Put("parking_released", False), Put("supply_open", False), Take(2))
_FAST = Put("engine_rpm", 1200.0)
_HIGHEST = Put("engine_rpm", 2000.0)
_IDLE = Put("engine_rpm", 700.0)
_START = (Put("key_on", True), Take(2), _FAST, Take(3))
_STOP = (Put("engine_rpm", 0.0), Take(1), Put("key_on", True), Take(2))

_TO_THE_WINDOW = row(
    "yes",
    Build("at the window's foot", 300),
    *_STOP,
    Pump(30.0, "inside the window", 60),
    Settle(1),
)

_BEGINNING: Mapping[str, Row] = {
    "level-and-park.pressure": row("gauges", Put("key_on", True), Take(6)),
    "level-and-park.parked": row("yes", *_KNOBS_OUT, Put("key_on", False), Take(3)),
    "wheels-chocked.placed": row("yes", Take(25), Put("chocks_in", True)),
    "wheels-chocked.number": row("chocks", Take(1)),
    "nobody-near.clear": row("yes", Take(20)),
    "vehicle-facts.agrees": row("yes", Take(6)),
    "compressor-look.sound": row("compressor sound", Take(25)),
    "compressor-look.gear-sound": row("drive sound", Take(8)),
    "compressor-look.belt-sound": row("drive sound", Take(8)),
    "compressor-look.deflection": row("belt slack", Take(8)),
    "compressor-look.width": row("belt width", Take(5)),
    "air-lines-look.sound": row("lines sound", Take(35)),
    "air-lines-look.dryer-sound": row("dryer sound", Take(8)),
    "couplings-look.sound": row("couplings sound", Take(15)),
    "couplings-look.not-crossed": row("not crossed", Take(10)),
    "rear-shut-off-valves.placed": row("rear valves right", Take(25)),
    "wheel-brakes-look.sound": row("wheel brakes sound", Take(40)),
    "wheel-brakes-look.adjusters-alike": row("adjusters alike", Take(15)),
    "check-valve-hold.opened": row(
        "yes", Note("before"), Take(4), Put("drains", ["supply"]), Until("supply empty", 90)
    ),
    "check-valve-hold.held": row("needles stayed", Take(8)),
    "tanks-drained.came-out": row(
        "came out",
        Put("drains", ["supply", "primary", "secondary"]),
        Take(15),
        Until("all empty", 240),
    ),
    "tanks-drained.more-than-drops": row("more than drops", Take(1)),
    "tanks-drained.closed": row("yes", Put("drains", []), Take(10)),
}

_CLIMB: Mapping[str, Row] = {
    "key-on-lamps.warning": row("warning lit", Put("key_on", True), Take(3)),
    "key-on-lamps.lamp": row("anti-lock lamp", Take(1)),
    "engine-start.started": row("mark at once", *_START),
    "engine-start.runs": row("engine runs", *_START),
    "warning-off-rising.goes-off": row("mark at once", Until("warning off", 600)),
    "warning-off-rising.reading": row("gauges", Until("warning off", 600)),
    "first-climb.share": row("mark at the number", Throttle()),
    "first-climb.low": row("mark at the number", Throttle()),
    "first-climb.high": row("mark at the number"),
    "first-climb.most": row("mark at the number"),
    "cut-out-first.reading": row("gauges", Until("at the top", 400), Take(2)),
    "cut-out-first.purge": row("purge heard", Take(1)),
    "cut-out-first.unloads": row("unloading heard", Take(1)),
    "discharge-temperature.reading": row("discharge temperature", Take(15)),
    "park-released.stays": row("parking released", *_RELEASE),
    "cut-in.reading": row("gauges", _IDLE, Take(2), Pump(30.0, "loading", 90)),
    "compressor-keeps.keeps": row(
        "compressor keeps", _IDLE, _FULL, Take(20), Note("held"), _PEDAL_OFF
    ),
    "recovery.before": row("gauges", _FAST, Until("over the number", 120), Note("before")),
    "recovery.climbs": row("mark at once", _FULL, Take(2), _PEDAL_OFF, _HIGHEST, Take(1)),
    "recovery.back": row("mark where it was"),
    "recovery.unloads": row("mark at once", Until("unloaded", 120)),
    "cut-out.reading": row("gauges", _FAST, Until("at the top", 400), Take(2)),
}

_TRAILER: Mapping[str, Row] = {
    "trailer-charged.stays": row("supply open", *_OPEN_RED),
    "trailer-charged.full": row("unloaded", Until("at the top", 900), Take(2)),
    "flow-to-rear.supply-blows": row(
        "air at the rear supply valve",
        Take(25),
        Put("rear_supply_open", True),
        Take(3),
        Put("rear_supply_open", False),
    ),
    "flow-to-rear.service-blows": row(
        "air at the rear service valve",
        Put("hand_valve_psi", 80.0),
        Take(5),
        Put("rear_service_open", True),
        Take(3),
        Put("rear_service_open", False),
        Put("hand_valve_psi", 0.0),
    ),
    "trailer-brakes-on-by-valve.applied": row(
        "trailer brakes on", Put("supply_open", False), Take(25)
    ),
    "service-coupling-closed.silent": row(
        "service coupling silent",
        Take(8),
        Put("service_joined", False),
        Take(8),
        Put("pedal_psi", 90.0),
        Take(5),
        _PEDAL_OFF,
    ),
    "lines-rejoined.joined": _REJOIN,
    "lines-rejoined-after-breakaway.joined": _REJOIN,
    "lines-rejoined-after-service.joined": _REJOIN,
    "supply-line-parted.braked": row(
        "trailer brakes on",
        Take(6),
        Put("supply_joined", False),
        Until("red out", 60),
        Take(3),
    ),
    "supply-line-parted.reading": row("gauges", Put("supply_open", False), Take(5)),
    "service-line-parted.silent": row(
        "service coupling silent", Take(8), Put("service_joined", False), Take(8)
    ),
    "service-line-parted.reading": row(
        "gauges",
        Put("pedal_psi", 100.0),
        Until("red out", 60),
        _PEDAL_OFF,
        Put("supply_open", False),
        Take(3),
    ),
}

_DOWN: Mapping[str, Row] = {
    "leak-released.start": row("gauges", _PEDAL_OFF, Settle(8)),
    "leak-released.end": row("gauges"),
    "reserve-one-application.before": row("gauges", _PEDAL_OFF, Settle(1)),
    "reserve-one-application.after": row("gauges", _FULL, Take(3), _PEDAL_OFF, Settle(2)),
    "leak-applied.before": row("gauges", _PEDAL_OFF, Settle(1)),
    "leak-applied.start": row("gauges", _FULL, Settle(6)),
    "leak-applied.end": row("gauges"),
    "leak-applied.later": row("gauges", Take(1)),
    "reserve-five-applications.before": row("gauges", _PEDAL_OFF, Settle(1)),
    "reserve-five-applications.after": row(
        "gauges",
        *(move for _ in range(5) for move in (_FULL, Take(3), _PEDAL_OFF, Take(1))),
        Settle(2),
    ),
    "leak-listened.heard": row("leak heard", _FULL, Take(50)),
    "free-stroke-by-pull.short-enough": row("free strokes right", Take(60)),
    "stroke-window.reading": row("gauges", Pump(30.0, "inside the window", 60), Settle(1)),
    "stroke-applied.marked": row("yes", Take(40), _FULL, Take(3)),
    "stroke-applied.stroke": row("stroke", Take(9)),
    "stroke-window-lower.reading": row(
        "gauges", _PEDAL_OFF, Pump(30.0, "inside the window", 60), Settle(1)
    ),
    "stroke-applied-lower.marked": row("yes", Take(20), _FULL, Take(3)),
    "stroke-applied-lower.stroke": row("stroke", Take(9)),
    "warning-on-falling.reading": row("gauges at the warning", Pump(80.0, "warning lit", 60)),
    "warning-on-falling.shows": row("warning lit", Take(1)),
    "supply-valve-closes.reading": row("gauges with the red knob out", Pump(80.0, "red out", 60)),
    "park-valve-closes.reading": row(
        "gauges with the yellow knob out", Pump(80.0, "yellow out", 60)
    ),
    "trailer-brakes-seen-on.applied": row("trailer brakes on", Take(25)),
    "springs-off-on-the-way-up.stays": row(
        "parking released", _FAST, Build("over the number", 300), *_RELEASE
    ),
    "build-up-time.rise": row("called-out rise", Throttle()),
    "cut-out-again.reading": row("gauges", _FAST, Until("at the top", 400), Take(2)),
}

_MOVING: Mapping[str, Row] = {
    "accessories-air.work": row(
        "accessories work",
        Put("accessory_open", True),
        Take(6),
        Put("accessory_open", False),
        Take(6),
    ),
    "door-interlock.works": row("interlock works", Take(12)),
    "ready-to-move.reading": row("gauges", Take(2)),
    "ready-to-move.lamps": row("lamps right", Take(2)),
    "chocks-away.back": row("yes", Take(25), Put("chocks_in", False)),
    "park-hold-power-unit.holds": row("parking holds", Take(8)),
    "park-hold-trailer.holds": row(
        "trailer holds",
        Put("supply_open", False),
        Take(4),
        Put("parking_released", True),
        Take(6),
    ),
    "park-hold-trailer.restored": row(
        "over the number",
        Put("parking_released", False),
        Take(2),
        *_OPEN_RED,
        Build("over the number", 300),
    ),
    "trailer-hand-valve-stop.grabs": row(
        "hand valve grabs",
        Put("parking_released", True),
        Take(6),
        Put("hand_valve_psi", 60.0),
        Take(3),
    ),
    "service-stop.straight": row(
        "stops straight",
        Put("hand_valve_psi", 0.0),
        Put("parking_released", True),
        Take(6),
        Put("pedal_psi", 60.0),
        Take(3),
        _PEDAL_OFF,
    ),
    "service-stop.parked": row("yes", Put("parking_released", False), Take(3)),
    "sum-up.assent": row("yes", Take(2)),
}

_ACTS: Mapping[str, Row] = {
    "key-on.done": row("yes", Put("key_on", True), Take(2)),
    "call-helper.done": row("yes", Take(5)),
    "stop-engine.done": row("yes", *_STOP),
    "key-out.done": row("yes", Put("engine_rpm", 0.0), Take(1), Put("key_on", False), Take(2)),
    "start-engine.done": row("engine runs", *_START),
    "close-drains.done": row("yes", Put("drains", []), Take(12)),
    "set-parking.done": row("yes", Put("parking_released", False), Take(3)),
    "place-chocks.done": row("yes", Take(25), Put("chocks_in", True)),
    "take-chocks-away.done": row("yes", Take(25), Put("chocks_in", False)),
    "release-parking-low.done": row("parking released", *_RELEASE),
    "release-parking.done": row("parking released", *_RELEASE),
    "open-supply.done": row("supply open", *_OPEN_RED),
    "close-supply.done": row("yes", Put("supply_open", False), Take(3)),
    "join-lines.done": _REJOIN,
    "rebuild.done": row("over the number", Build("over the number", 600)),
    "rebuild-to-cut-out.done": row("unloaded", Until("at the top", 600), Take(2)),
    "stroke-pressure.done": _TO_THE_WINDOW,
    "stroke-pressure-lower.done": _TO_THE_WINDOW,
    "stroke-pressure-low.done": _TO_THE_WINDOW,
    "stroke-pressure-high.done": _TO_THE_WINDOW,
    "charge-trailer.done": row("supply open", *_OPEN_RED, Until("at the top", 900), Take(2)),
    "look-before-moving.done": row("lamps right", Take(3)),
    "pump-to-the-warning.done": row("yes", Pump(80.0, "warning lit", 60)),
    "pump-down.done": row("under the number", Pump(80.0, "under the number", 90), *_KNOBS_OUT),
    "read-pressure.now": row("gauges", Take(2)),
}

ROWS: Mapping[str, Row] = {
    **_BEGINNING,
    **_CLIMB,
    **_TRAILER,
    **_DOWN,
    **_MOVING,
    **_ACTS,
}
"""`step.ask` -> what is done and told."""


def row_for(question: str) -> Row | None:
    """The row of a question id, with or without the brake it is asked of; None for no such row."""
    plain = question.partition("@")[0]
    return ANY_CAUTION if plain.endswith(".caution") else ROWS.get(plain)
