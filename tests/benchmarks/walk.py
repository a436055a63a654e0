"""A whole demo walk: seconds of the clock on the wall, of the processor, and simulated minutes.

    python tests/benchmarks/walk.py [--script NAME ...] [--json FILE]

Cold is with an empty voice cache, warm with the cache that the cold run left.  The peer, in
the same run, is the same walk with sound left out (`--by-text`): the difference is what
speaking and hearing cost.  Limits to hold: warm under 90 s on two cores; 15 and 30
simulated minutes with the short wording.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
_SCRIPTS = ("straight-truck", "tractor-trailer", "bus")
_TOOK = re.compile(r"took (\d+):(\d+) in this sitting")


def run(home: Path, script: str, *more: str) -> dict[str, float]:
    """One demo; seconds, processor seconds and simulated minutes."""
    environment = {**os.environ, "XDG_CACHE_HOME": str(home / "cache"), "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "walkaround.cli", "demo", "--quiet", "--wording", "short"]
    options = ["--script", script, "--place", "US", "--records", str(home / "walks"), *more]
    before, began = _processor_s(), time.monotonic()
    done = subprocess.run(
        [*command, *options], env=environment, capture_output=True, text=True, check=False
    )
    seconds = time.monotonic() - began
    took = _TOOK.search(done.stdout)
    if done.returncode != 0 or took is None:
        sys.exit(f"the demo of {script} failed: {done.stderr.strip() or done.stdout[-300:]}")
    simulated = int(took[1]) + int(took[2]) / 60
    return {"wall": seconds, "processor": _processor_s() - before, "simulated": simulated}


def _processor_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def main(argv: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--script", action="append")
    parser.add_argument("--json", type=Path)
    arguments = parser.parse_args(argv)
    rows: dict[str, dict[str, dict[str, float]]] = {}
    print(f"{'script':16} {'':8} {'wall s':>8} {'cpu s':>8} {'simulated min':>14}")
    for script in arguments.script or _SCRIPTS:
        with tempfile.TemporaryDirectory() as folder:
            ways = (("cold", ()), ("warm", ()), ("by text", ("--by-text",)))
            rows[script] = {name: run(Path(folder), script, *more) for name, more in ways}
        for name, row in rows[script].items():
            print(
                f"{script:16} {name:8} {row['wall']:8.1f} {row['processor']:8.1f}"
                f" {row['simulated']:14.1f}",
                flush=True,
            )
    largest = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024
    print(f"largest single process: {largest} MB resident")
    if arguments.json:
        arguments.json.write_text(json.dumps({"walks": rows, "largest_mb": largest}, indent=1))


if __name__ == "__main__":
    main()
