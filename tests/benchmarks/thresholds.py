"""Derive the ear's thresholds from recordings: hear everything once, then sweep.

    python tests/benchmarks/thresholds.py --speech DIR --noise none,10,5 [--keep FILE]

Prints, for each row of walkaround/speech/thresholds.yaml, what every strictness keeps of
the right answers and lets in of the rest, for half of the speakers and for the other half in
brackets; then what the table as it stands gives.  A person chooses and writes the table.
"""

from __future__ import annotations

import argparse
import pickle
import sys
import zlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # when run as a file

from tests.benchmarks.clips import Clip, commands, others, readings
from tests.benchmarks.ears import CAUTION, GAUGE, Product, first_meaning
from tests.benchmarks.hearing import COMMAND_WORDS, as_number, levels_of
from tests.benchmarks.noise import in_noise
from tests.benchmarks.places import model_folder, speech_folder
from tests.speech.books import english, thresholds
from walkaround.exchange import Meaning, Question, Unclear, Yes
from walkaround.speech.ports import Transcript
from walkaround.speech.thresholds import Strictness, Thresholds

RATIOS = (-16.0, -12.0, -10.0, -8.0, -6.0, -4.0, -3.0, -2.0, -1.0, 0.0, 0.5, 1.0, 2.0)
MARGINS = (0.0, 1.0, 2.0)


@dataclass(frozen=True)
class HeardClip:
    """One clip at one level; `wanted` is None where nothing should be taken."""

    level: str
    speaker: str
    group: str
    wanted: Meaning | None
    question: Question
    heard: tuple[Transcript, ...]


def hear_all(
    product: Product, folder: Path, levels: str, every: int, keep: Path | None
) -> list[HeardClip]:
    """Every chosen clip at every level, kept after each level."""
    jobs: list[tuple[str, Clip, Meaning | None, Question]] = []
    jobs += [("reading", c, as_number(c), GAUGE) for c in readings(folder)]
    jobs += [("other", c, None, GAUGE) for c in others(folder)]
    jobs += [("other-at-caution", c, None, CAUTION) for c in others(folder)]
    for word in ("yes", "no", "stop"):
        question, meaning = COMMAND_WORDS[word]
        jobs += [(word, c, meaning, question) for c in commands(folder, word)]
    found = []
    for name, level in levels_of(levels):
        for group, clip, wanted, question in jobs[::every]:
            sound = in_noise(clip.sound, level, zlib.crc32(clip.name.encode()))
            heard = tuple(product.hear(sound, question))
            found.append(HeardClip(name, clip.speaker, group, wanted, question, heard))
        print(f"heard {len(jobs[::every])} clips at {name}", flush=True)
        if keep:
            keep.write_bytes(pickle.dumps(found))
    return found


def with_row(table: Thresholds, row: str, strict: Strictness) -> Thresholds:
    return replace(table, strictness={**table.strictness, row: strict})


def outcome(clip: HeardClip, table: Thresholds) -> str:
    """right, wrong, taken (what should not have been), or refused."""
    meaning = first_meaning(clip.heard, clip.question, english(), table)
    if isinstance(meaning, Unclear):
        return "refused"
    if clip.wanted is None:
        taken = clip.group == "other" or isinstance(meaning, Yes)
        return "taken" if taken else "refused"
    return "right" if meaning == clip.wanted else "wrong"


def share(clips: Sequence[HeardClip], table: Thresholds, what: str) -> tuple[int, int]:
    return sum(outcome(clip, table) == what for clip in clips), len(clips)


def first_half(clip: HeardClip) -> bool:
    """Whole speakers go to one side, by a hash of their name."""
    return zlib.crc32(clip.speaker.encode()) % 2 == 0


def sweep(clips: Sequence[HeardClip], row: str, good: str, bad: str, free: bool) -> None:
    """Print what each strictness of one row keeps of the good and lets in of the bad."""
    print(f"\n{row}: kept of '{good}' (and wrong), let in of '{bad}'; other half in brackets")
    halves = [[c for c in clips if first_half(c) is side] for side in (True, False)]
    levels = dict.fromkeys(c.level for c in clips)
    for ratio in RATIOS:
        for margin in MARGINS:
            cells = []
            table = with_row(thresholds(), row, Strictness(ratio, margin, 0.0, free))
            for level in levels:
                cells.append(
                    f"{level}: {_cell(halves[0], table, level, good, bad)}"
                    f" [{_cell(halves[1], table, level, good, bad)}]"
                )
            print(f"  ratio {ratio:+5.1f} margin {margin:.0f}  " + "  ".join(cells))


def _cell(clips: Sequence[HeardClip], table: Thresholds, level: str, good: str, bad: str) -> str:
    at = [c for c in clips if c.level == level]
    right, n = share([c for c in at if c.group == good], table, "right")
    wrong, _ = share([c for c in at if c.group == good], table, "wrong")
    taken, m = share([c for c in at if c.group == bad], table, "taken")
    return f"{right}/{n} ({wrong}) {taken}/{m}"


def main(argv: Sequence[str] | None = None) -> int:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    options.add_argument("--speech", type=Path, default=speech_folder())
    options.add_argument("--noise", default="none,10,5")
    options.add_argument("--every", type=int, default=1)
    options.add_argument("--keep", type=Path, help="a file for what was heard, to sweep again")
    chosen = options.parse_args(argv)
    model = model_folder()
    if model is None or chosen.speech is None:
        print("The speech model or the recordings are missing; see WALKAROUND_MODEL.")
        return 1
    if chosen.keep and chosen.keep.exists():
        clips: list[HeardClip] = pickle.loads(chosen.keep.read_bytes())
    else:
        product = Product(model, english(), thresholds())
        clips = hear_all(product, chosen.speech, chosen.noise, chosen.every, chosen.keep)
    sweep(clips, "reading", "reading", "other", free=True)
    sweep(clips, "yes-to-caution", "yes", "other-at-caution", free=True)
    sweep(clips, "no", "no", "other-at-caution", free=False)
    sweep(clips, "stop", "stop", "other", free=False)
    print("\nthe table as it stands")
    for level in dict.fromkeys(clip.level for clip in clips):
        for group in dict.fromkeys(clip.group for clip in clips):
            here = [c for c in clips if (c.level, c.group) == (level, group)]
            counts = Counter(outcome(clip, thresholds()) for clip in here)
            print(f"  {level:5} {group:17} {dict(counts)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
