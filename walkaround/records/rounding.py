"""Numbers as a person reads them: the record keeps every digit, the page shows those that mean
something.
"""

from __future__ import annotations

import re
from decimal import Decimal

_VALUE = re.compile(r"(-?\d{1,12}\.(\d{1,12})) (\S.*)", re.ASCII)
_FIRST_NUMBER = re.compile(r"\d{1,12}(?:\.(\d{1,12}))?", re.ASCII)
_LENGTH = re.compile(r"(\d{1,12})\.\d{3} s", re.ASCII)
_PLACES_UNSAID = 2


def rounded(value: str, uncertainty: str = "") -> str:
    """`37.9504 s` with `± 1.0 s (k = 2)` is shown as `37.95 s`.

    One digit more than the uncertainty has, so that rounding moves nothing across a limit
    that the uncertainty does not blur anyway. What is no such number is shown as it stands.
    """
    found = _VALUE.fullmatch(value)
    if found is None:
        return value
    said = _FIRST_NUMBER.search(uncertainty)
    places = len(said[1] or "") + 1 if said is not None else _PLACES_UNSAID
    if len(found[2]) <= places:
        return value
    return f"{Decimal(found[1]).quantize(Decimal(1).scaleb(-places))} {found[3]}"


def minutes(length: str) -> str:
    """`2291.716 s` is shown as `38 min 12 s`, and what is no such length as it stands."""
    found = _LENGTH.fullmatch(length)
    if found is None:
        return length
    seconds = round(Decimal(length.removesuffix(" s")))
    return f"{seconds // 60} min {seconds % 60} s" if seconds >= 60 else f"{seconds} s"
