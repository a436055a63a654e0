"""A headset's button: found by its keys, read as the kernel writes it, heard as a word.

The files are as the kernel lays them out (Documentation/input/input.rst, event-codes.rst); a
named pipe stands for the device.
"""

from __future__ import annotations

import os
import queue
import re
import struct
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from walkaround.devices.headset_button import KEYS, NOT_READABLE, HeadsetButton, buttons
from walkaround.devices.stage_live import pressed
from walkaround.exchange import AskKind, Question

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="the kernel's own files")
HEADER = Path("/usr/include/linux/input-event-codes.h")
EVENT = struct.Struct("llHHi")


def device(folder: Path, name: str, *codes: int) -> None:
    """The kernel's bitmap of keys: 64-bit words, the highest first."""
    bits = sum(1 << code for code in codes)
    words = [f"{bits >> 64 * place & (1 << 64) - 1:x}" for place in reversed(range(12))]
    file = folder / "sys" / name / "device" / "capabilities" / "key"
    file.parent.mkdir(parents=True)
    file.write_text(" ".join(words) + "\n")
    (folder / "dev").mkdir(exist_ok=True)
    os.mkfifo(folder / "dev" / name)


class Headset:
    def __init__(self, folder: Path) -> None:
        device(folder, "event7", KEYS["KEY_PHONE"], KEYS["KEY_PLAYPAUSE"])
        self.presses: queue.Queue[bool] = queue.Queue()
        self.button = HeadsetButton(lambda: self.presses.put(True), folder / "sys", folder / "dev")
        self._pipe = os.open(folder / "dev" / "event7", os.O_WRONLY)

    def key(self, code: int, *values: int) -> None:
        os.write(self._pipe, b"".join(EVENT.pack(1, 2, 1, code, value) for value in values))

    def unplug(self) -> None:
        os.close(self._pipe)


@pytest.fixture
def headset(tmp_path: Path) -> Iterator[Headset]:
    headset = Headset(tmp_path)
    yield headset
    headset.button.close()


def test_a_press_is_told_once(headset: Headset) -> None:
    headset.key(KEYS["KEY_PHONE"], 1, 2, 2, 0)
    assert headset.presses.get(timeout=10)
    headset.key(KEYS["KEY_PLAYPAUSE"], 1)
    assert headset.presses.get(timeout=10)
    assert headset.presses.empty()


def test_other_keys_and_letting_go_are_nothing(headset: Headset) -> None:
    headset.key(115, 1)  # louder
    headset.key(KEYS["KEY_PHONE"], 0)
    headset.key(KEYS["KEY_PHONE"], 1)
    assert headset.presses.get(timeout=10)
    assert headset.presses.empty()


def test_a_headset_that_is_unplugged_ends_nothing(headset: Headset) -> None:
    headset.key(KEYS["KEY_PHONE"], 1)
    assert headset.presses.get(timeout=10)
    headset.unplug()


def test_a_keyboard_is_no_headset(tmp_path: Path) -> None:
    device(tmp_path, "event0", 30, 48, KEYS["KEY_PLAYPAUSE"])
    device(tmp_path, "event1", 115, 114)
    device(tmp_path, "event2", KEYS["KEY_PLAYCD"], KEYS["KEY_PAUSECD"])
    assert list(buttons(tmp_path / "sys")) == ["event2"]


def test_one_that_may_not_be_read_is_told_with_a_way_on(tmp_path: Path) -> None:
    device(tmp_path, "event2", KEYS["KEY_PHONE"])
    (tmp_path / "dev" / "event2").unlink()
    button = HeadsetButton(lambda: None, tmp_path / "sys", tmp_path / "dev")
    assert button.unreadable == NOT_READABLE
    button.close()


def test_where_there_is_none_nothing_is_told(tmp_path: Path) -> None:
    button = HeadsetButton(lambda: None, tmp_path, tmp_path)
    assert button.unreadable == ""
    button.close()


@pytest.mark.skipif(not HEADER.exists(), reason="no kernel headers (linux-libc-dev)")
def test_the_codes_are_the_kernels() -> None:
    """uapi/linux/input-event-codes.h."""
    defined = dict(re.findall(r"#define (KEY_\w+)\s+(0x[0-9a-f]+|\d+)", HEADER.read_text()))
    assert {name: int(defined[name], 0) for name in KEYS} == KEYS


@pytest.mark.parametrize(
    ("question", "word"),
    [
        (Question("leak.settled", AskKind.NUMBER), "wait"),
        (Question("commands", AskKind.COMMAND, armed=True), "wait"),
        (Question("commands", AskKind.COMMAND), "continue"),
    ],
)
def test_the_word_depends_on_whether_the_walk_stands_still(question: Question, word: str) -> None:
    heard = pressed(question, 500)
    assert heard is not None
    assert (heard.text, heard.typed, heard.question) == (word, True, question.id)


def test_before_the_first_question_it_says_nothing() -> None:
    assert pressed(None, 500) is None
