"""Battery and staying awake, on files and programs of our own."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from walkaround.devices.power import Battery, KeepAwake, battery


def supply(folder: Path, name: str, **files: str) -> None:
    (folder / name).mkdir(parents=True)
    for file, text in files.items():
        (folder / name / file).write_text(f"{text}\n", encoding="ascii")


def test_a_machine_without_a_battery_has_none(tmp_path: Path) -> None:
    supply(tmp_path, "AC", type="Mains", online="1")
    assert battery(tmp_path) is None
    assert battery(tmp_path / "nowhere") is None


def test_the_machine_s_own_battery_and_not_the_headset_s(tmp_path: Path) -> None:
    supply(tmp_path, "BAT0", type="Battery", capacity="80", status="Discharging")
    supply(tmp_path, "BAT1", type="Battery", capacity="25", status="Discharging")
    supply(tmp_path, "hid-1", type="Battery", scope="Device", capacity="3", status="Discharging")
    found = battery(tmp_path)
    assert found == Battery(25, charging=False)
    assert "25 percent" in found.warning()


@pytest.mark.parametrize(
    ("capacity", "status", "warned"),
    [("29", "Discharging", True), ("30", "Discharging", False), ("5", "Charging", False)],
)
def test_the_driver_is_told_when_it_may_not_last(
    tmp_path: Path, capacity: str, status: str, warned: bool
) -> None:
    supply(tmp_path, "BAT0", type="Battery", capacity=capacity, status=status)
    found = battery(tmp_path)
    assert found is not None and bool(found.warning()) is warned


def test_a_battery_that_cannot_be_read_is_none(tmp_path: Path) -> None:
    supply(tmp_path, "BAT0", type="Battery", capacity="")
    assert battery(tmp_path) is None


def test_without_the_program_nothing_is_held_and_nothing_fails() -> None:
    awake = KeepAwake("no-such-program-anywhere")
    assert not awake.held
    awake.close()


def test_the_lock_is_held_until_it_is_closed(tmp_path: Path) -> None:
    program = tmp_path / "inhibit"
    seen = tmp_path / "seen"
    program.write_text(f'#!/bin/sh\necho "$@" > {seen}\nexec cat\n', encoding="ascii")
    program.chmod(0o755)
    awake = KeepAwake(str(program))
    assert awake.held
    for _ in range(100):
        if seen.exists() and seen.read_text(encoding="ascii"):
            break
        time.sleep(0.1)
    assert "--what=sleep:idle" in seen.read_text(encoding="ascii")
    awake.close()
    assert not awake.held
