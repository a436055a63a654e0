"""kill -9 at random moments, then resume: the same meanings and verdicts, the break shown.

What was answered before the break and not timed across it stands to the letter.  What is
measured again is measured on a truck that has been filled again meanwhile, so a level may
differ by a stroke of the pedal more or less; the verdicts may not.
"""

from __future__ import annotations

import os
import random
import re
import signal
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from walkaround.records.journal import read_journal
from walkaround.records.summary import summarise

ROOT = Path(__file__).resolve().parents[2]
SCENES: Mapping[str, tuple[str, ...]] = {
    "truck": ("--place", "CA-ON"),
    "tractor": ("--place", "US", "--script", "tractor-trailer"),
}
KILLS = [("truck", number) for number in range(20)] + [("tractor", number) for number in range(6)]
_MOST_S = 120
FILLED_AGAIN_PSI = 4
PUMPED_PSI = 6
"""One full application of a combination costs up to 11 psi (computed from chamber volumes); the
pumping stops somewhere inside one. All levels that no pump decides were within 1 psi."""
PUMPED = ("warning-on-falling.reading", "supply-valve-closes.reading", "park-valve-closes.reading")
_PRESSURE = re.compile(r"(\d+(?:\.\d+)?) psi")


def _demo(home: Path, records: Path, scene: str, *more: str) -> subprocess.Popen[bytes]:
    folders = {f"XDG_{name}_HOME": str(home / name.lower()) for name in ("CONFIG", "DATA", "CACHE")}
    command = [sys.executable, "-m", "walkaround.cli", "demo", "--by-text", "--quiet"]
    options = [*SCENES[scene], "--wording", "short", "--records", str(records), *more]
    environment = {**os.environ, **folders, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen(
        [*command, *options], env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
    )


def _finish(process: subprocess.Popen[bytes]) -> None:
    _, errors = process.communicate(timeout=_MOST_S)
    assert process.returncode == 0, errors.decode()


def _journal(records: Path) -> Path | None:
    return next(records.glob("*/journal.jsonl"), None)


def _kill_after(process: subprocess.Popen[bytes], records: Path, lines: int) -> bool:
    """SIGKILL once the journal has that many lines; False when the walk was quicker."""
    until = time.monotonic() + _MOST_S
    while process.poll() is None and time.monotonic() < until:
        journal = _journal(records)
        if journal is not None and journal.read_bytes().count(b"\n") >= lines:
            process.send_signal(signal.SIGKILL)
            process.wait()
            return True
        time.sleep(0.002)
    process.communicate()
    return False


def _told(records: Path) -> Mapping[str, Any]:
    """What must not depend on the interruption, and where the second sitting begins."""
    journal = _journal(records)
    assert journal is not None
    summary: Any = summarise(read_journal(journal.read_bytes()), None)
    steps = [step for step in summary["steps"] if not step.get("act")]
    answers = {
        f"{step['id']}.{answer['ask']}": answer
        for step in steps
        for answer in step.get("answers", ())
        if not answer["ask"].endswith("caution")
    }
    return {
        "ended": summary["ended"],
        "interruptions": summary["interruptions"],
        "broken_at": summary["sittings"][-1]["seq"],
        "said": {key: answer["said"] for key, answer in answers.items()},
        "seq": {key: answer["seq"] for key, answer in answers.items()},
        "outcomes": {
            step["id"]: [
                (summary["rules"][verdict["rule"]]["rule"], verdict["outcome"])
                for verdict in step.get("verdicts", ())
                if "rule" in verdict
            ]
            for step in steps
        },
    }


def _as_measured(said: Mapping[str, str]) -> Mapping[str, str]:
    """A leak test begins wherever the filling left the needles: its end is told by the fall."""
    told = dict(said)
    for key in [key for key in said if key.startswith("leak-") and key.endswith(".start")]:
        end = key.removesuffix("start") + "end"
        falls = zip(_PRESSURE.findall(told.pop(key)), _PRESSURE.findall(told[end]), strict=True)
        told[end] = ", ".join(f"{float(a) - float(b):g} psi" for a, b in falls)
    return told


def _same(one: str, other: str, within_psi: int) -> bool:
    """The same words; pressures alike as far as a truck filled again can give them."""
    pairs = list(zip(_PRESSURE.findall(one), _PRESSURE.findall(other), strict=False))
    if not pairs:
        return one == other
    return all(abs(float(a) - float(b)) <= within_psi for a, b in pairs)


Undisturbed = tuple[Mapping[str, Any], int]


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Undisturbed]:
    """What an undisturbed walk of each scene tells, and how many lines its journal has."""
    found = {}
    for scene in SCENES:
        home = tmp_path_factory.mktemp(f"undisturbed-{scene}")
        _finish(_demo(home, home / "walks", scene))
        journal = _journal(home / "walks")
        assert journal is not None
        found[scene] = _told(home / "walks"), journal.read_bytes().count(b"\n")
    return found


@pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGKILL")
@pytest.mark.parametrize(("scene", "number"), KILLS)
def test_a_killed_walk_resumes_to_the_same_end(
    scene: str, number: int, undisturbed: Mapping[str, Undisturbed], tmp_path: Path
) -> None:
    told, lines = undisturbed[scene]
    moment = random.Random(f"kill {number}").randrange(2, lines - 8)
    records = tmp_path / "walks"
    assert _kill_after(_demo(tmp_path, records, scene), records, moment)
    _finish(_demo(tmp_path, records, scene, "--resume"))
    resumed = _told(records)
    assert resumed["interruptions"] == 1
    assert resumed["ended"] == "complete"
    assert resumed["outcomes"] == told["outcomes"]
    assert resumed["said"].keys() == told["said"].keys()
    measured = _as_measured(told["said"])
    for question, said in _as_measured(resumed["said"]).items():
        if resumed["seq"][question] < resumed["broken_at"]:
            assert said == measured[question]
        else:
            within_psi = PUMPED_PSI if question in PUMPED else FILLED_AGAIN_PSI
            assert _same(said, measured[question], within_psi), question
