"""Whole walks on a real disk that fails: full, read-only, sync failing, killed at a sync.

The faults are the kernel's own: a small file system in a name space of the test's own
(`unshare`), and system calls that `strace` answers with an error or a kill.  Where one of
the two is missing the test is left out and says so; the same faults on a disk in memory are
in test_power_cut.py and never left out.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from walkaround.errors import DiskError, InUseError, NothingToResumeError
from walkaround.records.journal import Ended, EntryKind, closing_of, read_journal

ROOT = Path(__file__).resolve().parents[2]
_MOST_S = 120
_DEMO = ("demo", "--by-text", "--quiet", "--place", "CA-ON", "--wording", "short")


def _works(*command: str) -> bool:
    if shutil.which(command[0]) is None:
        return False
    done = subprocess.run(command, capture_output=True, check=False, timeout=20)
    return done.returncode == 0


SMALL_DISKS = sys.platform == "linux" and _works(
    "unshare", "-rm", "mount", "-t", "tmpfs", "x", "/mnt"
)
FAULTY_CALLS = sys.platform == "linux" and _works("strace", "-qq", "-o", os.devnull, "true")
small_disks = pytest.mark.skipif(
    not SMALL_DISKS, reason="no name space with a mount of its own here"
)
faulty_calls = pytest.mark.skipif(not FAULTY_CALLS, reason="strace is not here or may not trace")


class Yard:
    """A home of its own for the commands, and where their records go."""

    def __init__(self, home: Path) -> None:
        self.home, self.records = home, home / "walks"
        folders = {f"XDG_{n}_HOME": str(home / n.lower()) for n in ("CONFIG", "DATA", "CACHE")}
        self.environment = {**os.environ, **folders, "PYTHONPATH": str(ROOT)}

    def command(self, *arguments: str) -> list[str]:
        return [sys.executable, "-m", "walkaround.cli", *arguments]

    def run(self, *arguments: str, before: Sequence[str] = ()) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [*before, *self.command(*arguments)],
            env=self.environment, capture_output=True, text=True, check=False, timeout=_MOST_S,
        )  # fmt: skip

    def demo(self, *more: str, before: Sequence[str] = ()) -> subprocess.CompletedProcess[str]:
        return self.run(*_DEMO, "--records", str(self.records), *more, before=before)

    def journal(self) -> bytes:
        return next(self.records.glob("*/journal.jsonl")).read_bytes()

    def must_be_whole(self) -> None:
        """The one walk here is complete, its record verifies, its journal replays."""
        reading = read_journal(self.journal())
        assert not reading.torn_tail
        assert closing_of(reading.entries[-1]).how is Ended.COMPLETE
        done = self.run("verify", *map(str, self.records.glob("*/record.jws")))
        assert done.returncode == 0, done.stdout


@pytest.fixture
def yard(tmp_path: Path) -> Yard:
    return Yard(tmp_path)


# ---------------------------------------------------------------- a small disk

_ON_A_SMALL_DISK = """
mkdir -p "$DISK" && mount -t tmpfs -o size="$SIZE" tmpfs "$DISK" || exit 99
"$@"; first=$?
cp -a "$DISK" "$KEPT"
mount -o remount,"$THEN" "$DISK" || exit 99
"$@" --resume; second=$?
cp -a "$DISK"/. "$KEPT-after"
echo "codes $first $second"
"""


def _on_a_small_disk(yard: Yard, size: str, then: str) -> tuple[list[int], str, Path, Path]:
    """Exit codes before and after, what was printed, the disk as it was then and at the end."""
    disk, kept = yard.home / "disk", yard.home / "kept"
    (yard.home / "kept-after").mkdir()
    environment = {**yard.environment, "DISK": str(disk), "SIZE": size, "THEN": then}
    environment["KEPT"] = str(kept)
    command = yard.command(*_DEMO, "--records", str(disk))
    done = subprocess.run(
        ["unshare", "-rm", "bash", "-c", _ON_A_SMALL_DISK, "bash", *command],
        env=environment, capture_output=True, text=True, check=False, timeout=_MOST_S,
    )  # fmt: skip
    codes = [int(code) for code in done.stdout.rsplit("codes ", 1)[1].split()]
    return codes, done.stderr, kept, yard.home / "kept-after"


def _kb(*paths: Path) -> int:
    """What files take on a disk of pages of 4 kB."""
    return sum(-(-path.stat().st_size // 4096) * 4 for path in paths)


@pytest.fixture(scope="module")
def copies_kb(tmp_path_factory: pytest.TempPathFactory) -> int:
    """What a walk puts on the disk before anything is heard."""
    yard = Yard(tmp_path_factory.mktemp("sizes"))
    assert yard.demo().returncode == 0
    return _kb(*yard.records.glob("*/sources/*"))


@small_disks
@pytest.mark.parametrize("more_kb", [60, 100])
def test_a_disk_that_fills_up_while_walking(yard: Yard, more_kb: int, copies_kb: int) -> None:
    size = f"{copies_kb + more_kb}k"
    codes, told, before, after = _on_a_small_disk(yard, size, "size=8m")
    assert codes[0] == DiskError.exit_code
    assert "the disk is full; make room, then resume" in told
    heard = next(before.glob("*/journal.jsonl")).read_bytes()
    assert read_journal(heard).entries
    assert codes[1] == 0
    yard.records = after
    assert yard.journal().startswith(heard[: read_journal(heard).whole_bytes])
    yard.must_be_whole()


@small_disks
def test_a_disk_with_no_room_for_a_walk(yard: Yard) -> None:
    codes, told, _, after = _on_a_small_disk(yard, "60k", "size=8m")
    assert codes == [DiskError.exit_code, NothingToResumeError.exit_code]
    assert "make room" in told
    assert not list(after.glob("*/journal.jsonl"))


@small_disks
def test_a_disk_that_can_only_be_read(yard: Yard, copies_kb: int) -> None:
    codes, told, before, after = _on_a_small_disk(yard, f"{copies_kb + 80}k", "ro")
    assert codes == [DiskError.exit_code, DiskError.exit_code]
    assert "the disk can only be read" in told
    journals = [next(at.glob("*/journal.jsonl")).read_bytes() for at in (before, after)]
    assert journals[0] == journals[1]


# ---------------------------------------------------------------- system calls that fail


def _strace(*inject: str) -> tuple[str, ...]:
    return ("strace", "-f", "-qq", "-o", os.devnull, "-e", f"trace={inject[0]}", "-e",
            f"inject={':'.join(inject)}")  # fmt: skip


@pytest.fixture(scope="module")
def syncs(tmp_path_factory: pytest.TempPathFactory) -> int:
    """How many syncs an undisturbed walk makes."""
    home = tmp_path_factory.mktemp("undisturbed")
    trace = home / "trace"
    before = ("strace", "-f", "-qq", "-o", str(trace), "-e", "trace=fsync")
    assert Yard(home).demo(before=before).returncode == 0
    return trace.read_text().count("fsync(")


@faulty_calls
@pytest.mark.parametrize("share", [0.1, 0.7])
def test_a_sync_that_fails_stops_the_walk(yard: Yard, share: float, syncs: int) -> None:
    """After a failed sync nobody knows what is on the disk: nothing more is written."""
    number = int(share * syncs)
    done = yard.demo(before=_strace("fsync", "error=EIO", f"when={number}+"))
    assert done.returncode == DiskError.exit_code
    assert "the disk reports a fault" in done.stderr
    _goes_on(yard)


def _goes_on(yard: Yard) -> None:
    """Taken up again, or begun anew where nothing had been heard yet."""
    if list(yard.records.glob("*/journal.jsonl")):
        heard = read_journal(yard.journal(), after_crash=True)
        kept = yard.journal()[: heard.whole_bytes]
        done = yard.demo("--resume")
        assert done.returncode == 0, done.stderr
        assert yard.journal().startswith(kept)
        yard.must_be_whole()
    else:
        assert yard.demo("--resume").returncode == NothingToResumeError.exit_code


@faulty_calls
@pytest.mark.parametrize("share", [0.3, 0.8])
def test_killed_at_a_sync(yard: Yard, share: float, syncs: int) -> None:
    number = int(share * syncs)
    done = yard.demo(before=_strace("fsync", "signal=KILL", f"when={number}"))
    assert done.returncode != 0
    _goes_on(yard)


@faulty_calls
@pytest.mark.slow
def test_killed_at_many_syncs(tmp_path: Path, syncs: int) -> None:
    """Every seventh sync of a walk; every single write is cut in test_power_cut.py."""
    gone_on = 0
    for number in range(1, syncs + 1, 7):
        yard = Yard(tmp_path / str(number))
        yard.demo(before=_strace("fsync", "signal=KILL", f"when={number}"))
        if not any(b"\n" in at.read_bytes() for at in yard.records.glob("*/journal.jsonl")):
            continue  # nothing was heard yet
        if read_journal(yard.journal(), after_crash=True).entries[-1].kind is EntryKind.CLOSING:
            continue  # the walk was complete; its record is signed later
        _goes_on(yard)
        gone_on += 1
        shutil.rmtree(yard.home)
    assert gone_on > syncs // 14


# ---------------------------------------------------------------- two walks


def test_two_walks_in_one_folder(yard: Yard) -> None:
    """The second is told so and touches nothing; the first goes on."""
    first = subprocess.Popen(
        yard.command("walk", "--typed", "--vehicle", "demo-truck", "--place", "CA-ON",
                     "--records", str(yard.records)),
        env=yard.environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert first.stdin is not None
    assert first.stdout is not None
    for line in first.stdout:
        if line.strip():
            break
    second = yard.run("walk", "--typed", "--resume", str(next(yard.records.iterdir())))
    assert second.returncode == InUseError.exit_code
    assert "another walk is using" in second.stderr
    first.stdin.close()
    first.stdout.read()
    first.wait(timeout=_MOST_S)
    assert read_journal(yard.journal()).entries
