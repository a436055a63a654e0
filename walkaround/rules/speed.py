"""What a climb at one engine speed shows for a text that means another.

A build-up time belongs to an engine speed.  The timed build-up of a trip is asked at the
slowest speed that some place's text names: a slower climb that is quick enough for a text
of a faster one shows something, and one too slow shows nothing.  The first climb, where it
is timed, is asked at the fastest speed named in words (operating rpm), and there it is the
other way round.
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


def first_climb_speed(rules: Sequence[Rule]) -> Speed | None:
    """The speed that the first climb is asked at where it is timed: the fastest named in words
    only, and the trip's own where none is."""
    speeds = [speed for rule in rules if not rule.one_way and (speed := speed_of(rule))]
    worded = [speed for speed in speeds if not speed.ranged]
    return max(worded, key=_in_words) if worded else climb_speed(rules)


def slower(asked: Speed | None, rule: Rule) -> int:
    """-1 where the climb was asked slower than the rule's text means, 1 where faster, 0 where
    it is the one meant or the text is silent.  Words without a number count as faster than
    any printed range."""
    wanted = speed_of(rule)
    if wanted is None or asked is None or rule.one_way:
        return 0
    if asked.ranged and wanted.ranged and _overlap(asked, wanted):
        return 0
    if asked.words == wanted.words:
        return 0
    return -1 if _pace(asked) < _pace(wanted) else 1


def one_speed_serves(rules: Sequence[Rule]) -> bool:
    """True when one climb is what every rule that names a speed means."""
    asked = climb_speed(rules)
    return not any(slower(asked, rule) for rule in rules)


def _slowness(speed: Speed) -> tuple[float, float]:
    highest = float("inf") if speed.high is None else speed.high
    return highest, 0 if speed.low is None else speed.low


def _pace(speed: Speed) -> tuple[int, float]:
    return (0, _slowness(speed)[0]) if speed.ranged else (1, _in_words(speed))


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
