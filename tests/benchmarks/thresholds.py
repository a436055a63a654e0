"""Derive the ear's thresholds from recordings: hear everything once, then search.

    python tests/benchmarks/thresholds.py --speech DIR --noise none,10,5,0 [--keep FILE]

For each row of walkaround/speech/thresholds.yaml that recordings exist for, the strictness
that keeps most right answers within the errors allowed at each level.  Each is chosen twice:
on everybody, and five times with a fifth of the speakers held out and counted on those; the
second is what to expect of other people.  Then what the table as it stands gives.  A person
writes the table.
"""

from __future__ import annotations

import argparse
import itertools
import sys
import zlib
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # when run as a file

from tests.benchmarks.ears import Product, first_meaning
from tests.benchmarks.heard import AT_CAUTION, OTHER, READING, HeardClip, hear_all, kept
from tests.benchmarks.places import model_folder, speech_folder
from tests.speech.books import english, thresholds
from walkaround.exchange import Because, Meaning, Number, Said, Unclear, Yes
from walkaround.speech.meanings import NOTHING, meant_by
from walkaround.speech.thresholds import Strictness
from walkaround.speech.understand import (
    Scores,
    is_clear,
    longer_reading,
    scores_of,
    was_an_answer,
)

FOLDS = 5
RATIOS = (-16.0, -12.0, -8.0, -6.0, -4.0, -2.0, -1.0, 0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0)
GAPS = (0.0, 1.0, 2.0, 3.0, 4.0)
MARGINS = (0.0, 1.0, 2.0, 3.0)
CONFIDENCES = (0.0, 0.3, 0.5)


@dataclass(frozen=True)
class Allowed:
    """The most errors, as a share of the clips, by level: wrong answers, and others let in."""

    wrong: Mapping[str, float]
    others: Mapping[str, float]


_NONE = {"none": 0.0, "10": 0.0, "5": 0.005, "0": 0.012}
TARGETS: Mapping[str, tuple[str, str, Callable[[Meaning], bool], bool, Allowed]] = {
    # row: (what should be taken, what should not, what counts as taken, needs the free pass, ...)
    "reading": (
        READING,
        OTHER,
        lambda m: isinstance(m, Number),
        True,
        Allowed(_NONE, {"none": 0.015, "10": 0.03, "5": 0.05, "0": 0.07}),
    ),
    "yes-to-caution": (
        "yes",
        AT_CAUTION,
        lambda m: isinstance(m, Yes),
        True,
        Allowed(_NONE, dict.fromkeys(_NONE, 0.01)),
    ),
    "no": (
        "no",
        AT_CAUTION,
        lambda m: not isinstance(m, Yes | Said | Unclear),
        False,
        Allowed(_NONE, dict.fromkeys(_NONE, 0.05)),
    ),
    "stop": (
        "stop",
        OTHER,
        lambda m: isinstance(m, Said),
        False,
        Allowed(_NONE, dict.fromkeys(_NONE, 0.05)),
    ),
}


@dataclass(frozen=True)
class Case:
    """A clip boiled down to its first utterance that is not noise."""

    level: str
    fold: int
    good: bool  # of the group that should be taken
    right: bool  # its meaning is the one wanted
    scores: Scores | None  # None: nothing that this row could take


def case(clip: HeardClip, good: bool, takes: Callable[[Meaning], bool]) -> Case:
    fold = zlib.crc32(clip.speaker.encode()) % FOLDS
    for heard in clip.heard:
        meant = meant_by(heard.text.split(), clip.question, english())
        if meant == NOTHING and first_meaning(
            [heard], clip.question, english(), thresholds()
        ) == Unclear(Because.NOISE):
            continue
        if len(meant.meanings) != 1 or not takes(meant.meanings[0]):
            break
        one = meant.meanings[0]
        if longer_reading(heard, one, clip.question, english(), thresholds()) is not None:
            break
        scores = scores_of(heard, meant, clip.question, english())
        return Case(clip.level, fold, good, meant.meanings[0] == clip.wanted, scores)
    return Case(clip.level, fold, good, False, None)


def taken(one: Case, strict: Strictness) -> bool:
    scores = one.scores
    return scores is not None and was_an_answer(scores, strict) and is_clear(scores, strict)


def count(cases: Sequence[Case], strict: Strictness) -> Counter[tuple[str, str]]:
    """(level, what) -> clips; what: good, right, wrong, bad, let in."""
    found: Counter[tuple[str, str]] = Counter()
    for one in cases:
        found[one.level, "good" if one.good else "bad"] += 1
        if taken(one, strict):
            what = ("right" if one.right else "wrong") if one.good else "let in"
            found[one.level, what] += 1
    return found


def choose(cases: Sequence[Case], allowed: Allowed, free: bool) -> Strictness:
    """The most right answers within what is allowed; where nothing is, the fewest errors."""

    def worth(strict: Strictness) -> tuple[float, int, float]:
        found = count(cases, strict)
        over = 0.0
        for level in {one.level for one in cases}:
            good, bad = found[level, "good"], found[level, "bad"]
            over += max(0.0, found[level, "wrong"] - allowed.wrong[level] * good)
            over += max(0.0, found[level, "let in"] - allowed.others[level] * bad)
        right = sum(found[level, "right"] for level, what in found if what == "right")
        # of equals the stricter one: other people's errors are not among these clips
        return -over, right, strict.ratio - strict.gap + strict.margin + strict.confidence

    grid = itertools.product(RATIOS, GAPS, MARGINS, CONFIDENCES)
    return max((Strictness(r, g, m, c, free) for r, g, m, c in grid), key=worth)


def line(title: str, found: Counter[tuple[str, str]]) -> str:
    cells = [
        f"{level}: {found[level, 'right']}/{found[level, 'good']} right,"
        f" {found[level, 'wrong']} wrong, {found[level, 'let in']}/{found[level, 'bad']} let in"
        for level in dict.fromkeys(level for level, _ in found)
    ]
    return f"  {title:12} " + "; ".join(cells)


def derive(clips: Sequence[HeardClip], row: str) -> None:
    good, bad, takes, free, allowed = TARGETS[row]
    cases = [case(c, c.group == good, takes) for c in clips if c.group in (good, bad)]
    if not cases:
        return
    print(f"\n{row}: {good!r} against {bad!r}")
    everybody = choose(cases, allowed, free)
    print(f"  everybody:   {everybody}")
    print(line("in sample", count(cases, everybody)))
    held_out: Counter[tuple[str, str]] = Counter()
    for fold in range(FOLDS):
        strict = choose([one for one in cases if one.fold != fold], allowed, free)
        held_out += count([one for one in cases if one.fold == fold], strict)
    print(line("held out", held_out))
    print(line("as it stands", count(cases, thresholds().strictness[row])), flush=True)


def main(argv: Sequence[str] | None = None) -> int:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    options.add_argument("--speech", type=Path, default=speech_folder())
    options.add_argument("--noise", default="none,10,5,0")
    options.add_argument("--every", type=int, default=1)
    options.add_argument("--keep", type=Path, help="a file for what was heard, to search again")
    options.add_argument("--search-only", action="store_true", help="hear nothing more")
    chosen = options.parse_args(argv)
    model = model_folder()
    if chosen.search_only:
        clips = kept(chosen.keep)
    elif model is None or chosen.speech is None:
        print("The speech model or the recordings are missing; see WALKAROUND_MODEL.")
        return 1
    else:
        with Product(model, english(), thresholds()) as product:
            clips = hear_all(
                product, None, chosen.speech, chosen.noise, every=chosen.every, keep=chosen.keep
            )
    for row in TARGETS:
        derive(clips, row)
    return 0


if __name__ == "__main__":
    sys.exit(main())
