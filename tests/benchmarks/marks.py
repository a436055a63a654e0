"""The interval between two spoken marks against the true one.

    python tests/benchmarks/marks.py --speech DIR --noise none,10,5 --json FILE

Two words by the same speaker, 2 to 4 s apart, stand in for two marks ("mark" itself is not
among the recordings).  "same clip" says one recording twice: the true interval is exact.
"two sayings" takes two recordings, and their true onsets are read off the clean clips by a
plain broad-band level, not by the code under test; a hiss at the word's beginning is in that
level and not in ours, so "stop" is left out there.  Peers: the plain recogniser's word start
and word end.
"""

from __future__ import annotations

import argparse
import json
import sys
import zlib
from collections import defaultdict
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # when run as a file

from tests.benchmarks.clips import Clip, commands
from tests.benchmarks.ears import MARK, Product
from tests.benchmarks.heard import levels_of
from tests.benchmarks.noise import Sound, in_noise
from tests.benchmarks.places import model_folder, speech_folder
from tests.benchmarks.plain import PlainWords
from tests.speech.books import english, thresholds
from walkaround.speech.ports import SAMPLES_PER_SECOND

_BEFORE = SAMPLES_PER_SECOND
_AFTER = SAMPLES_PER_SECOND
_NEAR_S = 0.4  # a candidate this near to a true mark is that mark
WORDS = ("yes", "no", "go", "stop")
Onsets = Callable[[Sound], list[float]]


def true_onset(sound: Sound) -> int:
    """Where the 10 ms level first stays above a fifth of its highest for 30 ms."""
    size = SAMPLES_PER_SECOND // 200
    frames = sound[: len(sound) // size * size].astype(np.float64).reshape(-1, size)
    level = np.sqrt(np.convolve(np.mean(frames**2, axis=1), [0.5, 0.5], mode="same"))
    floor = float(np.quantile(level, 0.1))
    above = level - floor >= (level.max() - floor) / 5
    held = np.convolve(above, np.ones(6), mode="full")[5:] >= 6
    found = np.flatnonzero(held)
    return int(found[0] if len(found) else np.argmax(level)) * size


def pairs(folder: Path, word: str) -> list[tuple[Clip, Clip]]:
    """Neighbouring clips of one speaker, no clip twice."""
    by_speaker: dict[str, list[Clip]] = defaultdict(list)
    for clip in commands(folder, word):
        by_speaker[clip.speaker].append(clip)
    return [two for clips in by_speaker.values() for two in list(pairwise(clips))[::2]]


def laid_out(first: Clip, second: Clip, level: float | None) -> tuple[Sound, tuple[float, float]]:
    """Both words in one stretch of noise, and their true onsets in seconds."""
    rng = np.random.default_rng(zlib.crc32(first.name.encode()))
    gap = int(rng.uniform(2.0, 4.0) * SAMPLES_PER_SECOND)
    silence = np.zeros(max(0, gap - len(first.sound)), np.int16)
    speech = np.concatenate([first.sound, silence, second.sound])
    sound = in_noise(speech, level, zlib.crc32(second.name.encode()), _BEFORE, _AFTER)
    second_at = len(first.sound) + len(silence)
    onsets = (_BEFORE + true_onset(first.sound), _BEFORE + second_at + true_onset(second.sound))
    return sound, (onsets[0] / SAMPLES_PER_SECOND, onsets[1] / SAMPLES_PER_SECOND)


def nearest(found: Sequence[float], true_s: float, offset_s: float) -> float | None:
    near = [t for t in found if abs(t - offset_s - true_s) <= _NEAR_S]
    return min(near, key=lambda t: abs(t - offset_s - true_s)) if near else None


def measure(
    name: str,
    onsets: Onsets,
    laid: Sequence[tuple[Sound, tuple[float, float]]],
    offset_s: float = 0.0,
) -> dict[str, float]:
    """Errors of the interval in seconds; `offset_s` is where this edge lies after the onset."""
    errors, lost = [], 0
    for sound, (one, other) in laid:
        found = onsets(sound)
        first, second = nearest(found, one, offset_s), nearest(found, other, offset_s)
        if first is None or second is None:
            lost += 1
        else:
            errors.append((second - first) - (other - one))
    row = np.array(errors)
    spread = float(1.4826 * np.median(np.abs(row - np.median(row))))
    far = int(np.sum(np.abs(row) > 0.15))
    print(
        f"  {name:22} sd {row.std():.3f} s, robust {spread:.3f} s,"
        f" off by more than 0.15 s {far}/{len(row)}, lost {lost}/{len(laid)}",
        flush=True,
    )
    return {
        "sd_s": round(float(row.std()), 4),
        "robust_sd_s": round(spread, 4),
        "far": far,
        "pairs": len(laid),
        "lost": lost,
    }


def main(argv: Sequence[str] | None = None) -> int:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    options.add_argument("--speech", type=Path, default=speech_folder())
    options.add_argument("--noise", default="none,10,5")
    options.add_argument("--json", type=Path)
    options.add_argument("--every", type=int, default=1)
    chosen = options.parse_args(argv)
    model = model_folder()
    if model is None or chosen.speech is None:
        print("The speech model or the recordings are missing; see WALKAROUND_MODEL.")
        return 1
    product = Product(model, english(), thresholds())
    plain = PlainWords(model, WORDS)
    ears: dict[str, tuple[Onsets, float]] = {
        "product, onset": (lambda s: [u.onset / 16000 for u in product.utterances(s, MARK)], 0.0),
        "product, voice frame": (
            lambda s: [u.begin / 16000 for u in product.utterances(s, MARK)],
            0.0,
        ),
        "peer, word start": (lambda s: [start for start, _ in plain.edges(s)], 0.0),
        "peer, word end": (lambda s: [end for _, end in plain.edges(s)], 0.45),
    }
    rows = {
        "same clip": [(c, c) for word in WORDS for c in list(commands(chosen.speech, word))[::2]],
        "two sayings": [two for word in WORDS[:-1] for two in pairs(chosen.speech, word)],
    }
    found: dict[str, dict[str, object]] = {}
    for name, level in levels_of(chosen.noise):
        for title, both in rows.items():
            chosen_pairs = both[:: chosen.every]
            print(f"noise {name}, {title}: {len(chosen_pairs)} pairs")
            laid = [laid_out(first, second, level) for first, second in chosen_pairs]
            found.setdefault(name, {})[title] = {
                ear: measure(ear, hear, laid, off) for ear, (hear, off) in ears.items()
            }
    if chosen.json:
        chosen.json.write_text(json.dumps({"noise": found}, indent=1), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
