"""Reading and replacing: plain files only, so that no pipe and no device is waited for."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from walkaround.devices.disk import write_finished
from walkaround.devices.regular import (
    NotPlainError,
    TooLargeError,
    must_be_plain,
    read_regular,
)
from walkaround.errors import DiskError

ROOT = Path(__file__).resolve().parents[2]
OTHERS = ("devices/model/", "devices/clock.py", "devices/power.py", "devices/headset_button.py")
"""Verified models by their own hash, and files of the system's own."""
ENDLESS = Path("/dev/zero")
pytestmark = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with a name: POSIX")


def test_no_other_way_is_taken_to_read_a_file() -> None:
    for room in ("cli", "devices"):
        for file in (ROOT / "walkaround" / room).rglob("*.py"):
            if not file.relative_to(ROOT / "walkaround").as_posix().startswith(OTHERS):
                text = file.read_text(encoding="utf-8")
                assert not re.search(r"\.read_(bytes|text)\(|\.open\(\"r", text), file


@pytest.fixture
def pipe(tmp_path: Path) -> Path:
    os.mkfifo(tmp_path / "pipe")
    return tmp_path / "pipe"


def test_a_plain_file_is_read_whole_and_a_link_to_one_too(tmp_path: Path) -> None:
    (tmp_path / "plain").write_bytes(b"x" * 70_000)
    (tmp_path / "link").symlink_to("plain")
    for name in ("plain", "link"):
        assert read_regular(tmp_path / name, 70_000) == b"x" * 70_000


def test_what_is_no_plain_file_is_refused_at_once(tmp_path: Path, pipe: Path) -> None:
    (tmp_path / "link").symlink_to(pipe)
    for odd in (pipe, tmp_path / "link", tmp_path):
        with pytest.raises(NotPlainError):
            read_regular(odd, 100)
        with pytest.raises(NotPlainError):
            must_be_plain(odd)
    with pytest.raises(FileNotFoundError):
        read_regular(tmp_path / "nothing", 100)


@pytest.mark.skipif(not ENDLESS.exists(), reason="this system has no /dev/zero")
def test_an_endless_device_is_refused_at_once(tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(ENDLESS)
    with pytest.raises(NotPlainError):
        read_regular(tmp_path / "link", 100)


def test_a_huge_file_is_refused_by_its_size_alone(tmp_path: Path) -> None:
    with (tmp_path / "huge").open("wb") as file:
        file.truncate(10_000_000_000)  # a hole: nothing is written
    with pytest.raises(TooLargeError):
        read_regular(tmp_path / "huge", 1_000_000)


def test_a_file_of_proc_with_no_size_is_read_up_to_the_limit() -> None:
    endless = Path("/proc/self/maps")
    if not endless.exists():
        pytest.skip("this system has no /proc")
    with pytest.raises(TooLargeError):
        read_regular(endless, 10)
    assert read_regular(endless, 10_000_000)


def test_nothing_but_a_plain_file_is_replaced(tmp_path: Path, pipe: Path) -> None:
    (tmp_path / "plain").write_bytes(b"before")
    (tmp_path / "link").symlink_to("plain")
    (tmp_path / "dangling").symlink_to("nowhere")
    for odd in (pipe, tmp_path / "link", tmp_path / "dangling"):
        with pytest.raises(DiskError, match=f"cannot write {odd}: "):
            write_finished(odd, b"after")
    assert pipe.is_fifo()
    assert (tmp_path / "link").is_symlink() and (tmp_path / "dangling").is_symlink()
    assert (tmp_path / "plain").read_bytes() == b"before"
    write_finished(tmp_path / "plain", b"after")
    assert (tmp_path / "plain").read_bytes() == b"after"
