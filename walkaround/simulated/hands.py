"""Carries out a row: moves controls, lets time pass, and says when something is told.

Everything is a generator that yields once for each 50 ms step of the truck.  It yields
None while nothing is said and a `Spoken` when the driver opens his mouth.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from copy import copy
from dataclasses import dataclass
from decimal import Decimal
from random import Random

from walkaround.quantity import Quantity, Unit
from walkaround.simulated.doing import (
    Build,
    Move,
    Note,
    Pump,
    Put,
    Row,
    Settle,
    Take,
    Throttle,
    Until,
)
from walkaround.simulated.piping import STEP_MS
from walkaround.simulated.saying import Again
from walkaround.simulated.scene import SIGHTS, Scene
from walkaround.simulated.telling import TELLS, spoken_number

PRESS_MS, RELEASE_MS = 600, 800


@dataclass(frozen=True, slots=True)
class Spoken:
    """Words, and when the voice sets in, in the truck's own milliseconds."""

    words: str
    onset_ms: int
    once_more: tuple[str, ...] = ()  # how it is said the second time, the third ...


Work = Iterator[Spoken | None]


def reaction_ms(dice: Random, mean_ms: float = 700, spread_ms: float = 150) -> int:
    """From seeing to speaking; never under a third of the mean."""
    return round(max(mean_ms / 3, dice.gauss(mean_ms, spread_ms)))


def perform(scene: Scene, row: Row) -> Work:
    """Do the row's moves, then tell what it tells."""
    for move in row.does:
        yield from _CARRY[type(move)](scene, move)
    timed = _TIMED.get(row.tells)
    if timed is not None:
        yield from timed(scene)
    else:
        words = TELLS[row.tells](scene)
        yield Spoken(words, scene.truck.now_ms + reaction_ms(scene.dice), _once_more(scene, row))


def _once_more(scene: Scene, row: Row) -> tuple[str, ...]:
    ways = []
    for scene.again in Again:
        ways.append(TELLS[row.tells](scene))
    scene.again = None
    return tuple(ways)


def wait(milliseconds: float) -> Work:
    """Let so much time pass."""
    for _ in range(round(milliseconds / STEP_MS)):
        yield None


def _put(scene: Scene, move: Move) -> Work:
    assert isinstance(move, Put)
    setattr(scene.truck.controls, move.control, copy(move.value))
    yield None


def _take(scene: Scene, move: Move) -> Work:
    assert isinstance(move, Take)
    share = min(1.6, max(0.6, scene.dice.gauss(1.0, 0.2)))
    yield from wait(move.seconds * 1000 * share)


def _until(scene: Scene, move: Move) -> Work:
    assert isinstance(move, Until)
    for _ in wait(move.most_s * 1000):
        if SIGHTS[move.sight](scene):
            return
        yield None


def _pump(scene: Scene, move: Move) -> Work:
    """One stroke after another; the eye is on the sight between and during them."""
    assert isinstance(move, Pump)
    controls, seen = scene.truck.controls, SIGHTS[move.until]
    for _ in range(move.most):
        for pressure, length_ms in ((move.psi, PRESS_MS), (0.0, RELEASE_MS)):
            if seen(scene):
                break
            controls.pedal_psi = pressure
            yield from wait(length_ms)
    controls.pedal_psi = 0.0
    yield None


def _build(scene: Scene, move: Move) -> Work:
    """Wait for the pressure to rise; where the compressor rests too low, pump until it loads."""
    assert isinstance(move, Build)
    for _ in wait(move.most_s * 1000):
        if SIGHTS[move.sight](scene):
            return
        if not scene.truck.loaded:
            yield from _pump(scene, Pump(40.0, "loading", 30))
        yield None


def _settle(scene: Scene, move: Move) -> Work:
    """Look again every two seconds; still is less than a fifth of a psi."""
    assert isinstance(move, Settle)
    yield from wait(move.least_s * 1000)
    before = scene.needles()
    for _ in range(round((move.most_s - move.least_s) / 2)):
        yield from wait(2000)
        here = scene.needles()
        if max(abs(a - b) for a, b in zip(before, here, strict=True)) < 0.2:
            return
        before = here


def _throttle(scene: Scene, _move: Move) -> Work:
    """600 to 900 turns: 700; at most 1200: 1150; operating speed: 1400."""
    asked = scene.numbers
    if 600.0 in asked:
        rpm = 700.0
    elif 1200.0 in asked:
        rpm = 1150.0
    else:
        rpm = 1400.0
    scene.truck.controls.engine_rpm = rpm
    yield None


def _note(scene: Scene, move: Move) -> Work:
    assert isinstance(move, Note)
    scene.noted[move.name] = scene.needles()
    yield None


_CARRY: Mapping[type, Callable[[Scene, Move], Work]] = {
    Put: _put,
    Take: _take,
    Until: _until,
    Pump: _pump,
    Build: _build,
    Settle: _settle,
    Throttle: _throttle,
    Note: _note,
}


def _passing(scene: Scene, target: Decimal | float) -> Iterator[int | None]:
    """Yields None until the lower needle passes the target, then when it did, in truck ms."""
    unit = scene.question.unit or scene.truck.facts.dial
    wanted = float(target)
    before = scene.truck.lower_needle(unit)
    if before >= wanted:
        yield scene.truck.now_ms
        return
    while True:
        yield None
        here = scene.truck.lower_needle(unit)
        if here >= wanted:
            share = (wanted - before) / (here - before)
            yield round(scene.truck.now_ms - STEP_MS * (1 - share))
            return
        before = here


def _mark(scene: Scene) -> Work:
    yield from _mark_passing(scene, scene.pressure)


def _mark_passing(scene: Scene, target: float) -> Work:
    for passed in _passing(scene, target):
        if passed is None:
            yield None
        else:
            yield Spoken("mark", passed + reaction_ms(scene.dice, 300, 60))


def _mark_at_once(scene: Scene) -> Work:
    yield Spoken("mark", scene.truck.now_ms + reaction_ms(scene.dice, 300, 60))


def _mark_where_it_was(scene: Scene) -> Work:
    """The lower needle back at what was noted, as the dial of this vehicle shows it."""
    unit = scene.question.unit or scene.truck.facts.dial
    noted = Quantity(Decimal(min(scene.noted["before"])), Unit.PSI)
    yield from _mark_passing(scene, float(noted.to(unit).value))


def _rise(scene: Scene) -> Work:
    """Each value as the needle passes it; what is already passed is not called any more."""
    unit = scene.question.unit or scene.truck.facts.dial
    already = scene.truck.lower_needle(unit)
    calls = [call for call in scene.calls if call > Decimal(already)]
    if not calls:
        yield Spoken("finish", scene.truck.now_ms + reaction_ms(scene.dice))
    for call in calls:
        words = spoken_number(call, scene)
        for passed in _passing(scene, call):
            if passed is None:
                yield None
            else:
                yield Spoken(words, passed + reaction_ms(scene.dice, 300, 60))


_TIMED: Mapping[str, Callable[[Scene], Work]] = {
    "mark at the number": _mark,
    "mark at once": _mark_at_once,
    "mark where it was": _mark_where_it_was,
    "called-out rise": _rise,
}
"""What is told at a moment that counts, by the name of what is told."""
