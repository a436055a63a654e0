"""Every fault changes what a driver tells, where it should, and nothing is guessed."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.procedure import shipped
from tests.simulated.trial import Trial, walk
from walkaround.errors import UsageError
from walkaround.exchange import Choice, No, Number, Pair, Rise, Yes
from walkaround.simulated.faults import FAULTS, with_faults
from walkaround.simulated.vehicle import facts_of

STRAIGHT = ("straight-truck", "demo-truck", ("CA-ON",))
STRAIGHT_US = ("straight-truck", "demo-truck", ("US",))
TRACTOR = ("tractor-trailer", "demo-tractor", ("US",))
DOUBLES = ("tractor-trailer", "demo-doubles", ("US",))
BUS = ("bus", "demo-bus", ("CA-ON",))

Which = tuple[str, str, tuple[str, ...]]


def low(trial: Trial, question: str) -> float:
    answer = trial.given[question].answer
    assert isinstance(answer, Pair)
    return float(min(answer.primary.value, answer.secondary.value))


def lost(trial: Trial, step: str) -> float:
    """The larger fall of the two needles in the minute."""
    start, end = (trial.given[f"{step}.{name}"].answer for name in ("start", "end"))
    assert isinstance(start, Pair)
    assert isinstance(end, Pair)
    falls = (
        start.primary.value - end.primary.value,
        start.secondary.value - end.secondary.value,
    )
    return float(max(falls))


def climb_s(trial: Trial) -> float:
    rise = trial.given["build-up-time.rise"].answer
    assert isinstance(rise, Rise)
    at = {int(point.value.value): point.at_ms for point in rise.points}
    return (at[100] - at[85]) / 1000


def says_no(question: str) -> Callable[[Trial], bool]:
    return lambda trial: trial.given[question].answer == No()


def not_done(step: str) -> Callable[[Trial], bool]:
    return lambda trial: step in trial.state.not_done


def stroke_of(trial: Trial, brake: str) -> float:
    answer = trial.given[f"stroke-applied.stroke@{brake}"].answer
    assert isinstance(answer, Number)
    return float(answer.value.value)


SIGNS: dict[str, tuple[Which, Callable[[Trial], bool]]] = {
    "leaking-chamber": (
        STRAIGHT_US,
        lambda t: lost(t, "leak-applied") >= 4 and lost(t, "leak-released") <= 2,
    ),
    "leaking-line": (STRAIGHT_US, lambda t: lost(t, "leak-released") >= 3),
    "weak-compressor": (STRAIGHT, lambda t: climb_s(t) > 110),
    "slow-build-up": (STRAIGHT, lambda t: 55 < climb_s(t) < 80),
    "governor-high": (STRAIGHT, lambda t: low(t, "cut-out-first.reading") > 138),
    "governor-low": (STRAIGHT, lambda t: low(t, "cut-in.reading") < 80),
    "warning-late": (STRAIGHT, lambda t: low(t, "warning-on-falling.reading") < 50),
    "warning-dead": (STRAIGHT, says_no("key-on-lamps.warning")),
    "lamp-dead": (STRAIGHT, says_no("key-on-lamps.lamp")),
    "park-valve-stuck": (STRAIGHT, not_done("park-valve-closes")),
    "supply-valve-stuck": (TRACTOR, lambda t: low(t, "supply-line-parted.reading") < 40),
    "tractor-protection-leaks": (TRACTOR, says_no("service-coupling-closed.silent")),
    "crossed-lines": (TRACTOR, says_no("couplings-look.not-crossed")),
    "rear-valve-closed": (DOUBLES, says_no("flow-to-rear.supply-blows")),
    "trailer-spring-weak": (TRACTOR, says_no("trailer-brakes-on-by-valve.applied")),
    "check-valve-primary": (STRAIGHT, says_no("check-valve-hold.held")),
    "check-valve-secondary": (STRAIGHT, says_no("check-valve-hold.held")),
    "wet-tanks": (
        STRAIGHT,
        lambda t: t.given["tanks-drained.came-out"].answer == Choice("water"),
    ),
    "oily-tanks": (
        STRAIGHT,
        lambda t: t.given["tanks-drained.came-out"].answer == Choice("oil"),
    ),
    "long-stroke": (STRAIGHT, lambda t: stroke_of(t, "axle-2-right") == 2.25),
    "open-drain": (STRAIGHT_US, lambda t: lost(t, "leak-released") >= 4),
    "no-purge": (STRAIGHT, says_no("cut-out-first.purge")),
    "no-cut-out": (STRAIGHT, lambda t: low(t, "cut-out-first.reading") >= 148),
    "spring-brake-weak": (STRAIGHT, says_no("park-hold-power-unit.holds")),
    "belt-loose": (STRAIGHT, says_no("compressor-look.belt-sound")),
    "gauge-off": (STRAIGHT, lambda t: low(t, "cut-out-first.reading") > 129),
    "door-interlock-dead": (BUS, says_no("door-interlock.works")),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_shows_where_it_should(name: str) -> None:
    which, shows = SIGNS[name]
    sound = facts_of(shipped.profile(which[1]))
    faulty = walk(*which, facts=with_faults(sound, [name]))
    assert faulty.how == "complete"
    assert shows(faulty), FAULTS[name].sign


@pytest.fixture(scope="module")
def sound() -> dict[Which, Trial]:
    return {which: walk(*which) for which in (STRAIGHT, STRAIGHT_US, TRACTOR, DOUBLES, BUS)}


@pytest.mark.parametrize("name", FAULTS)
def test_a_sound_vehicle_does_not_show_it(name: str, sound: dict[Which, Trial]) -> None:
    which, shows = SIGNS[name]
    assert not shows(sound[which])


def test_an_unknown_fault_is_refused_with_the_nearest() -> None:
    with pytest.raises(UsageError, match="leaking-chamber"):
        with_faults(facts_of(shipped.profile("demo-truck")), ["leaky-chamber"])
    for wrong in ("leaky-chamber", "qqq"):
        with pytest.raises(UsageError) as refused:
            with_faults(facts_of(shipped.profile("demo-truck")), [wrong])
        assert all(name in str(refused.value) for name in FAULTS)  # as --help promises


def test_a_trailer_s_fault_needs_a_trailer() -> None:
    with pytest.raises(UsageError, match="needs a trailer"):
        with_faults(facts_of(shipped.profile("demo-truck")), ["crossed-lines"])
    with pytest.raises(UsageError, match="needs two trailers"):
        with_faults(facts_of(shipped.profile("demo-tractor")), ["rear-valve-closed"])


def test_faults_add_up() -> None:
    both = with_faults(facts_of(shipped.profile("demo-truck")), ["warning-dead", "wet-tanks"])
    assert not both.warning_works
    assert both.water_in_tanks == "cup"


def test_a_yes_stays_a_yes_where_nothing_is_wrong(sound: dict[Which, Trial]) -> None:
    assert sound[STRAIGHT].given["check-valve-hold.held"].answer == Yes()
