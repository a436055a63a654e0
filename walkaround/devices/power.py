"""The machine's battery, and keeping the machine awake while a walk goes on. Linux; elsewhere
nothing is known and nothing is done.
"""

from __future__ import annotations

import contextlib
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

_SUPPLIES = Path("/sys/class/power_supply")
LOW_PERCENT = 30
"""A walk takes about half an hour (common practice, no source): less may not last."""


@dataclass(frozen=True, slots=True)
class Battery:
    percent: int
    charging: bool

    def warning(self) -> str:
        """A sentence when it may not last, else ""."""
        if self.charging or self.percent >= LOW_PERCENT:
            return ""
        return f"The battery is at {self.percent} percent. Connect the charger before we begin."


def battery(supplies: Path = _SUPPLIES) -> Battery | None:
    """The machine's own battery with the least charge; None where there is none.

    The files are those of the kernel's power supply class (Documentation/ABI/testing/
    sysfs-class-power): type, scope, capacity in percent, status.
    """
    found = []
    for folder in sorted(supplies.glob("*")):
        if _read(folder / "type") != "Battery" or _read(folder / "scope") == "Device":
            continue  # "Device": a mouse or a headset with a battery of its own
        percent = _read(folder / "capacity")
        if percent.isdigit():
            status = _read(folder / "status")
            found.append(Battery(int(percent), status in ("Charging", "Full", "Not charging")))
    return min(found, key=lambda one: one.percent, default=None)


def _read(path: Path) -> str:
    try:
        return path.read_text(encoding="ascii", errors="replace").strip()
    except OSError:
        return ""


class KeepAwake:
    """While it is open the machine does not fall asleep by itself, where systemd can see to it.

    The lock is held by a child that ends with our end of its pipe, however we end.
    """

    def __init__(self, program: str = "systemd-inhibit") -> None:
        path = shutil.which(program) if sys.platform.startswith("linux") else None
        self._child: subprocess.Popen[bytes] | None = None
        if path is None:
            return
        words = (path, "--what=sleep:idle", "--who=walkaround", "--why=a check is going on", "cat")
        with contextlib.suppress(OSError):
            self._child = subprocess.Popen(
                words,
                stdin=subprocess.PIPE,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )

    @property
    def held(self) -> bool:
        """Whether the lock is held, as far as its child lives."""
        return self._child is not None and self._child.poll() is None

    def close(self) -> None:
        child, self._child = self._child, None
        if child is None:
            return
        assert child.stdin is not None
        with contextlib.suppress(OSError):
            child.stdin.close()
        try:
            child.wait(timeout=2)
        except subprocess.TimeoutExpired:
            child.kill()
            child.wait()
