"""Noise of a yard, synthesised: seeded, and free of any licence. No recording of a real yard.

A diesel at idle: firing at 32.5 Hz (a six-cylinder four-stroke at 650 rpm) with its
harmonics, a pink floor, and a knock of 0.9 to 3.5 kHz gated by each firing.  The parts are
weighed so that the A-weighted level lies 10 dB below the unweighted one; a published table
of lorries shows 19 to 40 dB with the infrasound counted (V. Khomich, "Low-frequency
characteristics of motor transport"), which a headset's microphone hardly passes.  A level in
dB here compares unweighted levels; within 300 to 4000 Hz the noise is 10 dB weaker.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from walkaround.speech.ports import SAMPLES_PER_SECOND

Floats = NDArray[np.float64]
Sound = NDArray[np.int16]
FIRING_HZ = 32.5
_HARMONICS = 24
QUIET_RMS = 3.0
"""Of the dither under clean speech: a microphone is never digitally silent."""


def diesel(length: int, seed: int) -> Floats:
    """`length` samples at 16 kHz with an RMS of 1."""
    rng = np.random.default_rng(seed)
    time = np.arange(length) / SAMPLES_PER_SECOND
    # the idle hunts a little
    phase = FIRING_HZ * (time + 0.004 * np.sin(2 * np.pi * 0.4 * time + rng.uniform(0, 6)))
    hum = np.zeros(length)
    for n in range(1, _HARMONICS + 1):
        hum += np.sin(2 * np.pi * (n * phase + rng.uniform())) / n
    gate = (
        np.exp(-10 * np.mod(phase, 1.0))
        * rng.uniform(0.6, 1.4, length // 400 + 1).repeat(400)[:length]
    )
    knock = band(rng.normal(size=length), 900, 3500) * gate
    return unit(unit(hum) + 0.3 * unit(pink(length, rng)) + 0.2 * unit(knock))


def pink(length: int, rng: np.random.Generator) -> Floats:
    """Noise whose power falls by 3 dB an octave."""
    spectrum = np.fft.rfft(rng.normal(size=length))
    hertz = np.fft.rfftfreq(length, 1 / SAMPLES_PER_SECOND)
    spectrum /= np.sqrt(np.maximum(hertz, 20.0))
    return np.fft.irfft(spectrum, length)


def hiss(length: int, seed: int) -> Floats:
    """An air leak: white above 500 Hz."""
    rng = np.random.default_rng(seed)
    return unit(band(rng.normal(size=length), 500, 8000))


def band(noise: Floats, low_hz: float, high_hz: float) -> Floats:
    spectrum = np.fft.rfft(noise)
    hertz = np.fft.rfftfreq(len(noise), 1 / SAMPLES_PER_SECOND)
    spectrum[(hertz < low_hz) | (hertz > high_hz)] = 0
    return np.fft.irfft(spectrum, len(noise))


def unit(sound: Floats) -> Floats:
    return np.asarray(sound / max(float(np.sqrt(np.mean(sound**2))), 1e-12), dtype=np.float64)


def in_noise(
    speech: Sound, snr_db: float | None, seed: int, before: int = 16000, after: int = 24000
) -> Sound:
    """The speech with noise before, during and after.

    `snr_db` compares the speech's active RMS with the noise's; None adds only as much as the
    recording's own room has, so that the room does not set in with the clip.  `before` and
    `after` count samples.
    """
    whole = np.concatenate([np.zeros(before), speech.astype(np.float64), np.zeros(after)])
    if snr_db is None:
        rng = np.random.default_rng(seed)
        room = rng.normal(0, max(QUIET_RMS, quiet_rms(speech)), len(whole))
        room[before : before + len(speech)] *= 0.1
        whole += room
    else:
        level = active_rms(speech) / 10 ** (snr_db / 20)
        whole += diesel(len(whole), seed) * level
    return np.asarray(np.clip(whole, -32768, 32767), dtype=np.int16)


def quiet_rms(speech: Sound) -> float:
    """RMS of the quietest tenth of the 20 ms frames: the room of the recording."""
    size = SAMPLES_PER_SECOND // 50
    frames = speech[: len(speech) // size * size].astype(np.float64).reshape(-1, size)
    return float(np.sqrt(np.quantile(np.mean(frames**2, axis=1), 0.1))) if len(frames) else 0.0


def active_rms(speech: Sound | Floats) -> float:
    """RMS of the 20 ms frames within 30 dB of the loudest: pauses do not count."""
    size = SAMPLES_PER_SECOND // 50
    frames = speech[: len(speech) // size * size].astype(np.float64).reshape(-1, size)
    power = np.mean(frames**2, axis=1) if len(frames) else np.array([1.0])
    active = power[power > power.max() / 1000]
    return float(np.sqrt(active.mean())) if len(active) else 1.0
