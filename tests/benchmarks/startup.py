"""From the command to the first word, and what is resident meanwhile.

    python tests/benchmarks/startup.py [--json FILE] [--runs N]

`speak` is when the first sentence's sound is at hand, `hear` when the recogniser's child is
ready; both from the start of the process.  The model loads behind the first sentence.  The
peer, in the same run, is a bare Python that imports vosk and loads the same model.  Limits
to hold: speak within 1.5 s, parent and child together at most 300 MB resident.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
_SENTENCE = "Before we begin: chock the wheels, and wear eye and ear protection."
_OURS = """
import sys
from pathlib import Path
from walkaround.devices.ear.child import EarSetup
from walkaround.devices.ear.fed import FedEar
from walkaround.devices.library import Library
from walkaround.devices.model import ensure_model
from walkaround.devices.voice import Pyttsx3Voice
import walkaround.walk
library = Library()
ear = FedEar(EarSetup.of(library, ensure_model()))
ear.start()
Pyttsx3Voice(Path(sys.argv[1])).sound_of(sys.argv[2])
print("speak", flush=True)
ear.wait_until_ready()
print("hear", ear.pid, flush=True)
sys.stdin.read()
ear.close()
"""
_PEER = """
import sys, vosk
vosk.SetLogLevel(-1)
model = vosk.Model(sys.argv[1])
recogniser = vosk.KaldiRecognizer(model, 16000)
print("hear", flush=True)
sys.stdin.read()
"""
Row = dict[str, float]


def run(code: str, *words: str) -> tuple[Row, int | None]:
    """Seconds from start to each line printed, and megabytes resident at the last."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    began = time.perf_counter()
    with subprocess.Popen(
        [sys.executable, "-P", "-c", code, *words],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=environment,
    ) as process:
        row: Row = {}
        child = None
        assert process.stdout is not None
        for line in process.stdout:
            name, *rest = line.split()
            row[f"{name}_s"] = time.perf_counter() - began
            child = int(rest[0]) if rest else None
            if name == "hear":
                row["parent_mb"] = resident_mb(process.pid)
                row["child_mb"] = resident_mb(child) if child else 0.0
                break
        process.communicate("")
    return row, child


def resident_mb(pid: int) -> float:
    """VmRSS of /proc; 0 where the system has none."""
    try:
        status = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    except OSError:
        return 0.0
    found = re.search(r"VmRSS:\s+(\d+) kB", status)
    return int(found[1]) / 1024 if found else 0.0


def folder_run(command: str) -> float:
    """Seconds of `python3 COMMAND --help` by the checkout's own bootstrap, already set up."""
    began = time.perf_counter()
    subprocess.run(
        [sys.executable, str(ROOT / command), "--help"], check=True, stdout=subprocess.DEVNULL
    )
    return time.perf_counter() - began


def median(rows: Sequence[Row]) -> Row:
    return {name: statistics.median(row[name] for row in rows) for name in rows[0]}


def measure(runs: int) -> Mapping[str, Row]:
    sys.path.insert(0, str(ROOT))
    from walkaround.devices.model import decoding_folder, ensure_model  # noqa: PLC0415

    model = ensure_model(progress=print)
    peer_model = str(decoding_folder(model))
    table: dict[str, Row] = {}
    with tempfile.TemporaryDirectory() as cache:
        table["ours, cold voice cache"] = run(_OURS, cache, _SENTENCE)[0]
        ours = [run(_OURS, cache, _SENTENCE)[0] for _ in range(runs)]
        peers = [run(_PEER, peer_model)[0] for _ in range(runs)]
    table["ours, warm voice cache"] = median(ours)
    table["peer: bare vosk"] = median(peers)
    if (ROOT / ".venv").is_dir():
        table["python3 walkaround --help"] = median(
            [{"ended_s": folder_run("walkaround")} for _ in range(runs)]
        )
    return table


def main() -> int:
    parser = argparse.ArgumentParser(description="time to the first word, and memory")
    parser.add_argument("--json", type=Path, help="also write the table here")
    parser.add_argument("--runs", type=int, default=5)
    arguments = parser.parse_args()
    table = measure(arguments.runs)
    columns = ("speak_s", "hear_s", "ended_s", "parent_mb", "child_mb")
    print(f"{'':28}" + "".join(f"{name:>11}" for name in columns))
    for name, row in table.items():
        cells = (f"{row[column]:11.2f}" if column in row else f"{'':11}" for column in columns)
        print(f"{name:28}" + "".join(cells))
    if arguments.json:
        arguments.json.write_text(json.dumps(table, indent=2) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
