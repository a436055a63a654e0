"""Walking uses no network: every socket is refused, by Python's own hook and by the kernel.

The child has an audit hook (PEP 578) that raises at any socket, so nothing is patched; where the
system allows it, a second run has a name space without any network at all.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
_MOST_S = 300

_DENIED = """
import sys

def refuse(event, arguments):
    if event.startswith("socket.") and event != "socket.gethostname":
        sys.stderr.write(f"NETWORK {event} {arguments!r}\\n")
        raise RuntimeError(f"network refused: {event}")

sys.addaudithook(refuse)
"""
_TRY = (
    _DENIED
    + """
import socket
try:
    socket.socket()
except RuntimeError:
    sys.exit(77)
"""
)
_WALK = (
    _DENIED
    + """
from walkaround.cli import main
sys.exit(main(sys.argv[1:]))
"""
)
_DEMO = ("demo", "--quiet", "--place", "CA-ON", "--wording", "cue")


def _child(
    home: Path, code: str, *arguments: str, before: tuple[str, ...] = ()
) -> subprocess.CompletedProcess[str]:
    folders = {f"XDG_{name}_HOME": str(home / name.lower()) for name in ("CONFIG", "DATA")}
    environment = {**os.environ, **folders, "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [*before, sys.executable, "-c", code, *arguments],
        env=environment, capture_output=True, text=True, check=False, timeout=_MOST_S,
    )  # fmt: skip


def _alone() -> bool:
    """Whether a name space without network can be had here."""
    if sys.platform != "linux" or shutil.which("unshare") is None:
        return False
    command = ["unshare", "-rn", "true"]
    return subprocess.run(command, capture_output=True, check=False, timeout=20).returncode == 0


def test_the_hook_refuses_a_socket(tmp_path: Path) -> None:
    done = _child(tmp_path, _TRY)
    assert done.returncode == 77
    assert "NETWORK socket.__new__" in done.stderr


def test_a_walk_its_record_and_its_verification_open_no_socket(tmp_path: Path) -> None:
    records = tmp_path / "walks"
    walked = _child(tmp_path, _WALK, *_DEMO, "--by-text", "--records", str(records))
    assert (walked.returncode, walked.stderr) == (0, "")
    (record,) = records.glob("*/record.jws")
    checked = _child(tmp_path, _WALK, "verify", str(record))
    assert (checked.returncode, checked.stderr) == (0, "")


@pytest.mark.skipif(not _alone(), reason="no name space without network can be had here")
def test_a_walk_where_there_is_no_network_at_all(tmp_path: Path) -> None:
    code = "import sys; from walkaround.cli import main; sys.exit(main(sys.argv[1:]))"
    records = tmp_path / "walks"
    done = _child(
        tmp_path, code, *_DEMO, "--by-text", "--records", str(records), before=("unshare", "-rn")
    )
    assert done.returncode == 0, done.stderr
    assert list(records.glob("*/record.jws"))


@pytest.mark.slow
@pytest.mark.model
@pytest.mark.voice
@pytest.mark.skipif(not _alone(), reason="no name space without network can be had here")
def test_a_spoken_walk_where_there_is_no_network_at_all(tmp_path: Path) -> None:
    """The recogniser and the voice too: their processes are in the same name space."""
    code = "import sys; from walkaround.cli import main; sys.exit(main(sys.argv[1:]))"
    records = tmp_path / "walks"
    done = _child(tmp_path, code, *_DEMO, "--records", str(records), before=("unshare", "-rn"))
    assert done.returncode == 0, done.stderr
    assert list(records.glob("*/record.jws"))
