"""Ten noises of a yard, synthesised from a seed: none of them is a recording, and none an answer.

Shapes and levels are estimates (common practice, no source).  Each is made for a microphone
at the mouth: the level is in counts of 32 767, where a voice has about 2000.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from tests.benchmarks.noise import Floats, Sound, band, diesel, pink, unit
from walkaround.speech.ports import SAMPLES_PER_SECOND

VOICE_RMS = 2000.0
Make = Callable[[int, np.random.Generator], Floats]


@dataclass(frozen=True)
class Noise:
    make: Make
    rms: float  # counts


def _seconds(length: int) -> Floats:
    return np.arange(length) / SAMPLES_PER_SECOND


def _seed(rng: np.random.Generator) -> int:
    return int(rng.integers(1 << 31))


def _idle(length: int, rng: np.random.Generator) -> Floats:
    return diesel(length, _seed(rng))


def _high_idle(length: int, rng: np.random.Generator) -> Floats:
    """Twice the firing rate: the same waves, played at double speed."""
    return diesel(2 * length, _seed(rng))[::2]


def _fan(length: int, rng: np.random.Generator) -> Floats:
    """Wide noise with the blades' beat: eight blades at 25 turns a second."""
    beat = 1 + 0.3 * np.sin(2 * np.pi * 200 * _seconds(length))
    return unit(pink(length, rng) * beat)


def _hiss(length: int, rng: np.random.Generator) -> Floats:
    return unit(band(rng.normal(size=length), 500, 8000))


def _purges(length: int, rng: np.random.Generator) -> Floats:
    """A dryer's purge every three seconds or so, dying away within one."""
    shape = np.full(length, 0.01)
    at = int(rng.uniform(0, 1) * SAMPLES_PER_SECOND)
    while at < length:
        shape[at:] += np.exp(-_seconds(length - at) / 0.3)
        at += int(rng.uniform(2, 4) * SAMPLES_PER_SECOND)
    return unit(band(rng.normal(size=length), 700, 8000) * shape)


def _compressor(length: int, rng: np.random.Generator) -> Floats:
    """A knock of 30 strokes a second that comes in and goes out every two seconds."""
    time = _seconds(length)
    stroke = np.exp(-12 * np.mod(30 * time, 1.0))
    on = (np.mod(time, 4.0) < 2.0) * 0.9 + 0.1
    return unit(unit(band(rng.normal(size=length), 300, 2500) * stroke) * on)


def _drain(length: int, rng: np.random.Generator) -> Floats:
    """A tank drained at arm's length: loud, with spitting of water in it."""
    spit = 1 + 2 * (np.repeat(rng.uniform(size=length // 800 + 1), 800)[:length] > 0.9)
    return unit(band(rng.normal(size=length), 250, 8000) * spit)


def _wind(length: int, rng: np.random.Generator) -> Floats:
    """Gusts over the microphone: nearly all below 200 Hz."""
    gust = 1 + 0.9 * np.sin(2 * np.pi * 0.3 * _seconds(length) + rng.uniform(0, 6))
    spectrum = np.fft.rfft(rng.normal(size=length))
    spectrum /= np.maximum(np.fft.rfftfreq(length, 1 / SAMPLES_PER_SECOND), 30.0) ** 1.5
    return unit(np.fft.irfft(spectrum, length) * gust)


def _buzzer(length: int, rng: np.random.Generator) -> Floats:
    """A low-pressure buzzer in the cab: a soft square wave of 400 Hz, broken every half second."""
    time = _seconds(length)
    wave = np.tanh(3 * np.sin(2 * np.pi * 400 * time + rng.uniform(0, 6)))
    return unit(wave * (np.mod(time, 0.7) < 0.5))


ALONE: Mapping[str, Noise] = {
    "idle": Noise(_idle, 2000),
    "high idle": Noise(_high_idle, 2000),
    "fan": Noise(_fan, 1500),
    "hiss": Noise(_hiss, 1500),
    "purge bursts": Noise(_purges, 2500),
    "compressor cycling": Noise(_compressor, 1200),
    "drain at arm's length": Noise(_drain, 3000),
    "wind": Noise(_wind, 2500),
    "low-pressure buzzer": Noise(_buzzer, 1500),
}
"""Nine noises; the tenth, radio speech, is made of speech by `radio`."""
RADIO_RMS = 350.0


def noise(name: str, seconds: float, seed: int = 1) -> Floats:
    """The noise alone, in counts."""
    length = int(seconds * SAMPLES_PER_SECOND)
    made = ALONE[name].make(length, np.random.default_rng([seed, *name.encode()]))
    return made * ALONE[name].rms


def radio(speech: Sound, seconds: float) -> Floats:
    """Speech over again for so long, through a small loudspeaker across the cab."""
    length = int(seconds * SAMPLES_PER_SECOND)
    whole = np.resize(speech.astype(np.float64), length)
    return unit(band(whole, 300, 3400)) * RADIO_RMS


def as_sound(counts: Floats) -> Sound:
    return np.asarray(np.clip(np.rint(counts), -32768, 32767), dtype=np.int16)
