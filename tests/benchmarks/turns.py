"""From the last sound of an answer to our first sound and to the decision; answers cut in two.

    python tests/benchmarks/turns.py --speech DIR --noise none,10,5 --json FILE

Counted in samples: no sound is put out, so output latency is not in it.  The peer is the
plain recogniser's own end of turn.  Pauses are spliced between the words of readings.
"""

from __future__ import annotations

import argparse
import json
import sys
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # when run as a file

from tests.benchmarks.clips import Clip, readings
from tests.benchmarks.counting import rate
from tests.benchmarks.ears import GAUGE, Peer, Product
from tests.benchmarks.heard import as_number, levels_of
from tests.benchmarks.noise import Sound, in_noise
from tests.benchmarks.places import model_folder, speech_folder
from tests.speech.books import english, thresholds
from walkaround.devices.ear.listener import Utterance
from walkaround.exchange import Number, Unclear
from walkaround.speech.going_on import heard_on
from walkaround.speech.ports import SAMPLES_PER_SECOND, Transcript
from walkaround.speech.turns import Paused

_BEFORE = SAMPLES_PER_SECOND
_AFTER = 2 * SAMPLES_PER_SECOND
PAUSES_MS = (150, 200, 300, 400, 500, 700, 900)
"""Up to half a second people pause inside a number; beyond that what reopens is seen at work."""


@dataclass(frozen=True)
class Turn:
    """Seconds from the clip's last sound to our first sound (a tone counts) and to the decision,
    behind which the first word goes out; None when it never came."""

    speaker: str
    sound_s: float | None
    decision_s: float | None
    whole: bool  # the answer came in one piece


def last_sound(clip: Clip) -> int:
    """The end of the last 10 ms frame within 25 dB of the loudest."""
    size = SAMPLES_PER_SECOND // 100
    frames = clip.sound[: len(clip.sound) // size * size].astype(np.float64).reshape(-1, size)
    power = np.mean(frames**2, axis=1)
    return int(np.flatnonzero(power > power.max() / 10**2.5)[-1] + 1) * size


def of_product(product: Product, clip: Clip, sound: Sound) -> Turn:
    end = _BEFORE + last_sound(clip)
    signs = product.signs(sound, GAUGE)
    found = [s for s in signs if isinstance(s, Utterance) and s.decoded.words]
    if not found:
        return Turn(clip.speaker, None, None, False)
    # the last pause that a tone told of; a tone inside the answer is not the sound waited for
    tones = [s.decided for s in signs if isinstance(s, Paused) and s.decided > end]
    decided = found[-1].decided
    first = min([decided, *tones])
    return Turn(clip.speaker, _seconds(first - end), _seconds(decided - end), len(found) == 1)


def of_peer(peer: Peer, clip: Clip, sound: Sound) -> Turn:
    found = peer.results(sound, GAUGE)
    if not found:
        return Turn(clip.speaker, None, None, False)
    delay = _seconds(found[-1][1] - _BEFORE - last_sound(clip))
    return Turn(clip.speaker, delay, delay, len(found) == 1)


def _seconds(samples: int) -> float:
    return samples / SAMPLES_PER_SECOND


def border_in(product: Product, clip: Clip) -> int | None:
    """The sample between the clip's first two words; None where they cannot be parted.

    The quietest 20 ms around the border that the recogniser found in the clean clip.
    """
    clean = in_noise(clip.sound, None, 1, _BEFORE, _AFTER)
    found = product.hear(clean, GAUGE)
    if len(found) != 1 or found[0].text != clip.words or len(found[0].words) < 2:
        return None
    border = found[0].words[0].end_ms * SAMPLES_PER_SECOND // 1000 - _BEFORE
    return _quietest(clip.sound, border)


def spliced(clip: Clip, at: int, pause_ms: int) -> Clip:
    """The clip with a silent pause there; the noise is laid over the whole afterwards."""
    pause = np.zeros(pause_ms * SAMPLES_PER_SECOND // 1000, np.int16)
    return replace(clip, sound=np.concatenate([clip.sound[:at], pause, clip.sound[at:]]))


def _quietest(sound: Sound, around: int) -> int:
    size, reach = SAMPLES_PER_SECOND // 50, SAMPLES_PER_SECOND * 6 // 100
    low = max(0, min(around - reach, len(sound) - size))
    places = range(low, max(low + 1, min(around + reach, len(sound) - size)), 80)
    return (
        min(places, key=lambda at: float(np.mean(sound[at : at + size].astype(float) ** 2)))
        + size // 2
    )


def delays_line(title: str, turns: Sequence[Turn]) -> dict[str, object]:
    found: dict[str, object] = {}
    cells = []
    for name, delays in (
        ("first sound", [t.sound_s for t in turns if t.sound_s is not None]),
        ("decision", [t.decision_s for t in turns if t.decision_s is not None]),
    ):
        median, p95 = (float(np.quantile(delays, q)) for q in (0.5, 0.95))
        cells.append(f"{name} median {median:.2f} s, p95 {p95:.2f} s")
        found[name.replace(" ", "_")] = {"median_s": round(median, 3), "p95_s": round(p95, 3)}
    pieces = rate((t.speaker, not t.whole) for t in turns)
    print(f"  {title:8} {'; '.join(cells)}; in pieces or unheard {pieces}", flush=True)
    return {**found, "pieces": pieces.as_json()}


def pauses_line(
    product: Product, parted: Sequence[tuple[Clip, int]], level: float | None
) -> dict[str, object]:
    found: dict[str, object] = {}
    for pause_ms in PAUSES_MS:
        rows = []
        for clip, at in parted:
            seed = zlib.crc32(clip.name.encode())
            longer = spliced(clip, at, pause_ms).sound
            heard = product.hear(in_noise(longer, level, seed, _BEFORE, _AFTER), GAUGE)
            rows.append((clip.speaker, *_fate(product, clip, heard)))
        line: dict[str, object] = {}
        for place, what in enumerate(("taken too early", "end up cut", "asked again"), 1):
            counted = rate((row[0], bool(row[place])) for row in rows)
            line[what.replace(" ", "_")] = counted.as_json()
            print(f"  pause {pause_ms} ms: {what} {counted}", flush=True)
        found[str(pause_ms)] = line
    return found


def _fate(product: Product, clip: Clip, heard: Sequence[Transcript]) -> tuple[bool, bool, bool]:
    """Taken too early; stands at the end as another number; asked again at the end."""
    wanted, meanings = as_number(clip), [product.meaning(heard[:1], GAUGE)]
    for piece in heard[1:]:
        whole = heard_on(piece, GAUGE, product.phrases, product.thresholds)
        if whole is not None:
            meanings.append(whole.meaning)
        elif isinstance(meanings[-1], Unclear):
            meanings.append(product.meaning([piece], GAUGE))
    early = isinstance(meanings[0], Number) and meanings[0] != wanted
    again = isinstance(meanings[-1], Unclear)
    return early, not again and meanings[-1] != wanted, again


def main(argv: Sequence[str] | None = None) -> int:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    options.add_argument("--speech", type=Path, default=speech_folder())
    options.add_argument("--noise", default="none,10,5")
    options.add_argument("--json", type=Path)
    options.add_argument("--every", type=int, default=1)
    options.add_argument("--no-pauses", action="store_true")
    chosen = options.parse_args(argv)
    model = model_folder()
    if model is None or chosen.speech is None:
        print("The speech model or the recordings are missing; see WALKAROUND_MODEL.")
        return 1
    clips = list(readings(chosen.speech))[:: chosen.every]
    with Product(model, english(), thresholds()) as product:
        found = measure(product, Peer(model, english()), clips, chosen.noise, chosen.no_pauses)
    if chosen.json:
        chosen.json.write_text(json.dumps({"noise": found}, indent=1), encoding="utf-8")
    return 0


def measure(
    product: Product, peer: Peer, clips: Sequence[Clip], noise: str, no_pauses: bool
) -> dict[str, object]:
    several = [] if no_pauses else [clip for clip in clips if " " in clip.words]
    borders = [(clip, border_in(product, clip)) for clip in several]
    parted = [(clip, at) for clip, at in borders if at is not None]
    found: dict[str, object] = {}
    for name, level in levels_of(noise):
        print(f"noise {name}: {len(clips)} readings")
        sounds = [
            in_noise(c.sound, level, zlib.crc32(c.name.encode()), _BEFORE, _AFTER) for c in clips
        ]
        pairs = list(zip(clips, sounds, strict=True))
        row: dict[str, object] = {
            "product": delays_line("product", [of_product(product, c, s) for c, s in pairs]),
            "peer": delays_line("peer", [of_peer(peer, c, s) for c, s in pairs]),
        }
        if parted:
            print(f"  {len(parted)} readings of several words with a pause in them")
            row["pauses"] = pauses_line(product, parted, level)
        found[name] = row
    return found


if __name__ == "__main__":
    sys.exit(main())
