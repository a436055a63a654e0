"""The clocks: shapes and order; nothing here is timed."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from walkaround.devices.clock import SittingClock, boot_id, boot_ms, wall_now


def test_wall_time_is_rfc_3339_in_utc() -> None:
    said = wall_now()
    assert said.endswith("Z")
    assert abs(datetime.fromisoformat(said) - datetime.now(UTC)) < timedelta(minutes=1)


def test_a_sitting_begins_at_nought_and_never_goes_back() -> None:
    before = boot_ms()
    clock = SittingClock()
    seen = [clock.now_ms() for _ in range(100)]
    assert clock.began_boot_ms >= before
    assert seen[0] < 1000
    assert seen == sorted(seen)


def test_the_boot_id_stays() -> None:
    assert boot_id() == boot_id()
