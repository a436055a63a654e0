"""Can our own prompts be understood in noise? The free recogniser's word errors as a proxy.

    python tests/benchmarks/prompts.py --noise 5 [--every N] [--json FILE]

Every sentence of the golden dialogues, by the program's own voice, in a synthetic diesel; the
plain recogniser without a grammar writes down what it hears.  It is a proxy: a driver knows
what a check is about and the recogniser does not.  The peer is the same voice without noise.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import vosk

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # when run as a file

from tests.benchmarks.heard import levels_of
from tests.benchmarks.noise import in_noise
from tests.benchmarks.places import ROOT, model_folder
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.speech.ports import SAMPLES_PER_SECOND

_PROMPT = re.compile(r"^\d+:\d+ prompt (.+)$", re.MULTILINE)
_FIRST_S = 0.5


@dataclass(frozen=True)
class Heard:
    sentence: str
    as_heard: str
    errors: int
    words: int


def sentences() -> list[str]:
    """Each sentence of the golden dialogues once."""
    texts = [
        p.read_text(encoding="utf-8") for p in sorted((ROOT / "tests/walks/golden").glob("*.txt"))
    ]
    return list(dict.fromkeys(s for text in texts for s in _PROMPT.findall(text)))


def words_of(text: str) -> list[str]:
    return re.findall(r"[a-z']+", text.lower().replace("-", " "))


def word_errors(said: Sequence[str], heard: Sequence[str]) -> int:
    """Words put in, left out or changed: the edit distance (Levenshtein 1966)."""
    row = list(range(len(heard) + 1))
    for at, word in enumerate(said, 1):
        before, row[0] = row[0], at
        for place, other in enumerate(heard, 1):
            kept = before + (word != other)
            before, row[place] = row[place], min(row[place] + 1, row[place - 1] + 1, kept)
    return row[-1]


def hear(model: vosk.Model, voice: Pyttsx3Voice, sentence: str, level: float | None) -> Heard:
    sound = np.frombuffer(voice.sound_of(sentence), "<i2")
    lead = int(_FIRST_S * SAMPLES_PER_SECOND)
    noisy = in_noise(sound, level, zlib.crc32(sentence.encode()), lead, lead)
    decoder = vosk.KaldiRecognizer(model, SAMPLES_PER_SECOND)
    texts = []
    content = noisy.astype("<i2").tobytes()
    for at in range(0, len(content), 8000):
        if decoder.AcceptWaveform(content[at : at + 8000]):
            texts.append(json.loads(decoder.Result())["text"])
    texts.append(json.loads(decoder.FinalResult())["text"])
    said, heard = words_of(sentence), words_of(" ".join(texts))
    return Heard(sentence, " ".join(heard), word_errors(said, heard), len(said))


def main(argv: Sequence[str] | None = None) -> int:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    options.add_argument("--noise", default="none,5")
    options.add_argument("--every", type=int, default=1)
    options.add_argument("--json", type=Path)
    chosen = options.parse_args(argv)
    folder = model_folder()
    if folder is None:
        print("The speech model is missing; see WALKAROUND_MODEL.")
        return 1
    vosk.SetLogLevel(-1)
    model, voice = vosk.Model(str(folder)), Pyttsx3Voice()
    table: dict[str, object] = {}
    for name, level in levels_of(chosen.noise):
        found = [hear(model, voice, sentence, level) for sentence in sentences()[:: chosen.every]]
        errors, words = sum(h.errors for h in found), sum(h.words for h in found)
        whole = sum(h.errors == 0 for h in found)
        print(
            f"noise {name}: word error {100 * errors / words:.1f} % of {words} words;"
            f" {whole} of {len(found)} sentences whole"
        )
        worst = sorted(found, key=lambda h: -h.errors / h.words)[:10]
        for one in worst:
            print(f"  {one.errors}/{one.words}  {one.sentence}  ->  {one.as_heard}", flush=True)
        table[name] = {"errors": errors, "words": words, "sentences": len(found), "whole": whole}
    if chosen.json:
        chosen.json.write_text(json.dumps({"noise": table}, indent=1), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
