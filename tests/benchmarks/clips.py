"""The human recordings as clips: what was said, by whom, and what it ought to be taken for.

AN4 (Carnegie Mellon University, 1991), Speech Commands v0.02 (Warden 2018, CC BY 4.0).
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile

from tests.benchmarks.noise import Sound
from walkaround.speech.cardinals import DIGITS
from walkaround.speech.ports import SAMPLES_PER_SECOND

_MARGIN_S = 0.03  # what the cutter promises to have left on both sides


@dataclass(frozen=True)
class Clip:
    name: str
    speaker: str
    group: str  # reading | other | command
    words: str
    value: int | None
    sound: Sound


def read(path: Path) -> Sound:
    """16 kHz mono. Raises AssertionError for anything else: the figures would be void."""
    sound, rate = soundfile.read(path, dtype="int16")
    assert rate == SAMPLES_PER_SECOND and sound.ndim == 1, path
    return np.asarray(sound, dtype=np.int16)


def readings(folder: Path) -> Iterator[Clip]:
    """Spoken numbers: spans of AN4 and single digits of Speech Commands."""
    for row in _rows(folder / "an4" / "readings.tsv"):
        sound = read(_an4(folder, row["file"]))
        first = max(0.0, float(row["start_s"]) - _MARGIN_S)
        last = float(row["end_s"]) + _MARGIN_S
        cut = sound[int(first * SAMPLES_PER_SECOND) : int(last * SAMPLES_PER_SECOND)]
        name = f"{row['file']}@{row['start_s']}-{row['end_s']}"  # spans may overlap
        yield Clip(name, row["speaker"], "reading", row["words"], int(row["value"]), cut)
    for path in _files(folder / "commands" / "digits"):
        word = path.name.split("_")[0]
        yield Clip(path.stem, _speaker(path), "reading", word, DIGITS[word], read(path))


def others(folder: Path) -> Iterator[Clip]:
    """What is no answer: words spelled out, names, and other words."""
    for row in _rows(folder / "an4" / "utterances.tsv"):
        if row["kind"] == "not an answer":
            sound = read(_an4(folder, row["file"]))
            yield Clip(row["file"], row["speaker"], "other", row["words"], None, sound)
    for path in _files(folder / "commands" / "other-words"):
        word = path.name.split("_")[0]
        yield Clip(path.stem, _speaker(path), "other", word, None, read(path))


def commands(folder: Path, word: str) -> Iterator[Clip]:
    """Single words: "yes", "no", "stop", "go"."""
    for path in _files(folder / "commands" / word):
        yield Clip(f"{word}-{path.stem}", _speaker(path), "command", word, None, read(path))
    for row in _rows(folder / "an4" / "utterances.tsv"):
        if row["kind"] == "command" and row["words"] == word:
            sound = read(_an4(folder, row["file"]))
            yield Clip(row["file"], row["speaker"], "command", word, None, sound)


def _an4(folder: Path, name: str) -> Path:
    found = sorted((folder / "an4" / "wav").glob(f"{name}.*"))
    return found[0]


def _files(folder: Path) -> list[Path]:
    """Sorted; none where there is no such folder ("help" is said in AN4 only)."""
    if not folder.is_dir():
        return []
    return sorted(p for p in folder.iterdir() if p.suffix in (".wav", ".flac"))


def _speaker(path: Path) -> str:
    """Speech Commands puts a hash of the speaker in front of "_nohash_"."""
    return path.stem.split("_nohash_")[0].rpartition("_")[2]


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, delimiter="\t"))
