"""A headset's call or play button, as the Linux kernel hands it on: wait, or continue.

The kernel names the keys of every input device in /sys and gives each press as one record in
/dev/input (Documentation/input/input.rst: struct input_event; codes in
uapi/linux/input-event-codes.h).  No library is needed for that.  Where there is no such device
nothing is done; where it may not be read, one sentence says so.
"""

from __future__ import annotations

import contextlib
import os
import select
import struct
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

_SYSTEM = Path("/sys/class/input")
_DEVICES = Path("/dev/input")
_EVENT = struct.Struct("llHHi")  # seconds, microseconds, type, code, value
_KEY, _PRESSED = 1, 1  # EV_KEY; 0 is let go, 2 held
_WORD_BITS = 8 * struct.calcsize("l")
KEYS = {
    "KEY_PLAYPAUSE": 164,
    "KEY_PHONE": 169,
    "KEY_PLAYCD": 200,  # Bluetooth's play and pause arrive as these two
    "KEY_PAUSECD": 201,
    "KEY_PLAY": 207,
    "KEY_MEDIA": 226,
    "KEY_PICKUP_PHONE": 0x1BD,
    "KEY_HANGUP_PHONE": 0x1BE,
}
_KEYBOARD = 30  # KEY_A: a keyboard's own media keys are not at the driver's ear
NOT_READABLE = (
    "The headset's button cannot be read: add yourself to the group 'input' and log in again,"
    " or say wait and continue."
)


class HeadsetButton:
    """Calls `pressed` from a thread of its own at each press; `close` ends that.

    `unreadable` is a sentence where a headset has a button that may not be read, else "".
    """

    def __init__(
        self,
        pressed: Callable[[], None],
        system: Path = _SYSTEM,
        devices: Path = _DEVICES,
    ) -> None:
        self._pressed = pressed
        self._open: list[int] = []
        refused = False
        for name in buttons(system):
            try:
                self._open.append(os.open(devices / name, os.O_RDONLY | os.O_NONBLOCK))
            except OSError:
                refused = True
        self.unreadable = NOT_READABLE if refused and not self._open else ""
        self._wake, self._woken = os.pipe()
        self._thread = threading.Thread(target=self._run, name="headset button", daemon=True)
        if self._open:
            self._thread.start()

    def close(self) -> None:
        os.write(self._woken, b".")
        if self._open:
            self._thread.join()
        for one in (*self._open, self._wake, self._woken):
            os.close(one)
        self._open.clear()

    def _run(self) -> None:
        watched = set(self._open)
        while True:
            ready, _, _ = select.select([self._wake, *watched], [], [])
            if self._wake in ready:
                return
            for one in ready:
                presses = _presses(one)
                if presses is None:
                    watched.discard(one)  # unplugged: the voice is still there
                elif presses:
                    self._pressed()  # however many at once: it is one press of a finger


def buttons(system: Path = _SYSTEM) -> Iterator[str]:
    """The names (event3) of devices that have one of the keys and are no keyboard."""
    for folder in sorted(system.glob("event*")):
        keys = _keys_of(folder / "device" / "capabilities" / "key")
        if keys & set(KEYS.values()) and _KEYBOARD not in keys:
            yield folder.name


def _keys_of(file: Path) -> set[int]:
    """The kernel's bitmap: words of hexadecimal digits, the highest first."""
    try:
        words = file.read_text(encoding="ascii").split()
    except (OSError, UnicodeDecodeError):
        return set()
    found: set[int] = set()
    for place, word in enumerate(reversed(words)):
        with contextlib.suppress(ValueError):
            bits = int(word, 16)
            found |= {place * _WORD_BITS + n for n in range(_WORD_BITS) if bits >> n & 1}
    return found


def _presses(device: int) -> int | None:
    """How many of our keys went down; None when the device has gone."""
    try:
        content = os.read(device, 64 * _EVENT.size)
    except BlockingIOError:
        return 0
    except OSError:
        return None
    if not content:
        return None
    whole = content[: len(content) // _EVENT.size * _EVENT.size]
    presses = [
        kind == _KEY and value == _PRESSED and code in KEYS.values()
        for _, _, kind, code, value in _EVENT.iter_unpack(whole)
    ]
    return presses.count(True)
