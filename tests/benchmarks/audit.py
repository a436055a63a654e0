"""Audits of many records: time, memory, growth; false looks; how small a habit is found.

    python tests/benchmarks/audit.py [--sizes 1000,10000,100000] [--json FILE] [--folder DIR]
                                     [--honest WALKS] [--journals WALKS]

Each size is written to a folder of its own, audited by the command itself with
`--records-only` in processes of their own, then audited again with nothing changed.  Time is
the wall clock's and the processors' (a machine busy with other work stretches the first);
memory is what all processes of the command hold together, shared pages counted once each
(proportional set size), looked at ten times a second.  The peer reads the same files, hashes
them, unpacks and decodes the payload with the standard library and checks the bare Ed25519
signature: no audit could do less.  `--honest` audits fleets of honest drivers and counts false
looks; `--journals` audits real simulated walks with their journals.
"""

from __future__ import annotations

import argparse
import base64
import gzip
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.audit.fleets import (
    Fleet,
    Habit,
    climbing_slower,
    copies,
    key_of,
    leaking_more,
    leaves_out,
    material_of,
    rounds,
    trust_of,
    walked,
)
from tests.audit.stamping import Stamp, stamped, write_stamped
from walkaround.records.trust import TrustList, serialise_trust
from walkaround.simulated.driver import EVEN, HUMAN

ROOT = Path(__file__).resolve().parents[2]
WALKS_EACH = 200
Row = dict[str, str | float | int]


@dataclass
class Used:
    """What a command took: seconds of the wall and of processors, and the most memory, MB."""

    wall_s: float
    cpu_s: float
    memory_mb: float
    printed: str


def command(*arguments: str | Path) -> list[str]:
    return [sys.executable, "-m", "walkaround.cli", "audit", *map(str, arguments)]


def measured(words: Sequence[str]) -> Used:
    """Run it; Linux only, because memory is read from /proc."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    before, began = os.times(), time.perf_counter()
    process = subprocess.Popen(
        words, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    most = 0.0
    while process.poll() is None:
        most = max(most, sum(_held_mb(pid) for pid in _family(process.pid)))
        time.sleep(0.1)
    after, printed = os.times(), process.stdout.read() if process.stdout else ""
    if process.returncode:
        raise SystemExit(f"the audit failed:\n{printed}")
    cpu = after.children_user + after.children_system
    cpu -= before.children_user + before.children_system
    return Used(time.perf_counter() - began, cpu, most, printed)


def _family(pid: int) -> Iterator[int]:
    yield pid
    try:
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    except OSError:
        return
    for child in children:
        yield from _family(int(child))


def _held_mb(pid: int) -> float:
    try:
        for line in Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines():
            if line.startswith("Pss:"):
                return int(line.split()[1]) / 1024
    except OSError:
        pass
    return 0.0


# ---------------------------------------------------------------- many records


def size_rows(size: int, folder: Path) -> list[Row]:
    """First audit, second audit and the peer, of so many records."""
    tree, cache = folder / "tree", folder / "cache"
    trust = write_stamped(tree, max(size // WALKS_EACH, 1), min(size, WALKS_EACH))
    trust_file = folder / "trust.jsonl"
    trust_file.write_bytes(serialise_trust(trust))
    words = command(
        tree, "--records-only", "--cache", cache, "--trust", trust_file, "--processes", "2",
        "--page", folder / "audit.html",
    )  # fmt: skip
    total = sum(path.stat().st_size for path in tree.rglob("*.jws"))
    rows = [_row(f"audit {size} records of {total / size / 1000:.1f} kB", size, measured(words))]
    rows.append(_row("  again, nothing changed", size, measured(words)))
    peer = [sys.executable, __file__, "--peer", str(tree)]
    rows.append(_row("  peer: read, hash, decode, bare signature", size, measured(peer)))
    shutil.rmtree(folder)
    return rows


def _row(name: str, size: int, used: Used) -> Row:
    return {
        "what": name,
        "wall_s": round(used.wall_s, 2),
        "cpu_s": round(used.cpu_s, 2),
        "cpu_ms_each": round(used.cpu_s / size * 1000, 3),
        "memory_mb": round(used.memory_mb),
    }


def peer(tree: Path) -> None:
    """The least that any audit must do, on one core."""
    drivers = sum(1 for at in tree.iterdir() if at.is_dir())
    keys = {str(key.public.jwk()["x"]): key.public for key in map(key_of, range(drivers))}
    for path in tree.rglob("*.jws"):
        line = path.read_bytes()
        hashlib.sha256(line).hexdigest()
        header, payload, signature = line.split(b".")
        plain = json.loads(gzip.decompress(base64.urlsafe_b64decode(payload + b"==")))
        public = keys[plain["key"]["x"]]
        assert public.verifies(base64.urlsafe_b64decode(signature + b"=="), header + b"." + payload)


# ---------------------------------------------------------------- honest walks, small habits


def looks_of(tree: Path, folder: Path, trust: TrustList, *more: str) -> list[str]:
    """What the command prints as worth a look."""
    trust_file = folder / "trust.jsonl"
    trust_file.write_bytes(serialise_trust(trust))
    words = command(
        tree, "--cache", folder / "cache", "--trust", trust_file, "--page", folder / "a.html", *more
    )
    told = measured(words).printed.splitlines()
    return [line for line in told if line.startswith("  ") and "nothing stands out" not in line]


def honest_rows(walks: int, folder: Path) -> list[Row]:
    """False looks among honest walks, in fleets of thirty drivers with thirty walks each."""
    false, done, seed = 0, 0, 100
    while done < walks:
        tree = folder / f"honest-{seed}"
        for name, line in stamped(30, 30, seed, Stamp()):
            (tree / name).mkdir(parents=True)
            (tree / name / "record.jws").write_bytes(line)
        for look in looks_of(tree, folder, trust_of(30), "--records-only"):
            print(f"    false look, seed {seed}: {look}")
            false += 1
        done, seed = done + 900, seed + 1
        shutil.rmtree(tree)
        shutil.rmtree(folder / "cache")
    return [{"what": f"false looks in {done} honest walks", "count": false}]


SMALL: tuple[tuple[str, Fleet], ...] = tuple(
    (f"{name}, {walks} walks", Fleet({0: habit} if habit else {}, changes, 31, walks, 7))
    for walks in (10, 20, 40)
    for name, habit, changes in (
        ("one of 31 leaves a step out", leaves_out("leak-applied"), {}),
        ("one of 31 copies numbers", Habit("copies", copies), {}),
        ("one of 31 rounds to fives", Habit("rounds", rounds), {}),
        ("a leak grows 0.2 psi/min a week", None, {0: leaking_more(0.2)}),
        ("a build-up grows 0.5 s a week", None, {0: climbing_slower(0.5)}),
    )
)
"""Habits in fleets of 31, a walk every second day."""


def small_rows(folder: Path) -> list[Row]:
    """Which small habits are found after how many walks."""
    rows: list[Row] = []
    for name, fleet in SMALL:
        trust = fleet.write(folder / "small")
        found = looks_of(folder / "small", folder, trust, "--records-only")
        others = [one for one in found if "driver 0:" not in one and "truck 0:" not in one]
        rows.append({"what": name, "found": len(found) - len(others), "others": len(others)})
        shutil.rmtree(folder / "small")
        shutil.rmtree(folder / "cache")
    return rows


def journal_rows(walks: int, folder: Path) -> list[Row]:
    """Real simulated walks of three vehicles, careful and slipping, with their journals."""
    vehicles = (
        ("straight-truck", "demo-truck"),
        ("tractor-trailer", "demo-doubles"),
        ("bus", "demo-bus"),
    )
    tree = folder / "walked"
    for number in range(walks):
        script, vehicle = vehicles[number % 3]
        material = material_of(script, vehicle, (("CA-ON", "US", "CA-NL")[number // 3 % 3],))
        journal, record = walked(
            material, key_of(0), seed=number, name=f"walk-{number}",
            temperament=HUMAN if number % 2 else EVEN,
        )  # fmt: skip
        (tree / str(number)).mkdir(parents=True)
        (tree / str(number) / "record.jws").write_bytes(record)
        (tree / str(number) / "journal.jsonl").write_bytes(journal)
    found = looks_of(tree, folder, trust_of(1))
    for look in found:
        print(f"    look in a simulated walk: {look}")
    return [{"what": f"looks in {walks} simulated walks with journals", "count": len(found)}]


# ---------------------------------------------------------------- printing


def print_table(rows: Sequence[Row]) -> None:
    width = max(len(str(row["what"])) for row in rows)
    for row in rows:
        told = "  ".join(f"{name} {value}" for name, value in row.items() if name != "what")
        print(f"{row['what']:{width}}  {told}", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--sizes", default="1000,10000,100000")
    parser.add_argument("--honest", type=int, default=0, metavar="WALKS")
    parser.add_argument("--small", action="store_true", help="how small a habit is found")
    parser.add_argument("--journals", type=int, default=0, metavar="WALKS")
    parser.add_argument("--json", type=Path, help="write the figures there too")
    parser.add_argument("--folder", type=Path, help="where to write the records (its disk counts)")
    parser.add_argument("--peer", type=Path, help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.peer:
        peer(arguments.peer)
        return
    rows: list[Row] = []
    with tempfile.TemporaryDirectory(dir=arguments.folder) as name:
        folder = Path(name)
        for size in filter(None, arguments.sizes.split(",")):
            (folder / size).mkdir()
            rows += size_rows(int(size), folder / size)
            print_table(rows[-3:])
        more = honest_rows(arguments.honest, folder) if arguments.honest else []
        more += small_rows(folder) if arguments.small else []
        more += journal_rows(arguments.journals, folder) if arguments.journals else []
        if more:
            print_table(more)
    if arguments.json:
        arguments.json.write_text(json.dumps(rows + more, indent=2) + "\n")


if __name__ == "__main__":
    main()
