"""Why a rule leaves a value open, whatever the value: said before anybody measures."""

from __future__ import annotations

from walkaround.rules.limits import FACT_NAMES
from walkaround.rules.model import Comparison, Rule

_WINDOW = ("from", "to")
_BUILD_UP = "build-up"
_SEEN = ("empty", "where the low-pressure warning stops")
"""Moments that a driver can mark although no number stands for them."""


def stays_open(rule: Rule) -> str:
    """Why nothing, or only a value inside the limit, is decided by it; "" where all is."""
    if rule.limit.comparison is Comparison.ABOUT:
        return f"the text says '{rule.limit.worded}' and draws no line"
    if rule.measure == _BUILD_UP and any(_no_mark(rule, key) for key in _WINDOW):
        start, end = (rule.procedure.get(key, "nothing") for key in _WINDOW)
        return (
            f"the text times from '{start}' to '{end}', which are no marks on a gauge, so no "
            "climb that is asked for here is that one"
        )
    told = [rule.procedure.get(key, "").partition(" x ")[2] for key in _WINDOW]
    if rule.measure == _BUILD_UP and any(told):
        facts = " and ".join(FACT_NAMES.get(fact, fact) for fact in told if fact)
        return f"it is timed only where the vehicle's profile tells its {facts}"
    if rule.one_way:
        return f"only a value within it shows something: {rule.one_way}"
    return ""


def _no_mark(rule: Rule, key: str) -> bool:
    text = rule.procedure.get(key, "")
    return not text[:1].isdecimal() and text not in _SEEN
