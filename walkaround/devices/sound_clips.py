"""Writes a recorded answer as FLAC into a walk's folder, named by its hash."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path

import numpy as np
import soundfile

from walkaround.devices.disk import make_folder, write_finished
from walkaround.devices.personal import SOUND_NAME, SUFFIX
from walkaround.records.sound import Clip
from walkaround.speech.ports import SAMPLES_PER_SECOND


def keep_sound(walk: Path, question: str, from_ms: int, sound: bytes) -> Clip:
    """Write one answer (16 kHz, one channel, 16-bit little-endian). Raises DiskError."""
    samples = np.frombuffer(sound, dtype="<i2")
    packed = io.BytesIO()
    soundfile.write(packed, samples, SAMPLES_PER_SECOND, format="FLAC", subtype="PCM_16")
    content = packed.getvalue()
    sha256 = hashlib.sha256(content).hexdigest()
    make_folder(walk / SOUND_NAME)
    write_finished(walk / SOUND_NAME / f"{sha256}{SUFFIX}", content, mode=0o600)
    until_ms = from_ms + samples.size * 1000 // SAMPLES_PER_SECOND
    return Clip(question, sha256, from_ms, until_ms)
