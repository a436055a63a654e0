"""`walkaround setup`: what is needed and whether it is there: model, voice, sound, key.

Run it again at any time: nothing is done twice.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path

from walkaround.cli.screen import show
from walkaround.devices.ear.child import EarSetup
from walkaround.devices.ear.fed import FedEar
from walkaround.devices.keys import KeyStore
from walkaround.devices.library import Library
from walkaround.devices.model import decoding_folder, ensure_model
from walkaround.devices.model.install import pinned_model, present_model
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.errors import ModelError, WalkaroundError
from walkaround.records.signature import WalkKind
from walkaround.speech.grammar import every_word
from walkaround.speech.phrases import load_phrases


def add(parser: argparse.ArgumentParser) -> None:
    """The command's options."""
    parser.add_argument(
        "--model",
        type=Path,
        metavar="FOLDER|ARCHIVE",
        help="take the speech model from here instead of the network",
    )


def run(arguments: argparse.Namespace) -> int:
    """Prints one line for each part; the exit code of the first that is missing."""
    library, codes = Library(), list[int]()
    parts: tuple[tuple[str, Callable[[], str]], ...] = (
        ("speech model", lambda: _model(arguments.model)),
        ("recogniser", lambda: _recogniser(library)),
        ("voice", lambda: f"{len(Pyttsx3Voice().sound_of('Ready.')) / 32_000:.1f} s of sound"),
        ("sound devices", _sound),
        ("signing key", lambda: KeyStore().key(WalkKind.WALK).thumbprint),
    )
    for name, check in parts:
        try:
            show(f"{name}: {check()}")
        except WalkaroundError as error:
            show(f"{name}: NOT READY. {error}")
            codes.append(error.exit_code)
    return codes[0] if codes else 0


def _model(given: Path | None) -> str:
    if given is not None and not given.exists():
        raise ModelError(f"there is no folder or archive at {given}; check the name")
    there = present_model(pinned_model()) if given is not None else None
    if there is not None:
        return f"{there} (it is there and right already; {given} was not looked at)"
    return str(ensure_model(progress=show, given=given))


def _recogniser(library: Library) -> str:
    ear = FedEar(EarSetup.of(library, decoding_folder(ensure_model())))
    try:
        ear.start()
        ear.wait_until_ready()
        phrases = library.read("phrases", "en")
        unknown = ear.unknown_words(every_word(load_phrases(phrases.content, phrases.file)))
    finally:
        ear.close()
    if unknown:
        raise ModelError(f"the model does not know these words: {', '.join(unknown)}")
    return "ready, and it knows every answer word"


def _sound() -> str:
    from walkaround.devices.ear.streams import device_names  # noqa: PLC0415 - loads PortAudio

    microphones, loudspeakers = device_names()
    if not microphones or not loudspeakers:
        return "none (a live walk needs a microphone and a loudspeaker; --typed does not)"
    return f"microphones {', '.join(microphones)}; loudspeakers {', '.join(loudspeakers)}"
