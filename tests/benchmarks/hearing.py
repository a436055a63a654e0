"""How many spoken readings are right, silently wrong or asked again, and what else is taken.

    python tests/benchmarks/hearing.py --speech DIR --noise none,10,5,0 --json FILE

The product's own path from samples to meaning (the ear's child, then `understand`), and
beside it the plain recogniser with a word list.  Noise is a synthesised diesel at idle: these
are not figures of a real yard.  Intervals are at 95 %, clustered by speaker; noise seeds are
not new clips.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # when run as a file

from tests.benchmarks.counting import Rate, rate
from tests.benchmarks.ears import Peer, Product, first_meaning
from tests.benchmarks.heard import (
    AT_CAUTION,
    COMMAND_WORDS,
    OTHER,
    READING,
    HeardClip,
    hear_all,
    of,
)
from tests.benchmarks.places import model_folder, speech_folder
from tests.speech.books import english, thresholds
from walkaround.exchange import Meaning, Unclear, Yes
from walkaround.speech.thresholds import Thresholds

MeaningOf = Callable[[HeardClip], Meaning]


@dataclass(frozen=True)
class Trial:
    speaker: str
    value: int | None
    right: bool
    accepted: bool
    single: bool = False  # a clip of one digit, cut to a second (Speech Commands)


@dataclass(frozen=True)
class Level:
    """One noise level, one ear."""

    readings: Sequence[Trial]
    others: Sequence[Trial]
    false_yes: Sequence[Trial]
    words: Mapping[str, Sequence[Trial]]


def by_product(table: Thresholds) -> MeaningOf:
    return lambda clip: first_meaning(clip.heard, clip.question, english(), table)


def by_peer(clip: HeardClip) -> Meaning:
    assert clip.peer is not None, "the peer was not asked"
    return clip.peer


def trial(clip: HeardClip, meaning: Meaning) -> Trial:
    accepted = not isinstance(meaning, Unclear)
    single = "_nohash_" in clip.name  # how Speech Commands names its files
    return Trial(clip.speaker, clip.value, meaning == clip.wanted, accepted, single)


def measured(clips: Sequence[HeardClip], meaning: MeaningOf) -> Level:
    """What one ear made of the clips of one level."""

    def trials(group: str) -> list[Trial]:
        return [trial(clip, meaning(clip)) for clip in of(clips, group)]

    return Level(
        readings=trials(READING),
        others=trials(OTHER),
        false_yes=[
            Trial(clip.speaker, None, isinstance(meaning(clip), Yes), True)
            for clip in of(clips, AT_CAUTION)
        ],
        words={word: trials(word) for word in COMMAND_WORDS},
    )


def reading_rates(trials: Iterable[Trial]) -> dict[str, Rate]:
    rows = list(trials)
    return {
        "right": rate((t.speaker, t.right) for t in rows),
        "silently_wrong": rate((t.speaker, t.accepted and not t.right) for t in rows),
        "asked_again": rate((t.speaker, not t.accepted) for t in rows),
    }


def in_gauge_range(trials: Iterable[Trial]) -> list[Trial]:
    return [t for t in trials if t.value is not None and 50 <= t.value <= 150]


def summary(level: Level) -> dict[str, object]:
    """The counts of the benchmarks' contract, with intervals under `intervals`."""
    part = {
        "all": reading_rates(level.readings),
        "50_150": reading_rates(in_gauge_range(level.readings)),
    }
    other = rate((t.speaker, t.accepted) for t in level.others)
    false_yes = rate((t.speaker, t.right) for t in level.false_yes)
    words = {word: reading_rates(trials) for word, trials in level.words.items()}
    return {
        "readings": part["all"]["right"].n,
        **{name: found.k for name, found in part["all"].items()},
        "other_words": other.n,
        "other_accepted": other.k,
        "false_yes": false_yes.k,
        "readings_50_150": {
            "readings": part["50_150"]["right"].n,
            **{name: found.k for name, found in part["50_150"].items()},
        },
        "commands": {
            word: {"said": rates["right"].n, **{name: r.k for name, r in rates.items()}}
            for word, rates in words.items()
        },
        "intervals": {
            **{name: found.as_json() for name, found in part["all"].items()},
            **{f"{name}_50_150": found.as_json() for name, found in part["50_150"].items()},
            "other_accepted": other.as_json(),
            "false_yes": false_yes.as_json(),
            **{word: rates["right"].as_json() for word, rates in words.items()},
        },
    }


def table(ear: str, level: Level) -> list[str]:
    lines = []
    for title, trials in (
        ("readings", level.readings),
        ("50 to 150", in_gauge_range(level.readings)),
        ("said whole", [t for t in level.readings if not t.single]),
        ("one digit", [t for t in level.readings if t.single]),
    ):
        for name, found in reading_rates(trials).items():
            lines.append(f"  {ear:8} {title:10} {name:15} {found}")
    taken = rate((t.speaker, t.accepted) for t in level.others)
    as_yes = rate((t.speaker, t.right) for t in level.false_yes)
    lines.append(f"  {ear:8} other words taken          {taken}")
    lines.append(f"  {ear:8} other words as yes         {as_yes}")
    for word, trials in level.words.items():
        rates = reading_rates(trials)
        wrong = rates["silently_wrong"].k
        lines.append(f"  {ear:8} {word:10} right           {rates['right']}, wrong {wrong}")
    return lines


def main(argv: Sequence[str] | None = None) -> int:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    options.add_argument("--speech", type=Path, default=speech_folder())
    options.add_argument("--noise", default="none,10,5,0", help="signal to noise in dB, or none")
    options.add_argument("--json", type=Path, help="where to write the counts")
    options.add_argument(
        "--every", type=int, default=1, help="only every Nth clip, for a quick look"
    )
    options.add_argument("--no-peer", action="store_true")
    options.add_argument("--keep", type=Path, help="a file for what was heard, to go on from")
    chosen = options.parse_args(argv)
    model = model_folder()
    if model is None or chosen.speech is None:
        print("The speech model or the recordings are missing; see --help and WALKAROUND_MODEL.")
        return 1
    peer = None if chosen.no_peer else Peer(model, english())
    with Product(model, english(), thresholds()) as product:
        clips = hear_all(
            product, peer, chosen.speech, chosen.noise, every=chosen.every, keep=chosen.keep
        )
    found = tables(clips, chosen.no_peer)
    if chosen.json:
        chosen.json.write_text(json.dumps({"noise": found}, indent=1), encoding="utf-8")
    return 0


def tables(clips: Sequence[HeardClip], no_peer: bool) -> dict[str, dict[str, object]]:
    """Print the table of each level; returns the counts."""
    found: dict[str, dict[str, object]] = {}
    for name in dict.fromkeys(clip.level for clip in clips):
        here = [clip for clip in clips if clip.level == name]
        print(f"noise {name}" + ("" if name == "none" else " dB below the speech, synthetic"))
        product = measured(here, by_product(thresholds()))
        print("\n".join(table("product", product)), flush=True)
        found[name] = summary(product)
        if not no_peer:
            peer = measured(here, by_peer)
            print("\n".join(table("peer", peer)), flush=True)
            found[name]["peer"] = summary(peer)
    return found


if __name__ == "__main__":
    sys.exit(main())
