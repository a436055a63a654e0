"""The machine's clocks: wall time for people, the boot clock for intervals.

The boot clock goes on while the machine sleeps (CLOCK_BOOTTIME) where the system has
one, so that a lid shut during a timed interval is seen as time that passed.
"""

from __future__ import annotations

import time
from datetime import UTC, date, datetime
from pathlib import Path

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")


def wall_now() -> str:
    """UTC now as RFC 3339, to the millisecond: 2026-01-31T08:15:30.123Z."""
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def today() -> date:
    """The day in UTC, as wall_now has it."""
    return datetime.now(UTC).date()


def boot_ms() -> int:
    """Whole milliseconds since the machine started; never goes back while it runs."""
    if hasattr(time, "CLOCK_BOOTTIME"):
        return time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1_000_000
    return time.monotonic_ns() // 1_000_000


def boot_id() -> str:
    """The same text for as long as the machine runs; "" where the system names none."""
    try:
        return _BOOT_ID.read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError):
        return ""


class SittingClock:
    """Milliseconds of the present sitting: zero when it is made."""

    def __init__(self) -> None:
        self._began_ms = boot_ms()

    @property
    def began_boot_ms(self) -> int:
        return self._began_ms

    def now_ms(self) -> int:
        return boot_ms() - self._began_ms
