"""Whether one climb can serve several rules: a build-up time belongs to an engine speed."""

from __future__ import annotations

from collections.abc import Sequence

from walkaround.rules.model import Rule


def one_speed_serves(rules: Sequence[Rule]) -> bool:
    """True when some engine speed satisfies every rule that names one.

    Speeds given as a range (`rpm: 600-900`, `rpm: -1200`) are intersected; a speed given
    in words only (`operating rpm`) agrees with nothing but the same words.  One-way rules
    are left out: they are judged at whatever speed the others ask for.
    """
    asked = {
        (rule.procedure.get("engine_speed", ""), rule.procedure.get("rpm", ""))
        for rule in rules
        if rule.procedure.get("engine_speed") and not rule.one_way
    }
    if len(asked) <= 1:
        return True
    ranges = [_range(rpm) for _, rpm in asked if rpm]
    if len(ranges) < len(asked):
        return False
    lowest = max((low for low, _ in ranges if low is not None), default=None)
    highest = min((high for _, high in ranges if high is not None), default=None)
    return lowest is None or highest is None or lowest <= highest


def _range(rpm: str) -> tuple[int | None, int | None]:
    low, _, high = rpm.partition("-")
    return (int(low) if low else None, int(high) if high else None)
