"""The short-lived child that turns sentences into sound: one engine, one sentence at a time.

Reads one JSON object from stdin: {"voice", "rate", "out_hz", "jobs": [[sentence, file], ...]};
writes each file as raw signed 16-bit mono and then its place in the list, a line each, to stdout.

Why so: pyttsx3 keeps only the last of several sentences saved before one run, applies a rate
late when it is changed after the first, and can hang or crash when threads share it.  So the
properties are set once, every sentence has a run of its own, and nothing else lives here.
"""

from __future__ import annotations

import ctypes
import json
import os
import sys
import tempfile
import wave
from pathlib import Path
from typing import Any

from walkaround.devices.resample import resampled


def find_espeak() -> None:
    """Make libespeak-ng loadable by its name: the system's, else the espeakng-loader package's."""
    if not sys.platform.startswith("linux"):
        return  # Windows and macOS speak with voices of their own
    try:
        ctypes.CDLL("libespeak-ng.so.1")
    except OSError:
        import espeakng_loader  # noqa: PLC0415 - 10 MB that are wanted only here

        os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()
        ctypes.CDLL(espeakng_loader.get_library_path() + ".1", mode=ctypes.RTLD_GLOBAL)


def make_engine(voice: str, rate: int) -> Any:
    """A pyttsx3 engine with its voice and rate (words a minute) set, once."""
    find_espeak()
    import pyttsx3  # noqa: PLC0415 - it loads the library when it is imported

    engine = pyttsx3.init()
    if voice:
        known = {text for at in engine.getProperty("voices") for text in (at.id, at.name)}
        if voice.partition("+")[0] not in known:  # setProperty itself is silent about it
            raise LookupError(f"no voice of that name among {len(known)} names")
        engine.setProperty("voice", voice)
    engine.setProperty("rate", rate)
    return engine


def wait_for_the_end() -> None:
    """pyttsx3's loop may end before espeak-ng's own thread has delivered the sound.

    Seen in 3 of 181 sentences on a busy machine: no file yet, or an empty one.
    """
    if sys.platform.startswith("linux"):
        from pyttsx3.drivers import _espeak  # noqa: PLC0415 - loads the library

        _espeak.Synchronize()


def speak(engine: Any, sentence: str, folder: Path, out_hz: int) -> bytes:
    """The sentence as raw signed 16-bit mono at `out_hz`."""
    path = folder / "sentence.wav"
    path.unlink(missing_ok=True)
    engine.save_to_file(sentence, str(path))
    engine.runAndWait()
    wait_for_the_end()
    with wave.open(str(path), "rb") as file:
        if file.getsampwidth() != 2 or file.getnchannels() != 1:
            raise ValueError("the voice made sound of an unknown shape")
        return resampled(file.readframes(file.getnframes()), file.getframerate(), out_hz)


def main() -> int:
    order = json.load(sys.stdin)
    answers = os.fdopen(os.dup(1), "w", encoding="ascii")
    os.dup2(2, 1)  # pyttsx3 prints where it saved
    engine = make_engine(order["voice"], order["rate"])
    with tempfile.TemporaryDirectory(prefix="walkaround-voice-") as folder:
        for place, (sentence, file) in enumerate(order["jobs"]):
            Path(file).write_bytes(speak(engine, sentence, Path(folder), order["out_hz"]))
            answers.write(f"{place}\n")
            answers.flush()
    return 0


if __name__ == "__main__":
    # The engine is left to the system: espeak-ng may fail an assertion when it is taken down.
    code = main()
    sys.stderr.flush()
    os._exit(code)
