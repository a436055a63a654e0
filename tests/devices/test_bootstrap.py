"""The two bootstraps: small, standard library only, and no module of the package at the top."""

from __future__ import annotations

import ast
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from walkaround.cli.damage import told_of

ROOT = Path(__file__).resolve().parents[2]
FILES = [ROOT / "walkaround" / "__main__.py", ROOT / "tests" / "__main__.py"]
SHARED = ROOT / ".ci" / "bootstrap.py"


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.parent.name)
def test_a_bootstrap_is_at_most_sixty_lines(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 60


@pytest.mark.parametrize("path", [*FILES, SHARED], ids=lambda path: path.parent.name)
def test_a_bootstrap_imports_the_standard_library_only(path: Path) -> None:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names.add((node.module or "").partition(".")[0])
    assert names <= sys.stdlib_module_names


def test_locks_have_hashes_and_no_address() -> None:
    run, dev = (
        (ROOT / ".ci" / name).read_text(encoding="utf-8")
        for name in ("requirements.lock", "requirements-dev.lock")
    )
    for lock in (run, dev):
        assert "://" not in lock
        pinned = [line for line in lock.splitlines() if "==" in line.partition(";")[0]]
        assert pinned
        assert all(line.endswith("\\") for line in pinned)
    pins = {line for line in run.splitlines() if "==" in line.partition(";")[0]}
    assert pins <= set(dev.splitlines())


def _checkout(folder: Path) -> Path:
    """A checkout whose environment is marked as made, by the bootstrap's own names."""
    for name in ("walkaround/__main__.py", "tests/__main__.py", ".ci/bootstrap.py"):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes((ROOT / name).read_bytes())
    (folder / "walkaround" / "errors.py").write_text("", encoding="utf-8")
    for name in ("requirements.lock", "requirements-dev.lock"):
        (folder / ".ci" / name).write_text("", encoding="utf-8")
    return folder


_MAKE = """
import importlib.util, sys
spec = importlib.util.spec_from_file_location("bootstrap", sys.argv[1])
module = importlib.util.module_from_spec(spec)
spec.loader.exec_module(module)
for name in ("requirements.lock", "requirements-dev.lock"):
    lock = module.ROOT / ".ci" / name
    module.PYTHON.parent.mkdir(parents=True, exist_ok=True)
    module.PYTHON.write_text(sys.argv[2])
    module.PYTHON.chmod(0o755)
    module._mark(lock).touch()
    print(module._done(lock))
"""


_SAYS_HOW_IT_WAS_CALLED = """#!/bin/sh
printf '%s\\n' "$PYTHONPATH" "$@"
"""


def _python(*words: str, **environment: str) -> list[str]:
    """The lines that this Python prints, run apart from the test's own path."""
    kept = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    ran = subprocess.run(
        [sys.executable, *words],
        capture_output=True,
        text=True,
        env={**kept, **environment},
        check=False,
        timeout=60,
    )
    assert ran.returncode == 0, ran.stderr
    return ran.stdout.splitlines()


def _made(folder: Path) -> tuple[Path, str]:
    root = _checkout(folder)
    bootstrap = str(root / ".ci" / "bootstrap.py")
    assert _python("-c", _MAKE, bootstrap, _SAYS_HOW_IT_WAS_CALLED) == ["True", "True"]
    return root, bootstrap


@pytest.mark.skipif(os.name != "posix", reason="the stand-in for Python is a shell script")
def test_run_as_a_folder_it_becomes_the_real_command_at_once(tmp_path: Path) -> None:
    root, _ = _made(tmp_path / "checkout")
    called = _python(str(root / "walkaround"), "demo", "--seed", "two words")
    assert called == [str(root), "-P", "-m", "walkaround.cli", "demo", "--seed", "two words"]
    called = _python(str(root / "tests"), "-k", "ear", PYTHONPATH="/own")
    assert called == [f"{root}:/own", "-P", str(root / ".ci" / "check.py"), "-k", "ear"]


def test_a_mark_counts_only_for_its_lock_and_after_a_whole_install(tmp_path: Path) -> None:
    root, bootstrap = _made(tmp_path / "checkout")
    ask = _MAKE.partition("    module.PYTHON.parent")[0] + "    print(module._done(lock))\n"
    (root / ".ci" / "requirements.lock").write_text("changed", encoding="utf-8")
    assert _python("-c", ask, bootstrap) == ["False", "True"]
    (root / ".venv" / "unfinished").touch()
    assert _python("-c", ask, bootstrap) == ["False", "False"]


def test_a_python_that_has_gone_makes_the_mark_worthless(tmp_path: Path) -> None:
    root, bootstrap = _made(tmp_path / "checkout")
    ask = _MAKE.partition("    module.PYTHON.parent")[0] + "    print(module._done(lock))\n"
    python = next(at for at in (root / ".venv").rglob("python*") if at.is_file())
    python.unlink()
    python.symlink_to("/nowhere/python3")
    assert _python("-c", ask, bootstrap) == ["False", "False"]


posix = pytest.mark.skipif(os.name != "posix", reason="shells and signals")


@posix
@pytest.mark.parametrize("closed", [">&-", "<&- >&-", "> /dev/full"])
def test_without_a_place_to_print_it_still_becomes_the_command(tmp_path: Path, closed: str) -> None:
    root, _ = _made(tmp_path / "checkout")
    python = next(at for at in (root / ".venv").rglob("python*") if at.is_file())
    python.write_text("#!/bin/sh\nexit 7\n", encoding="utf-8")
    done = subprocess.run(
        ["sh", "-c", f'"$@" {closed}', "sh", sys.executable, str(root / "walkaround"), "rules"],
        capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (7, "")


@posix
def test_what_is_broken_is_made_anew_by_the_next_start(tmp_path: Path) -> None:
    """The command finds a package broken and says so; the bootstrap sees the mark it left."""
    root, bootstrap = _made(tmp_path / "checkout")
    told = told_of(ImportError("No module named 'yaml'"), root / ".venv")
    assert "No module named 'yaml'" in told
    assert "it will be made anew" in told
    ask = _MAKE.partition("    module.PYTHON.parent")[0] + "    print(module._done(lock))\n"
    assert _python("-c", ask, bootstrap) == ["False", "False"]
    assert "install this program again" in told_of(ImportError("x"), tmp_path)


@posix
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_told_to_end_while_it_installs_it_takes_pip_along(
    tmp_path: Path, number: signal.Signals
) -> None:
    root, _ = _made(tmp_path / "checkout")
    (root / ".ci" / "requirements-dev.lock").write_text("changed", encoding="utf-8")
    python = next(at for at in (root / ".venv").rglob("python*") if at.is_file())
    pid = root / "pid"
    python.write_text(f"#!/bin/sh\necho $$ > {pid}\nexec sleep 60\n", encoding="utf-8")
    process = subprocess.Popen(
        [sys.executable, str(root / "tests")], stderr=subprocess.PIPE, text=True
    )
    until = time.monotonic() + 30
    while not (pid.exists() and pid.read_text()) and time.monotonic() < until:
        time.sleep(0.05)
    process.send_signal(number)
    _, errors = process.communicate(timeout=30)
    assert process.returncode == 128 + number
    assert "Traceback" not in errors
    with pytest.raises(ProcessLookupError):
        os.kill(int(pid.read_text()), 0)


def test_the_tests_help_runs_no_check() -> None:
    for asked in ("--help", "-h"):
        done = subprocess.run(
            [sys.executable, "tests", asked], cwd=ROOT, capture_output=True, text=True,
            check=False, timeout=30,
        )  # fmt: skip
        assert done.returncode == 0
        assert done.stdout.startswith("usage: python3 tests")
        assert "== ruff" not in done.stdout
