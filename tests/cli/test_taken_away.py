"""A walk's folder that is deleted, cut or moved while walking: what is said of it is true."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.home import MOST_S, Home
from walkaround.devices.disk import JournalFile
from walkaround.errors import DiskError

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="an open file stays there")


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home(tmp_path)


def _walk_while(home: Home, happens: Callable[[Path], object]) -> tuple[int, str]:
    """Exit code and complaint of a typed walk to whose folder this happens after an answer."""
    process = home.walking()
    home.written(lines=4)
    happens(home.only_walk())
    _, told = process.communicate("stop\n", timeout=MOST_S)
    assert "Traceback" not in told
    assert "The walk itself is kept" not in told
    return process.returncode, told


def test_a_deleted_folder_is_told(home: Home) -> None:
    code, told = _walk_while(home, shutil.rmtree)
    assert code == DiskError.exit_code
    assert "what was heard is NOT kept" in told


def test_a_journal_cut_while_walking_is_told(home: Home) -> None:
    def cut(folder: Path) -> None:
        content = (folder / "journal.jsonl").read_bytes()
        (folder / "journal.jsonl").open("r+b").truncate(content.index(b"\n") + 1)

    code, told = _walk_while(home, cut)
    assert code == DiskError.exit_code
    assert "was changed by something else while it was written" in told


def test_a_moved_folder_is_told_with_the_way_on(home: Home) -> None:
    moved = home.folder / "moved"
    code, told = _walk_while(home, lambda folder: folder.rename(moved))
    assert code == DiskError.exit_code
    assert "if it was moved, make the record with 'keys --sign' and its new place" in told
    assert home.run("keys", "--sign", moved).returncode == 0
    assert home.run("verify", moved).returncode == 0


def test_a_file_knows_whether_it_is_still_there(tmp_path: Path) -> None:
    path = tmp_path / "journal.jsonl"
    journal = JournalFile(path)
    journal.append(b"one\n")
    assert journal.is_there()
    path.rename(tmp_path / "aside")
    assert not journal.is_there()
    path.write_bytes(b"one\n")  # another file in its place
    assert not journal.is_there()
    journal.append(b"two\n")  # it was only moved: nothing is lost
    (tmp_path / "aside").unlink()
    with pytest.raises(DiskError, match="was deleted while it was written"):
        journal.append(b"three\n")
    journal.close()
