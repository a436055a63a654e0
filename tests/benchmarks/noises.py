"""Ten noises of a yard for a minute each: answers taken, ends of turn, processor and memory.

    python tests/benchmarks/noises.py [--seconds 60] [--json FILE]

Alone each noise must give no answer at a number, a caution or a mark; a spoken reading laid
into it, 10 dB over it, must be decided soon after its end.  Processor time is that of the
ear's child (voice activity, the pass with the grammar twice, the pass without) per second of
sound, from /proc; beside the noises a minute of somebody who reads one number after another.
The peer is the plain recogniser with a word list.  All noises are synthesised from a seed
(`yard.py`): none is a recording of any yard.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # when run as a file

from tests.benchmarks.ears import CAUTION, GAUGE, MARK, Peer, Product
from tests.benchmarks.noise import Floats, Sound, active_rms
from tests.benchmarks.places import model_folder
from tests.benchmarks.yard import ALONE, VOICE_RMS, as_sound, noise, radio
from tests.speech.books import english, thresholds
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.exchange import Question, Unclear
from walkaround.speech.ports import SAMPLES_PER_SECOND
from walkaround.speech.understand import understand

QUESTIONS: Mapping[str, Question] = {"number": GAUGE, "caution": CAUTION, "mark": MARK}
REPORT = (
    "The weather this evening: clouds over the hills, rain from the west, and snow above the"
    " tree line.",
    "Traffic is heavy at the bridge, where a car has broken down in the middle lane.",
    "After the news we play music, and you may call us with your wishes.",
)
SPOKEN = ("ninety five", "one hundred and five", "one twenty two", "sixty", "one eighteen")
_PIECE = 15 * SAMPLES_PER_SECOND  # the ear's child is given up after half a minute and a piece
_TICKS = os.sysconf("SC_CLK_TCK")


@dataclass(frozen=True)
class Row:
    """One noise: answers taken in so many seconds at each question, by us and by the peer."""

    answers: Mapping[str, int]
    peer_answers: Mapping[str, int]
    turn_ms: float | None  # from the end of the voice in it to the decision; None: not noticed
    core_share: float  # processor seconds of the child in a second of sound, number question


def answers(product: Product, sound: Sound, question: Question) -> int:
    pieces = [sound[at : at + _PIECE] for at in range(0, len(sound), _PIECE)]
    heard = [transcript for piece in pieces for transcript in product.hear(piece, question)]
    taken = [understand(t, question, product.phrases, product.thresholds).meaning for t in heard]
    return sum(not isinstance(meaning, Unclear) for meaning in taken)


def peer_answers(peer: Peer, sound: Sound, question: Question) -> int:
    """Every final result that parses counts."""
    pieces = peer.results(sound, question)
    return sum(peer.means_an_answer(words, question) for words, _, _ in pieces)


def turn_ms(product: Product, made: Floats, voice: Floats) -> float | None:
    """The last turn that began in the voice: from the voice's end to its decision."""
    power = np.sqrt(np.mean(made**2))
    whole = np.concatenate([voice, np.zeros(len(made) - len(voice))])
    mixed = as_sound(whole + made * (VOICE_RMS / 10**0.5 / max(power, 1e-9)))
    heard = [t for t in product.hear(mixed, GAUGE) if t.onset_ms < _ms(voice)]
    return None if not heard else float(heard[-1].arrived_ms - _ms(voice))


def _ms(voice: Floats) -> float:
    loud = np.flatnonzero(np.abs(voice) > np.abs(voice).max() / 20)
    return float(loud[-1]) * 1000 / SAMPLES_PER_SECOND


def processor_s(pid: int) -> float:
    """User and system time of a process so far, all its threads; from /proc/PID/stat."""
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / _TICKS


def memory_mb(pid: int, what: str = "VmHWM") -> float:
    """Resident megabytes: VmHWM the most so far, VmRSS now."""
    status = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    found = re.search(rf"{what}:\s+(\d+) kB", status)
    return int(found[1]) / 1024 if found else 0.0


def share(product: Product, work: Callable[[], object], seconds: float) -> float:
    pid = product.pid
    assert pid is not None
    before = processor_s(pid)
    work()
    return (processor_s(pid) - before) / seconds


def readings(folder: Path, seconds: float) -> Floats:
    """One number after another, two seconds apart, at a voice's level: the most that is asked."""
    pause = np.zeros(2 * SAMPLES_PER_SECOND)
    row = [piece for words in SPOKEN for piece in (voice_of(folder, words), pause)]
    return np.resize(np.concatenate(row), int(seconds * SAMPLES_PER_SECOND))


def voice_of(folder: Path, words: str) -> Floats:
    spoken = np.frombuffer(Pyttsx3Voice(folder, rate=170).sound_of(words), "<i2")
    voice = spoken.astype(np.float64)
    return voice * (VOICE_RMS / active_rms(voice))


def sounds(folder: Path, seconds: float) -> dict[str, Floats]:
    made = {name: noise(name, seconds) for name in ALONE}
    voice = Pyttsx3Voice(folder, rate=170)
    report = np.frombuffer(b"".join(voice.sound_of(one) for one in REPORT), "<i2")
    return {**made, "radio speech": radio(report, seconds) + noise("idle", seconds) / 8}


def measured(product: Product, peer: Peer, made: Floats, voice: Floats, seconds: float) -> Row:
    sound = as_sound(made)
    taken: dict[str, int] = {}

    def at_number() -> None:
        taken["number"] = answers(product, sound, GAUGE)

    core = share(product, at_number, seconds)
    for name in ("caution", "mark"):
        taken[name] = answers(product, sound, QUESTIONS[name])
    peers = {name: peer_answers(peer, sound, question) for name, question in QUESTIONS.items()}
    short = made[: len(voice) + 5 * SAMPLES_PER_SECOND]
    return Row(taken, peers, turn_ms(product, short, voice), core)


def main(argv: Sequence[str] | None = None) -> int:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    options.add_argument("--seconds", type=float, default=60.0)
    options.add_argument("--json", type=Path)
    chosen = options.parse_args(argv)
    model = model_folder()
    if model is None:
        print("The speech model is missing; see WALKAROUND_MODEL.")
        return 1
    with (
        tempfile.TemporaryDirectory() as cache,
        Product(model, english(), thresholds()) as product,
    ):
        found = measure(product, Peer(model, english()), Path(cache), chosen.seconds)
    if chosen.json:
        chosen.json.write_text(json.dumps(found, indent=1), encoding="utf-8")
    return 0


def measure(product: Product, peer: Peer, cache: Path, seconds: float) -> dict[str, object]:
    voice = voice_of(cache, SPOKEN[0])
    product.hear(as_sound(voice), GAUGE)  # the model is loaded before anything is counted
    found: dict[str, object] = {}
    print(f"{'':24}answers in {seconds:g} s (peer)              decided   core")
    for name, made in sounds(cache, seconds).items():
        row = measured(product, peer, made, voice, seconds)
        found[name] = asdict(row)
        counts = "  ".join(
            f"{what} {n} ({row.peer_answers[what]})" for what, n in row.answers.items()
        )
        decided = "unheard" if row.turn_ms is None else f"{row.turn_ms / 1000:.2f} s"
        print(f"{name:24}{counts:42}{decided:10}{row.core_share:.2f}", flush=True)
    spoken = as_sound(readings(cache, seconds) + noise("idle", seconds) / 10**0.5)
    began = time.perf_counter()
    core = share(product, lambda: answers(product, spoken, GAUGE), seconds)
    assert product.pid is not None
    most = memory_mb(product.pid)
    found["readings in a row"] = {"core_share": core, "most_mb": most}
    print(
        f"readings in a row, 10 dB: core {core:.2f}; real-time {time.perf_counter() - began:.0f} s"
    )
    print(f"ear's child, most resident: {most:.0f} MB; now {memory_mb(product.pid, 'VmRSS'):.0f}")
    return found


if __name__ == "__main__":
    sys.exit(main())
