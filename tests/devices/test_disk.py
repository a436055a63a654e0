"""Appends, locks, finished files: on a real file system, and a full one where Linux has it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from walkaround.devices.disk import (
    JOURNAL_NAME,
    FolderLock,
    JournalFile,
    keep_copy,
    make_folder,
    read_copy,
    unfinished_walks,
    walks_in,
    write_finished,
)
from walkaround.errors import DiskError, InUseError

FULL = Path("/dev/full")


def test_each_append_is_on_disk_when_it_returns(tmp_path: Path) -> None:
    journal = JournalFile(tmp_path / JOURNAL_NAME)
    journal.append(b'{"n":1}\n')
    journal.append(b'{"n":2}\n')
    assert (tmp_path / JOURNAL_NAME).read_bytes() == b'{"n":1}\n{"n":2}\n'
    journal.close()
    again = JournalFile(tmp_path / JOURNAL_NAME)
    again.append(b'{"n":3}\n')
    assert again.read() == b'{"n":1}\n{"n":2}\n{"n":3}\n'
    again.close()


def test_a_torn_tail_can_be_cut_off(tmp_path: Path) -> None:
    path = tmp_path / JOURNAL_NAME
    path.write_bytes(b'{"n":1}\n{"n":')
    journal = JournalFile(path)
    journal.cut_to(8)
    journal.append(b'{"n":2}\n')
    assert journal.read() == b'{"n":1}\n{"n":2}\n'
    journal.close()


@pytest.mark.parametrize("entry", [b"", b"no newline", b"one\n\ntwo\n"])
def test_only_whole_lines_are_written(tmp_path: Path, entry: bytes) -> None:
    journal = JournalFile(tmp_path / JOURNAL_NAME)
    with pytest.raises(ValueError, match="whole lines"):
        journal.append(entry)
    journal.close()


@pytest.mark.skipif(not FULL.exists(), reason="this system has no /dev/full")
def test_a_full_disk_is_said_plainly() -> None:
    journal = JournalFile(FULL)
    with pytest.raises(DiskError, match="the disk is full; make room"):
        journal.append(b'{"n":1}\n')
    journal.close()


_CUT_WRITE = """
import resource, signal, sys
from pathlib import Path
from walkaround.devices.disk import JournalFile
from walkaround.errors import DiskError
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
journal = JournalFile(Path(sys.argv[1]))
journal.append(b"a" * 99 + b"\\n")
resource.setrlimit(resource.RLIMIT_FSIZE, (150, 150))
try:
    journal.append(b"b" * 99 + b"\\n")
except DiskError as bad:
    print(bad)
"""


@pytest.mark.skipif(os.name != "posix", reason="needs a limit on file size")
def test_half_a_line_is_cut_off_again(tmp_path: Path) -> None:
    path = tmp_path / JOURNAL_NAME
    child = subprocess.run(
        [sys.executable, "-c", _CUT_WRITE, str(path)],
        capture_output=True,
        text=True,
        check=True,
        timeout=30,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
    )
    assert "grew past" in child.stdout
    assert path.read_bytes() == b"a" * 99 + b"\n"


def test_one_walk_at_a_time_in_a_folder(tmp_path: Path) -> None:
    with FolderLock(tmp_path), pytest.raises(InUseError, match="another walk"):
        FolderLock(tmp_path)
    FolderLock(tmp_path).release()


def test_a_killed_walk_frees_its_folder(tmp_path: Path) -> None:
    code = (
        "import os, sys; from pathlib import Path; from walkaround.devices.disk import FolderLock;"
        "FolderLock(Path(sys.argv[1])); os.kill(os.getpid(), 9)"
    )
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    subprocess.run([sys.executable, "-c", code, str(tmp_path)], check=False, timeout=30, env=env)
    FolderLock(tmp_path).release()


def test_a_finished_file_is_whole_or_the_old_one(tmp_path: Path) -> None:
    path = tmp_path / "record.jws"
    write_finished(path, b"one")
    write_finished(path, b"two")
    assert path.read_bytes() == b"two"
    assert [at.name for at in tmp_path.iterdir()] == ["record.jws"]


def test_a_missing_folder_is_a_plain_error(tmp_path: Path) -> None:
    with pytest.raises(DiskError, match="the folder is gone"):
        write_finished(tmp_path / "absent" / "record.jws", b"one")
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(DiskError, match="a file stands where a folder is needed"):
        make_folder(tmp_path / "file" / "walks")


def test_copies_are_named_by_their_hash_and_checked(tmp_path: Path) -> None:
    sha256 = keep_copy(tmp_path / "copies", b"a script")
    assert keep_copy(tmp_path / "copies", b"a script") == sha256
    assert read_copy(tmp_path / "copies", sha256) == b"a script"
    (tmp_path / "copies" / sha256).chmod(0o600)
    (tmp_path / "copies" / sha256).write_bytes(b"another")
    with pytest.raises(DiskError, match="was changed"):
        read_copy(tmp_path / "copies", sha256)


def test_unfinished_walks_come_latest_first(tmp_path: Path) -> None:
    for at, name in enumerate(["a", "b", "c"]):
        make_folder(tmp_path / name)
        (tmp_path / name / JOURNAL_NAME).write_bytes(b"{}\n")
        os.utime(tmp_path / name / JOURNAL_NAME, ns=(at, at))
    make_folder(tmp_path / "not-a-walk")
    (tmp_path / "b" / "record.jws").write_bytes(b"")
    assert [at.name for at in walks_in(tmp_path)] == ["c", "b", "a"]
    assert [at.name for at in unfinished_walks(tmp_path, "record.jws")] == ["c", "a"]
    assert walks_in(tmp_path / "absent") == ()
