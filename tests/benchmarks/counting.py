"""k of n with an interval, clustered by speaker: clips of one person are not independent."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

_RESAMPLES = 2000


@dataclass(frozen=True)
class Rate:
    """`k` of `n` clips by `speakers` people; `low` and `high` bound the rate at 95 %."""

    k: int
    n: int
    speakers: int
    low: float
    high: float

    def __str__(self) -> str:
        if not self.n:
            return "none"
        share = 100 * self.k / self.n
        return f"{self.k}/{self.n} {share:.1f} % [{100 * self.low:.1f}, {100 * self.high:.1f}]"

    def as_json(self) -> dict[str, float]:
        return {
            "k": self.k,
            "n": self.n,
            "speakers": self.speakers,
            "low": round(self.low, 4),
            "high": round(self.high, 4),
        }


def rate(outcomes: Iterable[tuple[str, bool]], seed: int = 1) -> Rate:
    """From (speaker, happened). Whole speakers are drawn anew; where nothing or everything
    happened, the bound is the rule of three over speakers' clips: 1 - 0.05^(1/n)."""
    by_speaker: dict[str, list[bool]] = defaultdict(list)
    for speaker, happened in outcomes:
        by_speaker[speaker].append(happened)
    hits = np.array([sum(row) for row in by_speaker.values()], dtype=np.float64)
    sizes = np.array([len(row) for row in by_speaker.values()], dtype=np.float64)
    n, k = int(sizes.sum()), int(hits.sum())
    if not n:
        return Rate(0, 0, 0, 0.0, 1.0)
    if k in (0, n):
        bound = 1 - 0.05 ** (1 / n)
        low, high = (0.0, bound) if k == 0 else (1 - bound, 1.0)
        return Rate(k, n, len(sizes), low, high)
    rng = np.random.default_rng(seed)
    drawn = rng.integers(0, len(sizes), (_RESAMPLES, len(sizes)))
    rates = hits[drawn].sum(axis=1) / sizes[drawn].sum(axis=1)
    low, high = np.quantile(rates, [0.025, 0.975])
    return Rate(k, n, len(sizes), float(low), float(high))
