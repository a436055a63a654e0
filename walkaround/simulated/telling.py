"""What is told at the end of a row, from what can be seen, heard or read: a table by name.

A teller returns the words of the answer, or "unable" where the sight asked for never came.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal

from walkaround.exchange import AskKind
from walkaround.quantity import Unit
from walkaround.simulated import saying
from walkaround.simulated.scene import SIGHTS, Scene

Teller = Callable[[Scene], str]

UNABLE = "unable"
_UNEVEN_IN = 0.5  # a difference of strokes on an axle that pulls to one side; estimate
_A_WHILE_MS = 120_000
_KEPT_PSI = 89.9  # 620 kPa, which Quebec prints


def _gauges(scene: Scene) -> str:
    truck, dice = scene.truck, scene.manner
    unit = truck.facts.dial
    values = [truck.read(circuit) for circuit in truck.facts.needles]
    said = [saying.reading(value, unit, dice) for value in values]
    if scene.question.kind is AskKind.PAIR and len(said) > 1:
        return f"primary {said[0]} secondary {said[1]}"
    return saying.with_unit(said[0], unit, dice)


def _gauges_if(sight: str) -> Teller:
    return lambda scene: _gauges(scene) if SIGHTS[sight](scene) else UNABLE


def _yes_if(seen: Callable[[Scene], bool]) -> Teller:
    return lambda scene: "yes" if seen(scene) else "no"


def _sight(name: str) -> Teller:
    return _yes_if(SIGHTS[name])


def _looks(place: str) -> Teller:
    """Yes unless something is wrong to be seen there."""
    return _yes_if(lambda scene: place not in scene.truck.facts.seen)


def _heard(sound: str) -> Teller:
    return _yes_if(lambda scene: scene.truck.heard_since(sound, scene.began_ms))


def _lately(sound: str) -> Teller:
    def heard(scene: Scene) -> bool:
        return scene.truck.heard_since(sound, max(0, scene.truck.now_ms - _A_WHILE_MS))

    return _yes_if(heard)


def _needles_stayed(scene: Scene) -> bool:
    before = scene.noted.get("before", scene.needles())
    return all(was - now < 3.0 for was, now in zip(before, scene.needles(), strict=True))


def _compressor_keeps(scene: Scene) -> bool:
    return all(needle >= _KEPT_PSI for needle in scene.noted["held"])


def _trailer_brakes_on(scene: Scene) -> bool:
    truck = scene.truck
    return all(truck.trailer_springs_on(unit) for unit in truck.piping.trailers)


def _hand_valve_grabs(scene: Scene) -> bool:
    truck = scene.truck
    return all(truck.true_psi(f"{unit}-chambers") > 20 for unit in truck.piping.trailers)


def _trailer_holds(scene: Scene) -> bool:
    return _trailer_brakes_on(scene) and not scene.truck.springs_on


def _strokes(scene: Scene) -> dict[str, float]:
    return {brake.position: brake.stroke_in for brake in scene.truck.facts.brakes}


def _uneven(scene: Scene) -> bool:
    strokes = _strokes(scene)
    return any(
        abs(strokes[left] - strokes.get(left.replace("left", "right"), strokes[left])) > _UNEVEN_IN
        for left in strokes
        if left.endswith("left")
    )


def _inches(scene: Scene, inches: float) -> str:
    if scene.question.unit is Unit.MILLIMETRE:
        return saying.whole(round(inches * 25.4), scene.manner)
    return saying.length(inches, scene.manner)


def _stroke(scene: Scene) -> str:
    position = scene.question.id.partition("@")[2]
    return _inches(scene, _strokes(scene).get(position, 1.5))


def _discharge(scene: Scene) -> str:
    celsius = scene.truck.facts.discharge_c
    if scene.question.unit is Unit.FAHRENHEIT:
        return saying.whole(round(celsius * 9 / 5 + 32), scene.manner)
    return saying.whole(round(celsius), scene.manner)


def _came_out(scene: Scene) -> str:
    facts = scene.truck.facts
    if facts.water_look != "clear":
        return "oil"
    return {"none": "nothing", "drops": "drops", "cup": "water"}[facts.water_in_tanks]


def _lamps_right(scene: Scene) -> bool:
    return not scene.truck.warning_lit and scene.truck.facts.abs_lamp_works


TELLS: Mapping[str, Teller] = {
    "yes": lambda _scene: "yes",
    "gauges": _gauges,
    "gauges at the warning": _gauges_if("warning lit"),
    "gauges with the red knob out": _gauges_if("red out"),
    "gauges with the yellow knob out": _gauges_if("yellow out"),
    "chocks": lambda scene: saying.whole(scene.truck.facts.chocks, scene.manner),
    "compressor sound": _looks("compressor"),
    "drive sound": _looks("drive"),
    "lines sound": _looks("lines"),
    "dryer sound": _looks("dryer"),
    "couplings sound": _looks("couplings"),
    "wheel brakes sound": _looks("wheel brakes"),
    "adjusters alike": _yes_if(lambda scene: not _uneven(scene)),
    "free strokes right": _yes_if(lambda scene: not _uneven(scene)),
    "not crossed": _yes_if(lambda scene: not scene.truck.facts.lines_crossed),
    "rear valves right": _yes_if(lambda scene: scene.truck.facts.rear_reached),
    "belt slack": lambda scene: _inches(scene, scene.truck.facts.belt_slack_in),
    "belt width": lambda scene: _inches(scene, scene.truck.facts.belt_width_in),
    "compressor keeps": _yes_if(_compressor_keeps),
    "needles stayed": _yes_if(_needles_stayed),
    "came out": _came_out,
    "more than drops": _yes_if(lambda scene: _came_out(scene) in ("water", "oil")),
    "warning lit": _sight("warning lit"),
    "anti-lock lamp": _yes_if(lambda scene: scene.truck.facts.abs_lamp_works),
    "engine runs": _yes_if(lambda scene: scene.truck.controls.engine_rpm > 0),
    "unloaded": _sight("unloaded"),
    "purge heard": _lately("purge"),
    "unloading heard": _lately("unload"),
    "discharge temperature": _discharge,
    "parking released": _yes_if(lambda scene: scene.truck.controls.parking_released),
    "supply open": _yes_if(lambda scene: scene.truck.controls.supply_open),
    "air at the rear supply valve": _heard("rear supply valve"),
    "air at the rear service valve": _heard("rear service valve"),
    "trailer brakes on": _yes_if(_trailer_brakes_on),
    "service coupling silent": _yes_if(
        lambda scene: not scene.truck.heard_since("service coupling", scene.truck.now_ms - 3000)
    ),
    "leak heard": _yes_if(lambda scene: bool(scene.truck.facts.heard)),
    "stroke": _stroke,
    "accessories work": _looks("accessories"),
    "interlock works": _yes_if(lambda scene: scene.truck.facts.interlock_works),
    "lamps right": _yes_if(_lamps_right),
    "parking holds": _yes_if(lambda scene: scene.truck.springs_on),
    "trailer holds": _yes_if(_trailer_holds),
    "over the number": _sight("over the number"),
    "under the number": _sight("under the number"),
    "hand valve grabs": _yes_if(_hand_valve_grabs),
    "stops straight": _yes_if(lambda scene: not _uneven(scene)),
}
"""Name -> the words told. Marks and called-out rises are told while the needle moves."""


def spoken_number(value: Decimal, scene: Scene) -> str:
    """A called-out value; round numbers are said the short way."""
    unit = scene.question.unit or scene.truck.facts.dial
    return saying.reading(value, unit, scene.manner)
