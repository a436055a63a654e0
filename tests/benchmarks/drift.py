"""How small a drift of a vehicle is found, by simulation: with 80 % probability, in so many walks.

    python tests/benchmarks/drift.py [--vehicles N] [--seed N]

A fleet of 31 honest trucks is drawn with the tests' own model (tests/audit/fleets.py: a reading
scatters, days are cold or warm, gauges are read to 1 psi, a build-up is timed), a walk every
second day.  It is audited once in full to learn how many comparisons such an audit makes; then
one truck's series is drawn many times with a drift, and found when its chance, all those
comparisons counted, is within the audit's limit.  The drift that 80 % of them show is searched by
halving.  Beside it stands how often trucks without any drift are found.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.audit.auditing import audited
from tests.audit.fleets import Fleet, Truck, numbers_of, truck_of
from walkaround.audit import drift
from walkaround.audit.evidence import Series
from walkaround.audit.looks import ALPHA

EVERY_DAYS = 2
MEASURES: tuple[tuple[str, str, str, float, Callable[[Truck, float], Truck]], ...] = (
    ("loss-applied", "psi/min", "not more than 3 psi/min", 2.0,
     lambda truck, more: replace(truck, leaks_more=more)),
    ("build-up", "s", "", 8.0, lambda truck, more: replace(truck, climbs_slower=more)),
)  # fmt: skip
"""(measure, unit, limit, the most that is tried a week, how the truck gets it)."""


def comparisons(walks: int) -> int:
    """That a whole audit of 31 honest trucks makes."""
    fleet = Fleet(drivers=31, walks=walks, seed=5, every_days=EVERY_DAYS)
    with tempfile.TemporaryDirectory() as name:
        trust = fleet.write(Path(name) / "walks")
        done = audited(Path(name) / "walks", Path(name) / "cache", trust, journals=False)
    return sum(audit.tests for audit in done.audits)


def series(truck: Truck, walks: int, measure: str, unit: str, limit: str, seed: str) -> Series:
    dice = random.Random(seed)
    days = [float(EVERY_DAYS * number) for number in range(walks)]
    told = [numbers_of(truck, at / 7, dice)[measure] for at in days]
    values = [float(text.split()[0]) for text in told]
    return Series(
        truck.name, "", measure, "", "", unit, limit, days, values, list(range(walks)), 0
    )


def found(one: Series, tests: int) -> bool:
    looks = drift.looks(drift.drifts([one])).looks
    return any(look.chance is not None and look.chance * tests <= ALPHA for look in looks)


def share_found(place: int, walks: int, more: float, tests: int, vehicles: int, seed: int) -> float:
    measure, unit, limit, _, change = MEASURES[place]
    count = 0
    for number in range(vehicles):
        truck = change(truck_of("truck", random.Random(f"{seed}/truck/{number}")), more)
        one = series(truck, walks, measure, unit, limit, f"{seed}/{number}/{walks}")
        count += found(one, tests)
    return count / vehicles


def smallest(place: int, walks: int, tests: int, vehicles: int, seed: int) -> float:
    low, high = 0.0, MEASURES[place][3]
    for _ in range(8):
        middle = (low + high) / 2
        if share_found(place, walks, middle, tests, vehicles, seed) < 0.8:
            low = middle
        else:
            high = middle
    return high


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--vehicles", type=int, default=200, help="drawn for each drift")
    parser.add_argument("--honest", type=int, default=2000, help="drawn without a drift")
    parser.add_argument("--seed", type=int, default=11)
    arguments = parser.parse_args()
    for walks in (20, 40, 80):
        tests = comparisons(walks)
        print(f"{walks} walks in {EVERY_DAYS * walks} days, {tests} comparisons", flush=True)
        for place, (measure, unit, *_) in enumerate(MEASURES):
            least = smallest(place, walks, tests, arguments.vehicles, arguments.seed)
            false = share_found(place, walks, 0.0, tests, arguments.honest, arguments.seed + 1)
            print(
                f"  {measure}: {least:.3f} {unit} a week, {least * EVERY_DAYS * walks / 7:.2f} "
                f"{unit} in all; found without a drift: {false * arguments.honest:.0f} of "
                f"{arguments.honest}",
                flush=True,
            )


if __name__ == "__main__":
    main()
