"""The program's voice: sentences made into sound by pyttsx3 in a child, and kept on disk.

A sound is kept by its text, voice, rate and the versions that made it, so a walk with a
warm cache never waits for the engine.  16 kHz, mono, signed 16-bit little-endian.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterable, Sequence
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import platformdirs

from walkaround.devices.child import child_environment, module_command
from walkaround.devices.regular import LIST_BYTES, read_regular
from walkaround.errors import VoiceError
from walkaround.speech.ports import SAMPLES_PER_SECOND

DEFAULT_VOICE = "gmw/en-us" if sys.platform.startswith("linux") else ""
"""espeak-ng's US English; on Windows and macOS the system's own default is used instead."""
DEFAULT_RATE = 160
"""Words a minute; espeak-ng's own default of 175 is brisk beside an engine."""
_MADE_BY = "1"  # raise when the sound of the same sentence changes
_START_S, _SENTENCE_S = 10.0, 2.0  # 0.07 s when idle; 6 s were seen on an overloaded machine
_QUIETEST = 200  # peak of 32767: less is silence, not speech
_AT_ONCE = 200  # sentences a child


def default_cache() -> Path:
    """Where sounds are kept when nothing else is said."""
    return platformdirs.user_cache_path("walkaround", appauthor=False) / "voice"


class Pyttsx3Voice:
    """Makes sound of sentences (the port `speech.ports.Voice`).

    `cache` is a folder, made when needed; without one that can be written the voice still speaks.
    """

    def __init__(
        self, cache: Path | None = None, voice: str = DEFAULT_VOICE, rate: int = DEFAULT_RATE
    ) -> None:
        self._cache = cache if cache is not None else default_cache()
        self._voice, self._rate = voice, rate
        self._stamp = "|".join(
            [_MADE_BY, voice, str(rate), _version("pyttsx3"), _version("espeakng-loader")]
        )

    def sound_of(self, sentence: str) -> bytes:
        """The sentence as sound. Raises VoiceError."""
        kept = self._kept(sentence)
        return kept if kept is not None else self._made([sentence])[0]

    def warm(
        self, sentences: Iterable[str], progress: Callable[[int, int], None] | None = None
    ) -> int:
        """Make every sentence that is not kept yet, many to a child; returns how many were made.

        `progress(done, of)` is called as they come. Raises VoiceError.
        """
        unique = dict.fromkeys(sentences)
        missing = [sentence for sentence in unique if not self._path(sentence).is_file()]
        for begin in range(0, len(missing), _AT_ONCE):
            done = self._made(missing[begin : begin + _AT_ONCE])
            if progress is not None:
                progress(begin + len(done), len(missing))
        return len(missing)

    def _path(self, sentence: str) -> Path:
        name = hashlib.sha256(f"{self._stamp}|{sentence}".encode()).hexdigest()
        return self._cache / name[:2] / f"{name}.s16"

    def _kept(self, sentence: str) -> bytes | None:
        try:
            sound = read_regular(self._path(sentence), LIST_BYTES)
        except OSError:
            return None
        return sound if sound and len(sound) % 2 == 0 else None

    def _made(self, sentences: Sequence[str]) -> list[bytes]:
        with tempfile.TemporaryDirectory(prefix="walkaround-voice-") as folder:
            files = [Path(folder) / f"{place}.s16" for place in range(len(sentences))]
            self._run(list(zip(sentences, map(str, files), strict=True)))
            sounds = [self._checked(*pair) for pair in zip(sentences, files, strict=True)]
        for sentence, sound in zip(sentences, sounds, strict=True):
            self._keep(sentence, sound)
        return sounds

    def _run(self, jobs: list[tuple[str, str]]) -> None:
        order = {
            "voice": self._voice,
            "rate": self._rate,
            "out_hz": SAMPLES_PER_SECOND,
            "jobs": jobs,
        }
        try:
            child = subprocess.run(
                module_command("walkaround.devices.voice_process"),
                input=json.dumps(order).encode(),
                capture_output=True,
                timeout=_START_S + _SENTENCE_S * len(jobs),
                env=child_environment(),
                check=False,
            )
        except subprocess.TimeoutExpired:
            raise VoiceError(
                "the voice did not answer in time; read the screen meanwhile"
            ) from None
        except OSError as bad:
            raise VoiceError(f"the voice cannot be started ({bad.strerror}); restart") from bad
        if child.returncode != 0:
            said = child.stderr.decode(errors="replace").strip().splitlines() or ["no reason given"]
            raise VoiceError(
                f"the voice {self._voice!r} cannot speak ({said[-1][:160]});"
                " choose another, or install espeak-ng"
            )

    def _checked(self, sentence: str, file: Path) -> bytes:
        try:
            sound = read_regular(file, LIST_BYTES)
        except OSError:
            sound = b""
        if len(sound) < 2 or max(memoryview(sound).cast("h")) < _QUIETEST:
            raise VoiceError(f"the voice made no sound of {sentence[:60]!r}; read the screen")
        return sound

    def _keep(self, sentence: str, sound: bytes) -> None:
        """Into the cache, whole or not at all; a cache that cannot be written is no error."""
        path = self._path(sentence)
        with contextlib.suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, temporary = tempfile.mkstemp(dir=path.parent)
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(sound)
                Path(temporary).replace(path)
            except OSError:
                Path(temporary).unlink(missing_ok=True)
                raise


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return "none"
