"""Changes the code in small ways and sees whether a test notices: mutation testing.

    python -m tests.mutation.run ROOM FOLDER [--jobs N] [--only FILE ...] [--list]

ROOM is one of the table below; FOLDER, outside the checkout, gets a copy of what is committed,
and keeps what was found so that a second run goes on.  `mutmut` makes the changes and runs
the room's tests against each; this prints the share that was noticed and the rest by name
(`mutmut show NAME`, in the folder, prints the change).  Minutes to an hour on one core.
"""

from __future__ import annotations

import argparse
import io
import os
import subprocess
import sys
import tarfile
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, slots=True)
class Room:
    """The files that are changed and the tests that should notice; `without` are words in the
    names of tests that take long and notice no more than the others."""

    files: tuple[str, ...]
    tests: tuple[str, ...]
    without: tuple[str, ...] = ()


ROOMS: Mapping[str, Room] = {
    "air": Room(
        ("air/*.py",),
        (
            "tests/air",
            "tests/rules/test_rule_situations.py",
            "tests/rules/test_rule_strokes_together.py",
        ),
    ),
    # The test that looks for limits in the source would find mutmut's own numbers.
    "rules": Room(("rules/*.py",), ("tests/rules",), ("stands_in_python",)),
    "numbers": Room(
        ("speech/numbers.py", "speech/cardinals.py", "speech/completeness.py"),
        (
            "tests/speech/test_every_form_of_a_number.py",
            "tests/speech/test_speech_numbers.py",
            "tests/speech/test_turns.py",
            "tests/speech/test_understand.py",
        ),
    ),
    "records": Room(
        (
            "records/base64url.py",
            "records/canonical.py",
            "records/chain.py",
            "records/countersignature.py",
            "records/codec.py",
            "records/journal.py",
            "records/keys.py",
            "records/log.py",
            "records/opening.py",
            "records/packed.py",
            "records/particulars.py",
            "records/position.py",
            "records/report.py",
            "records/second.py",
            "records/shape.py",
            "records/signature.py",
            "records/sound.py",
            "records/standing.py",
            "records/trust.py",
            "records/verify.py",
        ),
        ("tests/records",),
        (
            "every_byte",
            "a_byte",
            "prefix",
            "page",
            "any_other_key",
            "garbage",
            "trust_commands",
            "every_letter",
            "re_encoding",
            "quick_reader",
            "cut_at_any_byte",
        ),
    ),
}
NOTICED = ("killed", "timeout", "suspicious", "caught by type check")
COPIED = ("scripts", "models", "README.md", "DEVELOPERS.md", "LICENSE")


def export(folder: Path) -> None:
    """What is committed, into the folder; files of an earlier run are written over."""
    archive = subprocess.run(["git", "archive", "HEAD"], cwd=ROOT, check=True, capture_output=True)
    folder.mkdir(parents=True, exist_ok=True)
    with tarfile.open(fileobj=io.BytesIO(archive.stdout)) as tar:
        tar.extractall(folder, filter="data")


def configure(folder: Path, room: Room, only: Sequence[str]) -> None:
    """Tell mutmut, in the copy's own pyproject, what to change and what to run."""
    files = [f"walkaround/{name}" for name in (only or room.files)]
    slow = " and ".join(f"not {word}" for word in room.without)
    leaving_out = ["-k", slow] if slow else []
    settings = {
        "source_paths": ["walkaround"],
        "only_mutate": files,
        "also_copy": list(COPIED),
        "pytest_add_cli_args": ["-q", "-p", "no:cacheprovider", *leaving_out],
        "pytest_add_cli_args_test_selection": list(room.tests),
    }
    lines = [f"{name} = {value!r}" for name, value in settings.items()]
    project = folder / "pyproject.toml"
    text = "\n".join([project.read_text("utf-8"), "[tool.mutmut]", *lines, ""])
    project.write_text(text, "utf-8")


def mutmut(folder: Path, *arguments: str, quiet: bool = False) -> str:
    """Run it in the folder; returns what it printed when `quiet`."""
    command = [sys.executable, "-m", "mutmut", *arguments]
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    done = subprocess.run(
        command, cwd=folder, check=False, env=environment, text=True, capture_output=quiet
    )
    return done.stdout or ""


def found(folder: Path) -> list[tuple[str, str]]:
    """(mutant, what became of it), in order."""
    printed = mutmut(folder, "results", "--all", "true", quiet=True)
    pairs = (line.strip().rpartition(": ") for line in printed.splitlines())
    return [(name, status) for name, _, status in pairs if name]


def file_of(mutant: str) -> str:
    """records/log.py of walkaround.records.log.x_read_log__mutmut_7."""
    parts = mutant.split(".")
    return "/".join(parts[1:3]) + ".py"


def report(results: Sequence[tuple[str, str]], listing: bool) -> None:
    """The share noticed in each file, then those that were not, by name."""
    noticed = Counter(file_of(name) for name, status in results if status in NOTICED)
    tried = Counter(file_of(name) for name, status in results if status != "not checked")
    for file in sorted(tried):
        share = 100 * noticed[file] / tried[file]
        print(f"{file:28} {noticed[file]:5} of {tried[file]:5} noticed  {share:5.1f} %")
    total = sum(tried.values())
    share = 100 * sum(noticed.values()) / total if total else 0.0
    print(f"{'together':28} {sum(noticed.values()):5} of {total:5} noticed  {share:5.1f} %")
    if listing:
        for name, status in results:
            if status not in NOTICED:
                print(f"{status:14} {name}")


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("room", choices=ROOMS)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--jobs", type=int, default=1, help="processes at once")
    parser.add_argument("--only", nargs="*", default=[], metavar="FILE", help="such as air/loss.py")
    parser.add_argument("--list", action="store_true", help="name those that nothing noticed")
    arguments = parser.parse_args()
    export(arguments.folder)
    configure(arguments.folder, ROOMS[arguments.room], arguments.only)
    mutmut(arguments.folder, "run", "--max-children", str(arguments.jobs))
    report(found(arguments.folder), arguments.list)


if __name__ == "__main__":
    main()
