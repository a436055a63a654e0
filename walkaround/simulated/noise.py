"""Made-up yard noise from a seed: no recording, so no licence. 16 kHz, float64 around ±1.

A diesel at idle is a row of harmonics of its firing frequency (32.5 Hz: a six-cylinder
four-stroke at 650 turns, fires three times a turn), pink noise, and combustion knock heard as
0.9-3.5 kHz noise gated at the firing frequency.  Levels and shapes are estimates, not
measurements.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from walkaround.speech.ports import SAMPLES_PER_SECOND

Sound = NDArray[np.float64]

FIRING_HZ = 32.5
_FRAME = 320  # 20 ms
_HARMONICS = 24


def _unit(sound: Sound) -> Sound:
    """Scaled to a root mean square of one."""
    level = float(np.sqrt(np.mean(sound**2))) if sound.size else 0.0
    return sound / level if level else sound


def _shaped(length: int, dice: np.random.Generator, gain: Callable[[Sound], Sound]) -> Sound:
    """White noise with the given gain over frequency (Hz)."""
    spectrum = np.fft.rfft(dice.standard_normal(length))
    frequencies = np.fft.rfftfreq(length, 1 / SAMPLES_PER_SECOND).astype(np.float64)
    shaped: Sound = np.fft.irfft(spectrum * gain(frequencies), length)
    return _unit(shaped)


def _band(low_hz: float, high_hz: float) -> Callable[[Sound], Sound]:
    return lambda hz: ((hz >= low_hz) & (hz <= high_hz)).astype(np.float64)


def _pink(hz: Sound) -> Sound:
    return 1 / np.sqrt(np.maximum(hz, 20.0))


def diesel(length: int, dice: np.random.Generator) -> Sound:
    """A diesel at idle."""
    seconds = np.arange(length) / SAMPLES_PER_SECOND
    wander = 1 + 0.01 * np.sin(2 * np.pi * 0.4 * seconds + dice.uniform(0, 6.28))
    turn = 2 * np.pi * FIRING_HZ * np.cumsum(wander) / SAMPLES_PER_SECOND
    hum = np.zeros(length)
    for number in range(1, _HARMONICS + 1):
        hum += np.sin(number * turn + dice.uniform(0, 6.28)) / number
    knock = _shaped(length, dice, _band(900, 3500)) * np.maximum(0, np.sin(turn)) ** 6
    return _unit(_unit(hum) + 0.8 * _shaped(length, dice, _pink) + 0.5 * _unit(knock))


def wind(length: int, dice: np.random.Generator) -> Sound:
    """Gusts: low noise that swells."""
    seconds = np.arange(length) / SAMPLES_PER_SECOND
    gust = 1 + 0.6 * np.sin(2 * np.pi * 0.3 * seconds + dice.uniform(0, 6.28))
    return _unit(_shaped(length, dice, lambda hz: 1 / np.maximum(hz, 30.0)) * gust)


def hiss(length: int, dice: np.random.Generator) -> Sound:
    """Air escaping: noise that rises with frequency."""
    return _shaped(length, dice, lambda hz: np.where(hz > 800, np.sqrt(hz), 0.0))


def purge(length: int, dice: np.random.Generator) -> Sound:
    """A dryer's purge: a burst of hiss that dies away within a second."""
    seconds = np.arange(length) / SAMPLES_PER_SECOND
    return _unit(hiss(length, dice) * np.exp(-seconds / 0.35))


def buzzer(length: int, dice: np.random.Generator) -> Sound:
    """A low-pressure buzzer: a 400 Hz square wave, softened."""
    seconds = np.arange(length) / SAMPLES_PER_SECOND
    phase = dice.uniform(0, 6.28)
    return _unit(np.tanh(3 * np.sin(2 * np.pi * 400 * seconds + phase)))


NOISES: Mapping[str, Callable[[int, np.random.Generator], Sound]] = {
    "diesel": diesel,
    "wind": wind,
    "hiss": hiss,
    "purge": purge,
    "buzzer": buzzer,
}


def speech_level(sound: Sound) -> float:
    """Root mean square of the active 20 ms frames: those within 30 dB of the loudest."""
    frames = sound[: sound.size // _FRAME * _FRAME].reshape(-1, _FRAME)
    if not frames.size:
        return float(np.sqrt(np.mean(sound**2))) if sound.size else 0.0
    power = np.mean(frames**2, axis=1)
    active = power >= power.max() * 1e-3
    return float(np.sqrt(np.mean(power[active])))


def mixed(speech: Sound, noise: Sound, snr_db: float) -> Sound:
    """Speech in noise of the same length, at that ratio of active speech to noise."""
    level = speech_level(speech) / 10 ** (snr_db / 20)
    return speech + _unit(noise) * level


def loudness(speech: Sound, snr_db: float) -> float:
    """Root mean square that noise must have to stand `snr_db` below the speech."""
    return speech_level(speech) / 10 ** (snr_db / 20)
