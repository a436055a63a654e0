"""How many spoken readings are right, silently wrong or asked again, and what else is taken.

    python tests/benchmarks/hearing.py --speech DIR --noise none,10,5,0 --json FILE

The product's own path from samples to meaning, and beside it the plain recogniser with a
word list.  Noise is a synthesised diesel at idle: these are not figures of a real yard.
Intervals are at 95 %, clustered by speaker; noise seeds are not new clips.
"""

from __future__ import annotations

import argparse
import json
import sys
import zlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # when run as a file

from tests.benchmarks.clips import Clip, commands, others, readings
from tests.benchmarks.counting import Rate, rate
from tests.benchmarks.ears import CAUTION, GAUGE, Peer, Product
from tests.benchmarks.noise import Sound, in_noise
from tests.benchmarks.places import model_folder, speech_folder
from tests.speech.books import english, thresholds
from walkaround.exchange import Command, Meaning, No, Number, Question, Said, Unclear, Yes
from walkaround.quantity import Quantity, Unit

Hear = Callable[[Sound, Question], Meaning]

# word -> (the question it is said at, what it ought to mean)
COMMAND_WORDS: dict[str, tuple[Question, Meaning]] = {
    "yes": (CAUTION, Yes()),
    "no": (CAUTION, No()),
    "stop": (GAUGE, Said(Command.STOP)),
    "help": (GAUGE, Said(Command.HELP)),
    "repeat": (GAUGE, Said(Command.REPEAT)),
}


@dataclass(frozen=True)
class Trial:
    speaker: str
    value: int | None
    right: bool
    accepted: bool


@dataclass(frozen=True)
class Level:
    """One noise level, one ear."""

    readings: Sequence[Trial]
    others: Sequence[Trial]
    false_yes: Sequence[Trial]
    words: Mapping[str, Sequence[Trial]]


def listen(
    hear: Hear,
    clips: Iterable[Clip],
    question: Question,
    level: float | None,
    wanted: Callable[[Clip], Meaning | None],
) -> list[Trial]:
    """Each clip once, in noise seeded by its name."""
    found = []
    for clip in clips:
        sound = in_noise(clip.sound, level, zlib.crc32(clip.name.encode()))
        meaning = hear(sound, question)
        accepted = not isinstance(meaning, Unclear)
        found.append(Trial(clip.speaker, clip.value, meaning == wanted(clip), accepted))
    return found


def as_number(clip: Clip) -> Meaning:
    return Number(Quantity(Decimal(clip.value or 0), Unit.PSI))


def nothing(clip: Clip) -> None:  # noqa: ARG001 - the shape of `wanted`
    return None


def measure(hear: Hear, folder: Path, level: float | None, every: int) -> Level:
    words = {}
    for word, (question, meaning) in COMMAND_WORDS.items():
        clips = list(commands(folder, word))[:: every if word in ("yes", "no", "stop") else 1]
        words[word] = listen(hear, clips, question, level, lambda _, m=meaning: m)  # type: ignore[misc]
    other = list(others(folder))[::every]
    return Level(
        readings=listen(hear, list(readings(folder))[::every], GAUGE, level, as_number),
        others=listen(hear, other, GAUGE, level, nothing),
        false_yes=listen(hear, other, CAUTION, level, lambda _: Yes()),
        words=words,
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


def levels_of(text: str) -> list[tuple[str, float | None]]:
    return [(name, None if name == "none" else float(name)) for name in text.split(",")]


def main(argv: Sequence[str] | None = None) -> int:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    options.add_argument("--speech", type=Path, default=speech_folder())
    options.add_argument("--noise", default="none,10,5,0", help="signal to noise in dB, or none")
    options.add_argument("--json", type=Path, help="where to write the counts")
    options.add_argument(
        "--every", type=int, default=1, help="only every Nth clip, for a quick look"
    )
    options.add_argument("--no-peer", action="store_true")
    chosen = options.parse_args(argv)
    model = model_folder()
    if model is None or chosen.speech is None:
        print("The speech model or the recordings are missing; see --help and WALKAROUND_MODEL.")
        return 1
    product = Product(model, english(), thresholds())
    ears: dict[str, Hear] = {"product": lambda s, q: product.meaning(product.hear(s, q), q)}
    if not chosen.no_peer:
        ears["peer"] = Peer(model, english()).meaning
    found: dict[str, dict[str, object]] = {}
    for name, level in levels_of(chosen.noise):
        print(f"noise {name}" + ("" if level is None else " dB below the speech, synthetic diesel"))
        for ear, hear in ears.items():
            measured = measure(hear, chosen.speech, level, chosen.every)
            print("\n".join(table(ear, measured)), flush=True)
            counts = summary(measured)
            found.setdefault(name, {}).update(counts if ear == "product" else {"peer": counts})
    if chosen.json:
        chosen.json.write_text(json.dumps({"noise": found}, indent=1), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
