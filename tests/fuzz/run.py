"""The long run: `python -m tests.fuzz.run [TARGET ...] [--seconds N] [--keep FOLDER]`.

Atheris changes the inputs, led by which lines of the program they reach (libFuzzer).  Each
target runs in a process of its own.  An input that breaks its law is written to
`tests/fuzz/found/TARGET/`, where the short run will try it from then on.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path

FOUND = Path(__file__).parent / "found"


def child(name: str, seconds: int, corpus: Path) -> None:
    """Fuzz one target in this process; never returns."""
    import atheris  # noqa: PLC0415  for this process only

    with atheris.instrument_imports(include=["walkaround"]):
        from tests.fuzz.targets import TARGETS  # noqa: PLC0415

    target = TARGETS[name]
    for number, content in enumerate(target.seeds()):
        (corpus / f"seed-{number:04}").write_bytes(content)
    found = FOUND / name
    found.mkdir(parents=True, exist_ok=True)
    options = [
        f"-max_total_time={seconds}",
        f"-max_len={target.largest}",
        f"-artifact_prefix={found}/",
        "-timeout=10",
        "-rss_limit_mb=2000",
        "-print_final_stats=1",
        "-verbosity=0",
    ]
    atheris.Setup([sys.argv[0], *options, str(corpus)], target.law)
    atheris.Fuzz()


def run(name: str, seconds: int, keep: Path | None) -> bool:
    """Fuzz one target in a child; prints how many inputs were tried. Whether nothing broke."""
    with tempfile.TemporaryDirectory() as scratch:
        corpus = keep / name if keep else Path(scratch)
        corpus.mkdir(parents=True, exist_ok=True)
        command = [sys.executable, "-m", "tests.fuzz.run", name, "--child", str(corpus)]
        began = time.monotonic()
        done = subprocess.run(
            [*command, "--seconds", str(seconds)], check=False, text=True, capture_output=True
        )
        took = time.monotonic() - began
        said = done.stdout + done.stderr
        units = (line.split()[-1] for line in said.splitlines() if "executed_units" in line)
        how = "nothing found" if done.returncode == 0 else f"FOUND, exit code {done.returncode}"
        kept = len(list(corpus.iterdir()))
        print(f"{name:9} {next(units, '?'):>8} inputs in {took:4.0f} s, {kept} kept: {how}")
        if done.returncode != 0:
            print(said[-3000:])
        return done.returncode == 0


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("targets", nargs="*")
    parser.add_argument("--seconds", type=int, default=1800, help="for each target")
    parser.add_argument("--keep", type=Path, help="keep and reuse the inputs that reach new lines")
    parser.add_argument("--child", type=Path, help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.child:
        child(arguments.targets[0], arguments.seconds, arguments.child)
    from tests.fuzz.targets import TARGETS  # noqa: PLC0415  after the child's own import

    quiet = [run(name, arguments.seconds, arguments.keep) for name in arguments.targets or TARGETS]
    return 0 if all(quiet) else 1


if __name__ == "__main__":
    sys.exit(main())
