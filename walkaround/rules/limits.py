"""Reads a limit as it is written in a rule file.

    comparison: not more than     limit: 2 psi/min
    comparison: between           limit: 105 psi / 724 kPa and 135 psi / 931 kPa
    comparison: at least          limit: 50 % x cut-out
    comparison: at least          limit: the lesser of 379 kPa / 55 psi and 50 % x cut-out
    comparison: is                limit: light, both

`a / b` is one limit printed in two units: a reading is judged in the unit it was read
in when that unit is printed, otherwise in the first.  The printed conversions are
rounded (587 kPa for 85 psi), so one is never made out of the other.
"""

from __future__ import annotations

from collections.abc import Mapping

from walkaround.quantity import Kind, quantity
from walkaround.rules.model import WORDINGS, Amount, Bound, Comparison, Limit

FACTS: Mapping[str, Kind] = {
    "cut-out": Kind.PRESSURE,  # where the governor stops the compressor
    "pressure-most": Kind.PRESSURE,  # the maker's maximum operating pressure
    "volume-ratio": Kind.RATIO,  # actual over required reservoir volume
    "belt-width": Kind.LENGTH,
}
"""What a limit may be a share of, and its kind."""

FACT_NAMES: Mapping[str, str] = {
    "cut-out": "governor's cut-out",
    "pressure-most": "maximum operating pressure",
}
"""How a sentence calls those facts that the vehicle's profile tells."""

KIND_OF: Mapping[str, Kind] = {
    **dict.fromkeys(("build-up", "recovery"), Kind.TIME),
    **dict.fromkeys(("loss-released", "loss-applied"), Kind.RATE),
    **dict.fromkeys(("stroke", "belt-slack"), Kind.LENGTH),
    **dict.fromkeys(("reserve", "reserve-five", "strokes-beyond"), Kind.RATIO),
    **dict.fromkeys(
        (
            "cut-out", "cut-in", "governor-band", "warning-on", "warning-off",
            "supply-valve-closes", "park-valve-closes", "line-break-holds", "ready-pressure",
            "stroke-pressure", "left-after-five",
        ),
        Kind.PRESSURE,
    ),
    "discharge-temperature": Kind.TEMPERATURE,
}  # fmt: skip
"""What each measure that has a number is a size of."""

_LESSER = "the lesser of "
_AND = " and "
_BOUNDS: Mapping[Comparison, int] = {Comparison.BETWEEN: 2, Comparison.ABOUT: 0, Comparison.IS: 0}
"""How many bounds a comparison takes; 0 = any number; one for the rest."""


def read_limit(worded: str, text: str, fails: tuple[str, ...] = ()) -> Limit:
    """The limit. Raises ValueError with one sentence."""
    comparison = WORDINGS.get(worded)
    if comparison is None:
        raise ValueError(
            f"'{worded}' is not a comparison I know; known are {', '.join(sorted(WORDINGS))}"
        )
    if comparison is Comparison.IS:
        words = _words(text, fails)
        return Limit(worded, comparison, words=words, fails=fails or _opposite(words))
    if fails:
        raise ValueError("'fails' belongs to a comparison in words ('is')")
    parts = [text] if text.startswith(_LESSER) else text.split(_AND)
    bounds = tuple(_bound(part) for part in parts)
    wanted = _BOUNDS.get(comparison, 1)
    if wanted and len(bounds) != wanted:
        raise ValueError(f"'{worded}' takes {wanted} limit{'s' * (wanted > 1)}, not '{text}'")
    if len({_kind(bound) for bound in bounds}) > 1:
        raise ValueError(f"'{text}' mixes kinds of size; give one kind")
    return Limit(worded, comparison, bounds)


def misfit(measure: str, limit: Limit) -> str:
    """Why a measure can never be judged by such a limit, as one sentence; "" where it can."""
    wanted = KIND_OF.get(measure)
    if limit.comparison is Comparison.IS:
        return f"'{measure}' is read as a {wanted}, not answered in words" if wanted else ""
    if wanted is None:
        return f"'{measure}' is answered in words and cannot be compared with a number"
    found = _kind(limit.bounds[0])
    if found is wanted:
        return ""
    return f"'{limit.bounds[0]}' is a {found}, and '{measure}' is judged as a {wanted}"


def alternatives(text: str) -> tuple[Amount, ...]:
    """`85 psi / 587 kPa` -> both. Raises ValueError with one sentence."""
    return tuple(_amount(part) for part in text.split(" / "))


def _words(text: str, fails: tuple[str, ...]) -> tuple[str, ...]:
    words = tuple(word.strip() for word in text.split(","))
    if not all(words):
        raise ValueError(f"'{text}' must be answers with a comma between them")
    both = set(words) & set(fails)
    if both:
        raise ValueError(f"'{sorted(both)[0]}' both meets the rule and fails it; keep one")
    return words


def _opposite(words: tuple[str, ...]) -> tuple[str, ...]:
    opposite = {"yes": "no", "no": "yes"}
    return tuple(opposite[word] for word in words if word in opposite)


def _bound(text: str) -> Bound:
    if not text.startswith(_LESSER):
        return Bound((alternatives(text),))
    return Bound(tuple(alternatives(part) for part in text[len(_LESSER) :].split(_AND)))


def _amount(text: str) -> Amount:
    size, times, fact = text.strip().partition(" x ")
    printed = quantity(size)
    if times and fact not in FACTS:
        raise ValueError(
            f"'{fact}' is not a fact that a limit can be a share of; known are {', '.join(FACTS)}"
        )
    if times and Kind.RATIO not in (printed.kind, FACTS[fact]):
        raise ValueError(f"'{text}' multiplies two sizes; a share is a percentage of a fact")
    return Amount(printed, fact)


def _kind(bound: Bound) -> Kind:
    kinds = {_kind_of(amount) for amounts in bound.lesser for amount in amounts}
    if len(kinds) > 1:
        raise ValueError(f"'{bound}' mixes kinds of size; give one kind")
    return kinds.pop()


def _kind_of(amount: Amount) -> Kind:
    if amount.of and amount.printed.kind is Kind.RATIO:
        return FACTS[amount.of]
    return amount.printed.kind
