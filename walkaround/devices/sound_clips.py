"""Writes a recorded answer as FLAC into a walk's folder, named by its hash.

The journal names a recording before its file is there: cut short in between, a recording is
missing, which is as if it were deleted, and never one too many, which nobody made.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import soundfile

from walkaround.devices.disk import make_folder, write_finished
from walkaround.devices.personal import SOUND_NAME, SUFFIX
from walkaround.errors import DiskError
from walkaround.records.sound import Clip
from walkaround.speech.ports import SAMPLES_PER_SECOND


def pack_sound(question: str, from_ms: int, sound: bytes) -> tuple[Clip, bytes]:
    """What the journal says of one answer (16 kHz, one channel, 16-bit), and its FLAC file."""
    samples = np.frombuffer(sound, dtype="<i2")
    packed = io.BytesIO()
    soundfile.write(packed, samples, SAMPLES_PER_SECOND, format="FLAC", subtype="PCM_16")
    content = packed.getvalue()
    until_ms = from_ms + samples.size * 1000 // SAMPLES_PER_SECOND
    return Clip(question, hashlib.sha256(content).hexdigest(), from_ms, until_ms), content


def keep_sound(walk: Path, clip: Clip, content: bytes) -> None:
    """Write its file, readable by the owner only. Raises DiskError."""
    make_folder(walk / SOUND_NAME)
    write_finished(walk / SOUND_NAME / f"{clip.sha256}{SUFFIX}", content, mode=0o600)


class SoundRecorder:
    """Packs the answers of a walk and writes them once its journal names them.

    Sound is optional evidence: a disk that refuses it is told of, once, and stops no walk.
    """

    def __init__(self, walk: Path, tell: Callable[[str], None]) -> None:
        self._walk, self._tell = walk, tell
        self._refused = False

    def pack(self, question: str, from_ms: int, sound: bytes) -> tuple[Clip, bytes]:
        return pack_sound(question, from_ms, sound)

    def keep(self, clip: Clip, content: bytes) -> None:
        """After the journal named it."""
        try:
            keep_sound(self._walk, clip, content)
        except DiskError as bad:
            if not self._refused:
                self._tell(f"an answer's sound is not kept: {bad}; the walk goes on")
            self._refused = True
