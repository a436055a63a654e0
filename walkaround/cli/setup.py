"""`walkaround setup`: what is needed and whether it is there: model, voice, sound, key.

Run it again at any time: nothing is done twice.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from walkaround.cli import options
from walkaround.cli.screen import show
from walkaround.devices.clock import wall_now
from walkaround.devices.ear.child import EarSetup
from walkaround.devices.ear.fed import FedEar
from walkaround.devices.keys import KeyStore
from walkaround.devices.library import Library, user_folder
from walkaround.devices.model import decoding_folder, ensure_model
from walkaround.devices.model.install import pinned_model, present_model
from walkaround.devices.sound_trial import SOUND_TRIAL, keep, last_kept, sound_trial
from walkaround.devices.stage_live import LiveStage
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.errors import MicrophoneError, ModelError, WalkaroundError
from walkaround.records.signature import WalkKind
from walkaround.speech.grammar import every_word
from walkaround.speech.phrases import load_phrases
from walkaround.speech.thresholds import load_thresholds


def add(parser: argparse.ArgumentParser) -> None:
    """The command's options."""
    parser.add_argument(
        "--model",
        type=Path,
        metavar="FOLDER|ARCHIVE",
        help="take the speech model from here instead of the network",
    )
    parser.add_argument(
        "--sound",
        action="store_true",
        help="try microphone and loudspeaker by voice, here and at the vehicle's far corner",
    )
    options.add_sound(parser)


def run(arguments: argparse.Namespace) -> int:
    """Prints one line for each part; the exit code of the first that is missing."""
    library, codes = Library(), list[int]()
    if arguments.sound:
        return _try_sound(arguments, library)
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


def _try_sound(arguments: argparse.Namespace, library: Library) -> int:
    """Exit code 0 when the far corner is heard well enough."""
    setup = EarSetup.of(library, decoding_folder(ensure_model(progress=show)))
    phrases = library.read("phrases", "en")
    thresholds = load_thresholds(setup.thresholds.content, setup.thresholds.file)
    stage = LiveStage(setup, Pyttsx3Voice(), show, options.sound_choice(arguments))
    with closing(stage):
        stage.open()
        result = sound_trial(
            stage,
            load_phrases(phrases.content, phrases.file),
            thresholds,
            lambda: stage.level.voice_over_floor_db,
            when=wall_now(),
            microphone=arguments.microphone,
        )
    keep(result, user_folder() / SOUND_TRIAL)
    show(result.sentence())
    return 0 if result.good else MicrophoneError.exit_code


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
    tried = last_kept(user_folder() / SOUND_TRIAL)
    last = f"; last tried {tried.when}: {tried.sentence()}" if tried else "; try it with --sound"
    if not microphones or not loudspeakers:
        return "none (a live walk needs a microphone and a loudspeaker; --typed does not)"
    return f"microphones {', '.join(microphones)}; loudspeakers {', '.join(loudspeakers)}{last}"
