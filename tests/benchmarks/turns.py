"""From the last sound of an answer to the decision that it is over, and answers cut in two.

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
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # when run as a file

from tests.benchmarks.clips import Clip, readings
from tests.benchmarks.counting import rate
from tests.benchmarks.ears import GAUGE, Peer, Product, as_transcript
from tests.benchmarks.hearing import as_number, levels_of
from tests.benchmarks.noise import Sound, in_noise
from tests.benchmarks.places import model_folder, speech_folder
from tests.speech.books import english, thresholds
from walkaround.speech.ports import SAMPLES_PER_SECOND

_BEFORE = SAMPLES_PER_SECOND
_AFTER = 2 * SAMPLES_PER_SECOND
PAUSES_MS = (150, 200, 300, 400, 500)


@dataclass(frozen=True)
class Turn:
    """Seconds from the clip's last sound to the decision; None when it never came."""

    speaker: str
    delay_s: float | None
    whole: bool  # the answer came in one piece


def last_sound(clip: Clip) -> int:
    """The end of the last 10 ms frame within 25 dB of the loudest."""
    size = SAMPLES_PER_SECOND // 100
    frames = clip.sound[: len(clip.sound) // size * size].astype(np.float64).reshape(-1, size)
    power = np.mean(frames**2, axis=1)
    return int(np.flatnonzero(power > power.max() / 10**2.5)[-1] + 1) * size


def of_product(product: Product, clip: Clip, sound: Sound) -> Turn:
    found = [u for u in product.utterances(sound, GAUGE) if u.decoded.words]
    end = _BEFORE + last_sound(clip)
    if not found:
        return Turn(clip.speaker, None, False)
    delay = (found[-1].decided - end) / SAMPLES_PER_SECOND
    return Turn(clip.speaker, delay, len(found) == 1)


def of_peer(peer: Peer, clip: Clip, sound: Sound) -> Turn:
    found = peer.results(sound, GAUGE)
    end = _BEFORE + last_sound(clip)
    if not found:
        return Turn(clip.speaker, None, False)
    return Turn(clip.speaker, (found[-1][1] - end) / SAMPLES_PER_SECOND, len(found) == 1)


def spliced(product: Product, clip: Clip, pause_ms: int) -> Clip | None:
    """The clip with a pause between its first two words; None where they cannot be parted.

    The place is the quietest 20 ms around the border that the recogniser found in the
    clean clip; the pause is silent, the noise is laid over the whole afterwards.
    """
    clean = in_noise(clip.sound, None, 1, _BEFORE, _AFTER)
    found = product.hear(clean, GAUGE)
    if len(found) != 1 or found[0].text != clip.words or len(found[0].words) < 2:
        return None
    border = found[0].words[0].end_ms * SAMPLES_PER_SECOND // 1000 - _BEFORE
    at = _quietest(clip.sound, border)
    pause = np.zeros(pause_ms * SAMPLES_PER_SECOND // 1000, np.int16)
    sound = np.concatenate([clip.sound[:at], pause, clip.sound[at:]])
    return Clip(clip.name, clip.speaker, clip.group, clip.words, clip.value, sound)


def _quietest(sound: Sound, around: int) -> int:
    size, reach = SAMPLES_PER_SECOND // 50, SAMPLES_PER_SECOND * 6 // 100
    low = max(0, min(around - reach, len(sound) - size))
    places = range(low, max(low + 1, min(around + reach, len(sound) - size)), 80)
    return (
        min(places, key=lambda at: float(np.mean(sound[at : at + size].astype(float) ** 2)))
        + size // 2
    )


def delays_line(title: str, turns: Sequence[Turn]) -> dict[str, object]:
    delays = np.array([t.delay_s for t in turns if t.delay_s is not None])
    median, p95 = (float(np.quantile(delays, q)) for q in (0.5, 0.95))
    cut = rate((t.speaker, not t.whole) for t in turns)
    print(
        f"  {title:8} median {median:.2f} s, p95 {p95:.2f} s, in pieces or unheard {cut}",
        flush=True,
    )
    return {"median_s": round(median, 3), "p95_s": round(p95, 3), "pieces": cut.as_json()}


def pauses_line(product: Product, clips: Sequence[Clip], level: float | None) -> dict[str, object]:
    found: dict[str, object] = {}
    for pause_ms in PAUSES_MS:
        rows = []
        for clip in clips:
            longer = spliced(product, clip, pause_ms)
            if longer is None:
                continue
            sound = in_noise(longer.sound, level, zlib.crc32(clip.name.encode()), _BEFORE, _AFTER)
            heard = product.utterances(sound, GAUGE)
            pieces = [u for u in heard if u.decoded.words]
            meaning = product.meaning([as_transcript(u) for u in heard], GAUGE)
            rows.append((clip.speaker, len(pieces) > 1, meaning == as_number(clip)))
        cut = rate((speaker, cut) for speaker, cut, _ in rows)
        right = rate((speaker, right) for speaker, _, right in rows)
        print(f"  pause {pause_ms} ms: cut {cut}; right {right}", flush=True)
        found[str(pause_ms)] = {"cut": cut.as_json(), "right": right.as_json()}
    return found


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
    product = Product(model, english(), thresholds())
    peer = Peer(model, english())
    clips = list(readings(chosen.speech))[:: chosen.every]
    several = [clip for clip in clips if " " in clip.words]
    found: dict[str, object] = {}
    for name, level in levels_of(chosen.noise):
        print(f"noise {name}: {len(clips)} readings")
        sounds = [
            in_noise(c.sound, level, zlib.crc32(c.name.encode()), _BEFORE, _AFTER) for c in clips
        ]
        pairs = list(zip(clips, sounds, strict=True))
        row: dict[str, object] = {
            "product": delays_line("product", [of_product(product, c, s) for c, s in pairs]),
            "peer": delays_line("peer", [of_peer(peer, c, s) for c, s in pairs]),
        }
        if not chosen.no_pauses:
            row["pauses"] = pauses_line(product, several, level)
        found[name] = row
    if chosen.json:
        chosen.json.write_text(json.dumps({"noise": found}, indent=1), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
