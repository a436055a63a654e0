"""Makes the environment of a checkout and becomes the real command. Standard library only.

Loaded by path from `walkaround/__main__.py` and `tests/__main__.py`, before anything is
installed.  The environment is `.venv` in the checkout; a mark named by the lock file's hash
says that an install ended well, so that a second run starts at once, and an interrupted one
is made anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.util
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NoReturn

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
UNFINISHED = VENV / "unfinished"
OLDEST = (3, 11)
DEBIAN_PACKAGE = "python3-venv"
APT = (
    ("apt-get", "update", "-qq"),
    ("apt-get", "install", "-y", "-qq", "--no-install-recommends", DEBIAN_PACKAGE),
)


def become(locks: Sequence[str], command: Sequence[str]) -> NoReturn:
    """Install what the last of `locks` names (it holds the others) and run `command` by it."""
    if sys.version_info < OLDEST:
        raise SystemExit(f"Python {OLDEST[0]}.{OLDEST[1]} or later is needed; this is older.")
    if sys.platform == "darwin":
        raise SystemExit("The recogniser's pinned version has no macOS build; use Linux.")
    files = [ROOT / ".ci" / lock for lock in locks]
    signal.signal(signal.SIGTERM, _leave)
    try:
        if not _done(files[-1]):
            with _alone():
                if not _done(files[-1]):
                    _make(files)
    except KeyboardInterrupt:
        _tell("\ninterrupted while setting up; run it again, it begins anew where it must")
        raise SystemExit(130) from None
    except OSError as bad:
        raise SystemExit(f"cannot set up in {ROOT} ({bad}); mend that, then run it again") from None
    _become([str(PYTHON), "-P", *command])


def _leave(number: int, _frame: object) -> NoReturn:
    """Told to end: by way of every `finally`, so that pip does not go on alone."""
    raise SystemExit(128 + number)


def _become(words: Sequence[str]) -> NoReturn:
    """Become that command. A Ctrl-C is held back until it is able to answer it."""
    paths = (str(ROOT), os.environ.get("PYTHONPATH", ""))
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(path for path in paths if path)}
    if os.name == "nt":  # execve there comes back to the prompt before the command has ended
        raise SystemExit(subprocess.run(words, env=environment, check=False).returncode)
    if words[1:3] == ["-P", "-m"]:
        signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        os.execve(words[0], words, environment)
    except OSError as bad:
        raise SystemExit(
            f"cannot start {words[0]} ({bad.strerror}); remove {VENV}, then run it again"
        ) from None


def _mark(lock: Path) -> Path:
    made_by = f"{sys.version}|{os.path.realpath(sys.base_prefix)}|".encode()
    return VENV / f"installed-{hashlib.sha256(made_by + lock.read_bytes()).hexdigest()[:16]}"


def _done(lock: Path) -> bool:
    return PYTHON.exists() and _mark(lock).exists() and not UNFINISHED.exists()


@contextlib.contextmanager
def _alone() -> Iterator[None]:
    """Two at a time: the second waits for the first. The system frees it after a kill."""
    if importlib.util.find_spec("fcntl") is None:
        yield
        return
    import fcntl  # noqa: PLC0415 - absent on Windows

    with (ROOT / ".venv.lock").open("w") as file:
        os.set_inheritable(file.fileno(), True)  # a pip that outlives us holds the lock, too
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            _tell("another run is setting up; waiting for it")
            fcntl.flock(file, fcntl.LOCK_EX)
        yield


def _make(files: Sequence[Path]) -> None:
    fitting = any(_mark(file).exists() for file in files)
    if UNFINISHED.exists() or not (PYTHON.exists() and fitting):
        _make_venv()
    UNFINISHED.touch()
    _install(files[-1])
    for file in files:
        _mark(file).touch()
    UNFINISHED.unlink()


def _make_venv() -> None:
    if importlib.util.find_spec("ensurepip") is None:
        _install_debian_package()
    _tell("making the environment .venv")
    shutil.rmtree(VENV, ignore_errors=True)
    VENV.mkdir(exist_ok=True)
    UNFINISHED.touch()
    made = subprocess.run([sys.executable, "-m", "venv", str(VENV)], check=False)
    if made.returncode != 0:
        raise SystemExit(f"Python could not make {VENV}; see above, then run this again.")


def _install_debian_package() -> None:
    """As root or by a sudo that asks nothing; else say the line and stop."""
    line = " && ".join("sudo " + " ".join(words) for words in APT)
    if shutil.which("apt-get") is None:
        raise SystemExit("Python's venv module is missing; install your system's package of it.")
    if os.geteuid() == 0:
        before: tuple[str, ...] = ()
    elif shutil.which("sudo") and _runs(("sudo", "-n", "true")):
        before = ("sudo", "-n")
    else:
        raise SystemExit(f"Python's venv module is missing. Run this line, then try again:\n{line}")
    _tell(f"installing the Debian package {DEBIAN_PACKAGE}")
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for words in APT:
        if subprocess.run([*before, *words], env=quiet, stdout=2, check=False).returncode != 0:
            raise SystemExit(f"That failed. Run this line by hand, then try again:\n{line}")


def _install(lock: Path) -> None:
    total = len(_packages(lock))
    _tell(f"installing {total} packages, 75 MB for the program, more for its tests; only this once")
    words = [str(PYTHON), "-m", "pip", "install", "--disable-pip-version-check", "--no-input"]
    words += ["--progress-bar", "off", "--use-pep517", "--require-hashes", "-r", str(lock)]
    done, said = 0, []
    out = subprocess.PIPE
    with _until_left(
        subprocess.Popen(words, stdout=out, stderr=2, text=True, close_fds=False)
    ) as pip:
        for line in pip.stdout or ():
            said.append(line)
            if line.startswith(("Collecting", "Requirement already")):
                done += 1
                _tell(f"  {done} of {total}: {line.split()[1].partition('=')[0]}")
            elif line.startswith("Installing"):
                _tell("  putting them in place")
    if pip.returncode != 0:
        raise SystemExit(
            "".join(said[-20:]) + "\npip could not install everything (see above). "
            "Check the network and the room on the disk, then run this again."
        )


@contextlib.contextmanager
def _until_left(process: subprocess.Popen[str]) -> Iterator[subprocess.Popen[str]]:
    """Nobody else may begin while an interrupted pip still writes."""
    with process:
        try:
            yield process
        except BaseException:
            process.terminate()
            raise


def _packages(lock: Path) -> set[str]:
    """Those that this system gets: a line's marker names the systems that it is for."""
    lines = lock.read_text(encoding="utf-8").splitlines()
    pinned = [line.partition(";") for line in lines if "==" in line.partition(";")[0]]
    return {
        name.partition("==")[0].strip()
        for name, _, marker in pinned
        if "sys_platform" not in marker or f"'{sys.platform}'" in marker
    }


def _runs(words: Sequence[str]) -> bool:
    return subprocess.run(words, capture_output=True, check=False).returncode == 0


def _tell(text: str) -> None:
    with contextlib.suppress(OSError, ValueError):  # a terminal that is gone stops no install
        print(text, file=sys.stderr, flush=True)
