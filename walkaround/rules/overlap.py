"""Refuses two rules of one authority that judge the same thing of the same vehicle unawares."""

from __future__ import annotations

from collections.abc import Iterable

from walkaround.errors import RuleError
from walkaround.rules.model import HoldsFor, Rule


def refuse_overlaps(rules: Iterable[Rule]) -> None:
    """Two rules of one authority and measure must hold for different vehicles, or say `beside`."""
    seen: dict[str, list[Rule]] = {}
    for rule in rules:
        for earlier in seen.setdefault(rule.measure, []):
            known = rule.beside == earlier.id or earlier.beside == rule.id
            if not known and _overlap(rule.holds_for, earlier.holds_for):
                raise RuleError(
                    f"rule '{rule.id}' and rule '{earlier.id}' judge '{rule.measure}' for the same "
                    "vehicle; narrow 'holds_for', or say 'beside' if both are to be shown",
                    file=rule.file,
                    line=rule.line,
                    key="holds_for",
                )
        seen[rule.measure].append(rule)


def _overlap(one: HoldsFor, two: HoldsFor) -> bool:
    if one.chamber != two.chamber:
        return False
    if one.kinds and two.kinds and not set(one.kinds) & set(two.kinds):
        return False
    if None not in (one.circuits, two.circuits) and one.circuits != two.circuits:
        return False
    if _never_both(one, two) or _never_both(two, one):
        return False
    return _share_units(one, two)


def _never_both(one: HoldsFor, two: HoldsFor) -> bool:
    return bool(one.built_before and two.built_from and one.built_before <= two.built_from)


def _share_units(one: HoldsFor, two: HoldsFor) -> bool:
    def free(asks: HoldsFor) -> bool:
        return not asks.units and asks.units_from is None

    def has(asks: HoldsFor, unit: int) -> bool:
        return unit in asks.units or (asks.units_from is not None and unit >= asks.units_from)

    if free(one) or free(two):
        return True
    if one.units_from is not None and two.units_from is not None:
        return True
    return any(has(two, unit) for unit in one.units) or any(has(one, unit) for unit in two.units)
