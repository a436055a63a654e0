"""Readings of 50 to 150 in every spoken form, by synthetic voices of many accents.

    python tests/benchmarks/accents.py --noise none,10,5 --json FILE

The recordings lack "a hundred and five" and its like, and all but a few speakers are from the
US.  These voices are espeak-ng's: no person speaks like them, and a figure of theirs is a
screen and no proof.  The worst voice is named.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import zlib
from collections.abc import Sequence
from pathlib import Path
from random import Random

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # when run as a file

from tests.benchmarks.clips import Clip
from tests.benchmarks.counting import Rate, rate
from tests.benchmarks.ears import GAUGE, Product
from tests.benchmarks.heard import as_number, levels_of
from tests.benchmarks.noise import in_noise
from tests.benchmarks.places import model_folder
from tests.speech.books import english, thresholds
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.exchange import Unclear
from walkaround.speech import cardinals

VOICES = (
    "gmw/en-us",
    "gmw/en-us+f3",
    "gmw/en-us-nyc",
    "gmw/en",
    "gmw/en+f4",
    "gmw/en-gb-x-rp",
    "gmw/en-gb-scotland",
    "gmw/en-gb-x-gbclan",
    "gmw/en-gb-x-gbcwmd",
    "gmw/en-029",
)
RATES = (130, 160)  # words a minute
Outcome = tuple[str, str, str]  # words, "right" | "wrong" | "asked", what it was taken for


def said(count: int, seed: int = 1) -> list[tuple[int, str]]:
    """So many (number, form), seeded; forms of 101 to 109 first: their nought gets lost."""
    forms = [(n, form) for n in range(50, 151) for form in cardinals.forms(n)]
    noughts = [(n, form) for n, form in forms if 101 <= n <= 109]
    dice = Random(seed)
    return dice.sample(noughts, count // 4) + dice.sample(forms, count - count // 4)


def hear(product: Product, voice: str, rows: Sequence[tuple[int, str]], level: float | None,
         cache: Path) -> list[Outcome]:  # fmt: skip
    found = []
    for place, (number, words) in enumerate(rows):
        speaker = Pyttsx3Voice(cache, voice, RATES[place % len(RATES)])
        sound = np.frombuffer(speaker.sound_of(words), "<i2")
        clip = Clip(f"{voice} {words}", voice, "reading", words, number, sound)
        noisy = in_noise(sound, level, zlib.crc32(clip.name.encode()))
        meaning = product.meaning(product.hear(noisy, GAUGE), GAUGE)
        wrong = "asked" if isinstance(meaning, Unclear) else "wrong"
        outcome = "right" if meaning == as_number(clip) else wrong
        found.append((words, outcome, str(meaning)))
    return found


def rates(voice: str, found: Sequence[Outcome]) -> dict[str, Rate]:
    return {
        name: rate((f"{voice} {words}", outcome == name) for words, outcome, _ in found)
        for name in ("right", "wrong", "asked")
    }


def main(argv: Sequence[str] | None = None) -> int:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    options.add_argument("--noise", default="none,10,5")
    options.add_argument("--json", type=Path)
    options.add_argument("--each", type=int, default=40, help="readings for each voice")
    chosen = options.parse_args(argv)
    model = model_folder()
    if model is None:
        print("The speech model is missing; see WALKAROUND_MODEL.")
        return 1
    table: dict[str, dict[str, dict[str, dict[str, float]]]] = {}
    with Product(model, english(), thresholds()) as product, tempfile.TemporaryDirectory() as home:
        for name, level in levels_of(chosen.noise):
            print(f"noise {name}, synthetic voices, {chosen.each} readings each")
            row: dict[str, dict[str, Rate]] = {}
            for voice in VOICES:
                found = hear(product, voice, said(chosen.each), level, Path(home))
                row[voice] = rates(voice, found)
                print(f"  {voice:20} " + "; ".join(f"{k} {v}" for k, v in row[voice].items()))
                for words, outcome, taken in found:
                    if outcome == "wrong":
                        print(f"      wrong: {words} as {taken}", flush=True)
            worst = min(row, key=lambda voice: row[voice]["right"].k)
            whole = {k: sum(r[k].k for r in row.values()) for k in ("right", "wrong", "asked")}
            print(f"  all {whole}; worst {worst}: {row[worst]['right']} right", flush=True)
            table[name] = {
                voice: {what: found.as_json() for what, found in found_rates.items()}
                for voice, found_rates in row.items()
            }
    if chosen.json:
        chosen.json.write_text(json.dumps({"noise": table}, indent=1), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
