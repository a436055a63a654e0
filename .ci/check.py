"""Every check of the project, one after the other; run by `python3 tests` inside .venv.

What is given on the command line goes to pytest: `python3 tests --slow`, `python3 tests -k ear`.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BIN = Path(sys.executable).parent
FETCH = (
    "from walkaround.devices.model import ensure_model; "
    "print('the speech model is in', ensure_model(progress=print))"
)


def checks(pytest_options: Sequence[str]) -> list[tuple[str, list[str]]]:
    """Name and command of each check; pytest last, so that its count closes the output."""
    module = [sys.executable, "-m"]
    return [
        ("ruff check", [*module, "ruff", "check", "."]),
        ("ruff format", [*module, "ruff", "format", "--check", "."]),
        ("mypy", [*module, "mypy"]),
        ("lint-imports", [str(BIN / "lint-imports"), "--no-cache"]),
        ("pytest", [*module, "pytest", *pytest_options]),
    ]


def fetch_model() -> None:
    """So that the tests of the ear run; without it they are skipped and say so."""
    if subprocess.run([sys.executable, "-P", "-c", FETCH], cwd=ROOT, check=False).returncode != 0:
        print("THE SPEECH MODEL IS MISSING (see above): tests of the ear will be skipped.")


def main() -> int:
    fetch_model()
    failed = []
    for name, command in checks(sys.argv[1:]):
        print(f"\n== {name}", flush=True)
        began = time.monotonic()
        if subprocess.run(command, cwd=ROOT, check=False).returncode != 0:
            failed.append(name)
        print(f"== {name}: {time.monotonic() - began:.0f} s", flush=True)
    if failed:
        print("failed:", ", ".join(failed), flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
