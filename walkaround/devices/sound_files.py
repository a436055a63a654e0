"""Recordings of answers on the disk: FLAC files in a walk's folder, named by their hash.

They are written only for a walk whose opening says until when they are kept, and they are
deleted after that day, or before it on demand.
"""

from __future__ import annotations

import hashlib
import io
from datetime import date
from pathlib import Path

import numpy as np
import soundfile

from walkaround.devices.disk import disk_error, make_folder, write_finished
from walkaround.records.sound import Clip
from walkaround.speech.ports import SAMPLES_PER_SECOND

SOUND_NAME = "sound"
_SUFFIX = ".flac"


def keep_sound(walk: Path, question: str, from_ms: int, sound: bytes) -> Clip:
    """Write one answer (16 kHz, one channel, 16-bit little-endian). Raises DiskError."""
    samples = np.frombuffer(sound, dtype="<i2")
    packed = io.BytesIO()
    soundfile.write(packed, samples, SAMPLES_PER_SECOND, format="FLAC", subtype="PCM_16")
    content = packed.getvalue()
    sha256 = hashlib.sha256(content).hexdigest()
    make_folder(walk / SOUND_NAME)
    write_finished(walk / SOUND_NAME / f"{sha256}{_SUFFIX}", content, mode=0o600)
    until_ms = from_ms + samples.size * 1000 // SAMPLES_PER_SECOND
    return Clip(question, sha256, from_ms, until_ms)


def sounds_in(walk: Path) -> dict[str, bytes] | None:
    """The recordings by name; None when none were ever kept here. Raises DiskError."""
    folder = walk / SOUND_NAME
    if not folder.is_dir():
        return None
    try:
        return {at.name: at.read_bytes() for at in sorted(folder.glob(f"*{_SUFFIX}"))}
    except OSError as bad:
        raise disk_error(folder, bad) from bad


def delete_sounds(walk: Path) -> int:
    """Delete every recording of a walk; how many there were. Raises DiskError."""
    folder = walk / SOUND_NAME
    count = 0
    try:
        for at in folder.glob(f"*{_SUFFIX}"):
            at.unlink()
            count += 1
    except OSError as bad:
        raise disk_error(folder, bad) from bad
    return count


def is_over(sound_until: str, today: date) -> bool:
    """Whether recordings kept until that day must be gone; what is no day is over at once."""
    try:
        return today > date.fromisoformat(sound_until)
    except ValueError:
        return True
