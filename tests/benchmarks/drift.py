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
from dataclasses import dataclass, replace
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


@dataclass(frozen=True)
class Trial:
    """One of MEASURES, walked so often, among so many comparisons."""

    place: int
    walks: int
    tests: int

    def found(self, more: float, seed: str) -> bool:
        """Whether one truck's drift of so much a week is found."""
        measure, unit, limit, _, change = MEASURES[self.place]
        truck = change(truck_of("truck", random.Random(f"{seed}/truck")), more)
        dice = random.Random(f"{seed}/{self.walks}")
        days = [float(EVERY_DAYS * number) for number in range(self.walks)]
        told = [numbers_of(truck, at / 7, dice)[measure] for at in days]
        values = [float(text.split()[0]) for text in told]
        walks = list(range(self.walks))
        one = Series("truck", "", measure, "", "", unit, limit, days, values, walks, 0)
        looks = drift.looks(drift.drifts([one])).looks
        return any(look.chance is not None and look.chance * self.tests <= ALPHA for look in looks)

    def share(self, more: float, vehicles: int, seed: int) -> float:
        return sum(self.found(more, f"{seed}/{n}") for n in range(vehicles)) / vehicles

    def smallest(self, vehicles: int, seed: int) -> float:
        low, high = 0.0, MEASURES[self.place][3]
        for _ in range(8):
            middle = (low + high) / 2
            if self.share(middle, vehicles, seed) < 0.8:
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
            trial = Trial(place, walks, tests)
            least = trial.smallest(arguments.vehicles, arguments.seed)
            false = trial.share(0.0, arguments.honest, arguments.seed + 1)
            print(
                f"  {measure}: {least:.3f} {unit} a week, {least * EVERY_DAYS * walks / 7:.2f} "
                f"{unit} in all; found without a drift: {false * arguments.honest:.0f} of "
                f"{arguments.honest}",
                flush=True,
            )


if __name__ == "__main__":
    main()
