"""Does a vehicle's build-up or leakage drift, since when, and when would it reach the limit?

Trend: least squares over days with Student's t.  Change-point: the tabular cumulative sum
of the NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.3, about the level of
the first walks, in units of the spread between neighbours (moving ranges, section 6.3.2.2).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from walkaround.audit.chances import student_edge, student_two_sided
from walkaround.audit.evidence import Series
from walkaround.audit.looks import Look, Tested, Topic
from walkaround.audit.wording import day, in_words
from walkaround.quantity import quantity

FEWEST = 12
FEWEST_DAYS = 10.0
_BASE = 8
"""Walks at the beginning that say what the vehicle's usual level is."""
_SLACK = 0.5
"""The cumulative sum's reference value, in spreads: it finds shifts of about one spread."""
_MOVING_RANGE = 1.128  # mean range of two normal values in spreads (e-Handbook 6.3.2.2)
_FINEST: Mapping[str, float] = {"s": 1.0, "psi/min": 0.5, "kPa/min": 5.0, "bar/min": 0.05}
"""A spread cannot be told finer than the reading that it was made of: common practice."""
_DAY_MS = 86_400_000
_SOON_DAYS = 365.0
_LEAST_SHARE = 0.2
"""A change smaller than this is not worth a look, however certain."""
_TRIVIAL = 1e-4
_SIZE = re.compile(r"(\d+(?:\.\d+)?) ([A-Za-z°%]+(?:/min)?)")
_UPPER = (
    "at most",
    "less than",
    "not more",
    "not greater",
    "within",
    "equal to or less",
    "not over",
)


@dataclass(frozen=True, slots=True)
class Line:
    """A least-squares line: value = level + slope × day, with its residual spread."""

    level: float
    slope: float
    spread: float
    slope_error: float
    chance: float
    freedom: int


def fit(days: Sequence[float], values: Sequence[float]) -> Line | None:
    """None when there are fewer than three points or only one day."""
    count = len(days)
    if count < 3:
        return None
    mean_x, mean_y = math.fsum(days) / count, math.fsum(values) / count
    xx = math.fsum((x - mean_x) ** 2 for x in days)
    if xx <= 0:
        return None
    slope = math.fsum((x - mean_x) * (y - mean_y) for x, y in zip(days, values, strict=True)) / xx
    level = mean_y - slope * mean_x
    rest = math.fsum((y - level - slope * x) ** 2 for x, y in zip(days, values, strict=True))
    freedom = count - 2
    spread = math.sqrt(rest / freedom)
    error = spread / math.sqrt(xx)
    t = slope / error if error > 0 else math.copysign(math.inf, slope) if slope else 0.0
    return Line(level, slope, spread, error, student_two_sided(t, freedom), freedom)


@dataclass(frozen=True, slots=True)
class Sums:
    """The cumulative sums above and below, in the values' own unit."""

    above: tuple[float, ...]
    below: tuple[float, ...]


def cumulative(values: Sequence[float], target: float, slack: float) -> Sums:
    """Tabular CUSUM: S_hi = max(0, S_hi + x - target - slack), S_lo likewise downwards."""
    above, below = [], []
    high = low = 0.0
    for value in values:
        high = max(0.0, high + value - target - slack)
        low = max(0.0, low + target - slack - value)
        above.append(high)
        below.append(low)
    return Sums(tuple(above), tuple(below))


def began_at(sums: Sequence[float]) -> int | None:
    """Where the climb to the highest sum set in: the place after the last zero before it."""
    top = max(range(len(sums)), key=lambda at: sums[at], default=None)
    if top is None or sums[top] <= 0:
        return None
    return next((at + 1 for at in range(top, -1, -1) if sums[at] == 0), 0)


def spread_between(values: Sequence[float], unit: str) -> float:
    """The spread from walk to walk, by moving ranges; a slow drift hardly enlarges it."""
    ranges = [abs(b - a) for a, b in pairwise(values)]
    mean = math.fsum(ranges) / len(ranges) if ranges else 0.0
    return max(mean / _MOVING_RANGE, _FINEST.get(unit, 0.0), 1e-9)


# ---------------------------------------------------------------- limit and forecast


def upper_limit(worded: str, unit: str) -> float | None:
    """The number in "not more than 21 kPa/min / 3 psi/min", in that unit; None for a limit that
    is none from above, or that hangs on something else ("x volume-ratio")."""
    if " x " in worded or not worded.startswith(_UPPER):
        return None
    sizes = [quantity(f"{number} {name}") for number, name in _readable(worded)]
    same = [size for size in sizes if str(size.unit) == unit]
    if same:
        return float(same[0].value)
    for size in sizes:
        try:
            return float(size.to(quantity(f"0 {unit}").unit).value) if size.base else None
        except (ValueError, KeyError):
            continue
    return None


def _readable(worded: str) -> list[tuple[str, str]]:
    found = []
    for number, name in _SIZE.findall(worded):
        try:
            quantity(f"{number} {name}")
        except ValueError:
            continue
        found.append((number, name))
    return found


@dataclass(frozen=True, slots=True)
class Forecast:
    """Days after the first walk on which the line reaches the limit: the best guess, and the
    earliest and latest by the slope's own uncertainty (95 %); latest is inf where it may never."""

    day: float
    earliest: float
    latest: float


def forecast(line: Line, limit: float, centre: float) -> Forecast | None:
    """None when the line does not climb towards the limit. `centre` is the mean of the days."""
    at_centre = line.level + line.slope * centre
    if line.slope <= 0 or limit <= at_centre:
        return None
    edge = student_edge(0.05, line.freedom) * line.slope_error
    steep, flat = line.slope + edge, line.slope - edge
    rest = limit - at_centre
    latest = centre + rest / flat if flat > 0 else math.inf
    return Forecast(centre + rest / line.slope, centre + rest / steep, latest)


# ---------------------------------------------------------------- looks


@dataclass(frozen=True, slots=True)
class Drift:
    """What was found in one series: for the page's picture, too."""

    series: Series
    line: Line
    changed: int | None
    limit: float | None
    forecast: Forecast | None
    chance: float


def drifts(series: Sequence[Series]) -> tuple[Drift, ...]:
    """Series long enough, each with its trend and change; those that climb come with a look."""
    found = []
    for one in series:
        if len(one.values) < FEWEST or one.days[-1] < FEWEST_DAYS:
            continue
        line = fit(one.days, one.values)
        if line is not None:
            found.append(_drift(one, line))
    return tuple(found)


def _drift(one: Series, line: Line) -> Drift:
    spread = spread_between(one.values, one.unit)
    target = sorted(one.values[:_BASE])[_BASE // 2]
    # It dates the change and does not test it: the target is only estimated, and a sum about
    # a target that is a little off climbs by itself.  The trend's own test decides.
    sums = cumulative(one.values, target, _SLACK * spread)
    # Only a climb is asked about, so only that half of Student's t counts.
    chance = line.chance / 2 if line.slope > 0 else 1 - line.chance / 2
    limit = upper_limit(one.limit, one.unit)
    centre = math.fsum(one.days) / len(one.days)
    ahead = None
    if limit is not None and chance < _TRIVIAL:
        ahead = forecast(line, limit, centre)
    return Drift(one, line, began_at(sums.above), limit, ahead, chance)


def looks(found: Sequence[Drift]) -> Tested:
    """Vehicles whose build-up or leakage climbs: one look for each measure, the nearest limit."""
    best: dict[tuple[str, str], Drift] = {}
    for drift in found:
        if not _worth(drift):
            continue
        key = (drift.series.vehicle, drift.series.measure)
        if key not in best or _nearness(drift) < _nearness(best[key]):
            best[key] = drift
    return Tested(tuple(_look(drift) for drift in best.values()), len(found))


def _worth(drift: Drift) -> bool:
    """Certain, upwards, and a fifth of the level that it began at, or of the limit."""
    if drift.chance >= _TRIVIAL or drift.line.slope <= 0:
        return False
    least = 5 * _FINEST.get(drift.series.unit, 0.0)
    level = max(abs(drift.line.level), least)
    base = level if drift.limit is None else min(level, drift.limit)
    return drift.line.slope * drift.series.days[-1] >= _LEAST_SHARE * base


def _nearness(drift: Drift) -> float:
    return drift.forecast.day if drift.forecast else math.inf


def _look(drift: Drift) -> Look:
    one, line = drift.series, drift.line
    since = ""
    if drift.changed is not None and drift.changed < len(one.days):
        since = f", since about {day(one.first_ms + one.days[drift.changed] * _DAY_MS)}"
    return Look(
        Topic.DRIFT,
        "drift",
        f"{in_words(one.measure)} climbs by {line.slope * 7:.2g} {one.unit} a week{since}",
        _ahead(drift),
        tuple(one.walks[-3:]),
        vehicle=one.vehicle,
        step=one.step,
        chance=drift.chance,
    )


def _ahead(drift: Drift) -> str:
    one, ahead = drift.series, drift.forecast
    if drift.limit is None:
        return f"no limit from above is known for it here ({one.place})"
    limit = f"{drift.limit:g} {one.unit} ({one.place}, {one.limit})"
    if ahead is None:
        return f"it is over the limit already on average: {limit}"
    first = one.first_ms
    if not math.isfinite(ahead.latest) or ahead.latest > one.days[-1] + 10 * _SOON_DAYS:
        latest = "or much later"
    else:
        latest = f"and {day(first + ahead.latest * _DAY_MS)}"
    return (
        f"going on like this it reaches {limit} about {day(first + ahead.day * _DAY_MS)}, between "
        f"{day(first + ahead.earliest * _DAY_MS)} {latest} (95 %, slope only)"
    )
