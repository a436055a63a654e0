"""Numbers and days as a reader of the audit sees them."""

from __future__ import annotations

from datetime import UTC, datetime

_LAST_MS = 253_402_300_799_000  # the end of the year 9999


def in_words(name: str) -> str:
    """ "stroke@axle-2-left" as "stroke, axle 2 left"; a measure's or a question's own name."""
    what, _, where = name.partition("@")
    return ", ".join(part.replace("-", " ") for part in (what, where) if part)


def day(at_ms: float) -> str:
    """2026-01-31, by the device's clock in UTC; "no date" where it cannot be one."""
    if not 0 <= at_ms <= _LAST_MS:
        return "no date"
    return datetime.fromtimestamp(at_ms / 1000, UTC).date().isoformat()


def percent(share: float) -> str:
    """37 %; below one, one decimal."""
    return f"{share * 100:.1f} %" if share < 0.01 else f"{share * 100:.0f} %"


def chance_text(chance: float) -> str:
    """0.004, or "under one in a million"."""
    return "under one in a million" if chance < 1e-6 else f"{chance:.2g}"
