"""Whether one climb can serve several rules: a build-up time belongs to an engine speed.

One climb of a trip is asked at the slowest speed that some place's text names, because a
slower climb that is quick enough for a text of a faster one shows something, and a faster
climb shows nothing of a slower one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from walkaround.rules.model import Rule

_SLOW_FIRST = ("idle", "fast idle", "operating rpm")
"""Speeds named in words only, the slowest first; others count as faster still."""


@dataclass(frozen=True, slots=True)
class Speed:
    """A range of rpm (None: open), or words only; `words` are the text's own."""

    words: str
    low: int | None = None
    high: int | None = None
    ranged: bool = False


def climb_speed(rules: Sequence[Rule]) -> Speed | None:
    """The speed that one climb for all these rules is asked at; None where no text names one.

    Of printed ranges the slowest, narrowed by every other that overlaps it; words without a
    number count only where nothing is printed in rpm.  One-way rules are left out: they are
    judged at whatever speed the others ask for.
    """
    speeds = [speed for rule in rules if not rule.one_way and (speed := speed_of(rule))]
    ranged = sorted((s for s in speeds if s.ranged), key=_slowness)
    if not ranged:
        return min(speeds, key=_in_words, default=None)
    found = ranged[0]
    for other in ranged:
        if _overlap(found, other):
            found = _both(found, other)
    return found


def speed_of(rule: Rule) -> Speed | None:
    """What the rule's text says of the engine speed; None where it is silent."""
    words, rpm = rule.procedure.get("engine_speed", ""), rule.procedure.get("rpm", "")
    if not words:
        return None
    if not rpm:
        return Speed(words)
    low, _, high = rpm.partition("-")
    return Speed(words, int(low) if low else None, int(high) if high else None, ranged=True)


def serves(asked: Speed | None, rule: Rule) -> bool:
    """Whether a climb at that speed is the one that the rule's text means."""
    wanted = speed_of(rule)
    if wanted is None or asked is None or rule.one_way:
        return True
    if asked.ranged and wanted.ranged:
        return _overlap(asked, wanted)
    return asked.words == wanted.words


def one_speed_serves(rules: Sequence[Rule]) -> bool:
    """True when one climb is what every rule that names a speed means."""
    asked = climb_speed(rules)
    return all(serves(asked, rule) for rule in rules)


def _slowness(speed: Speed) -> tuple[float, float]:
    highest = float("inf") if speed.high is None else speed.high
    return highest, 0 if speed.low is None else speed.low


def _in_words(speed: Speed) -> int:
    known = speed.words in _SLOW_FIRST
    return _SLOW_FIRST.index(speed.words) if known else len(_SLOW_FIRST)


def _overlap(one: Speed, two: Speed) -> bool:
    low = max((s.low for s in (one, two) if s.low is not None), default=None)
    high = min((s.high for s in (one, two) if s.high is not None), default=None)
    return low is None or high is None or low <= high


def _both(one: Speed, two: Speed) -> Speed:
    return Speed(
        one.words,
        max((s.low for s in (one, two) if s.low is not None), default=None),
        min((s.high for s in (one, two) if s.high is not None), default=None),
        ranged=True,
    )
