"""Every clip heard once at every level, by the product and by its peer, to be counted later.

What was heard is kept in a file, so that other thresholds can be tried without hearing again.
Clips are taken in an order that mixes the groups; noise is seeded by the clip's name.
"""

from __future__ import annotations

import pickle
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from tests.benchmarks.clips import Clip, commands, others, readings
from tests.benchmarks.ears import CAUTION, GAUGE, Peer, Product
from tests.benchmarks.noise import in_noise
from walkaround.exchange import Command, Meaning, No, Number, Question, Said, Yes
from walkaround.quantity import Quantity, Unit
from walkaround.speech.ports import Transcript

# word -> (the question it is said at, what it ought to mean)
COMMAND_WORDS: dict[str, tuple[Question, Meaning]] = {
    "yes": (CAUTION, Yes()),
    "no": (CAUTION, No()),
    "stop": (GAUGE, Said(Command.STOP)),
    "help": (GAUGE, Said(Command.HELP)),
    "repeat": (GAUGE, Said(Command.REPEAT)),
}
READING, OTHER, AT_CAUTION = "reading", "other", "other at a caution"


@dataclass(frozen=True)
class HeardClip:
    """One clip at one level; `wanted` is None where nothing should be taken."""

    level: str
    name: str
    speaker: str
    group: str
    value: int | None
    wanted: Meaning | None
    question: Question
    heard: tuple[Transcript, ...]
    peer: Meaning | None  # None where the peer was not asked


@dataclass(frozen=True)
class _Job:
    group: str
    clip: Clip
    wanted: Meaning | None
    question: Question


def as_number(clip: Clip) -> Meaning:
    return Number(Quantity(Decimal(clip.value or 0), Unit.PSI))


def jobs(folder: Path, every: int) -> list[_Job]:
    """Of each group every Nth clip; the rare words whole."""
    found = [_Job(READING, c, as_number(c), GAUGE) for c in list(readings(folder))[::every]]
    other = list(others(folder))[::every]
    found += [_Job(OTHER, c, None, GAUGE) for c in other]
    found += [_Job(AT_CAUTION, c, None, CAUTION) for c in other]
    for word, (question, meaning) in COMMAND_WORDS.items():
        clips = list(commands(folder, word))
        few = clips[::every] if len(clips) > 100 else clips
        found += [_Job(word, c, meaning, question) for c in few]
    return found


def levels_of(text: str) -> list[tuple[str, float | None]]:
    return [(name, None if name == "none" else float(name)) for name in text.split(",")]


def kept(path: Path | None) -> list[HeardClip]:
    """What an earlier run of ours left there; only ever a file made here."""
    if path is None or not path.exists():
        return []
    return list(pickle.loads(path.read_bytes()))


def hear_all(
    product: Product,
    peer: Peer | None,
    folder: Path,
    levels: str,
    *,
    every: int = 1,
    keep: Path | None = None,
) -> list[HeardClip]:
    """Goes on from what is kept already; kept anew after each hundred clips."""
    found = kept(keep)
    done = {(clip.level, clip.group, clip.name) for clip in found}
    for name, level in levels_of(levels):
        for job in jobs(folder, every):
            if (name, job.group, job.clip.name) in done:
                continue
            found.append(_hear(product, peer, name, level, job))
            if keep and len(found) % 100 == 0:
                keep.write_bytes(pickle.dumps(found))
        if keep:
            keep.write_bytes(pickle.dumps(found))
        print(f"heard at {name}", flush=True)
    wanted = {name for name, _ in levels_of(levels)}
    return [clip for clip in found if clip.level in wanted]


def _hear(
    product: Product, peer: Peer | None, name: str, level: float | None, job: _Job
) -> HeardClip:
    clip = job.clip
    sound = in_noise(clip.sound, level, zlib.crc32(clip.name.encode()))
    return HeardClip(
        level=name,
        name=clip.name,
        speaker=clip.speaker,
        group=job.group,
        value=clip.value,
        wanted=job.wanted,
        question=job.question,
        heard=tuple(product.hear(sound, job.question)),
        peer=peer.meaning(sound, job.question) if peer else None,
    )


def of(clips: Sequence[HeardClip], group: str) -> list[HeardClip]:
    return [clip for clip in clips if clip.group == group]
