"""`walkaround walk`: a check of your own vehicle, by voice or typed, live."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping
from contextlib import ExitStack

from walkaround.cli import options
from walkaround.cli.keys import ask_passphrase
from walkaround.cli.material import files_from_library, judge_of, load
from walkaround.cli.outcome import report_walk
from walkaround.cli.session import Session, begin, latest_unfinished, take_up
from walkaround.devices.clock import boot_id, boot_ms, wall_now
from walkaround.devices.ear.child import EarSetup
from walkaround.devices.keys import KeyStore
from walkaround.devices.library import Library
from walkaround.devices.model import decoding_folder, ensure_model
from walkaround.devices.stage_live import LiveStage, SoundChoice
from walkaround.devices.stage_typed import TypedStage
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.errors import DiskError, SigningKeyError, UsageError
from walkaround.exchange import SittingOpened, Wording
from walkaround.procedure.profile import Profile
from walkaround.records.keys import SigningKey
from walkaround.records.signature import WalkKind
from walkaround.speech.ports import Stage
from walkaround.walk import Walk


def add(parser: argparse.ArgumentParser) -> None:
    """The command's options."""
    options.add_walk(parser)
    parser.add_argument("--typed", action="store_true", help="type the answers, read the prompts")
    parser.add_argument("--microphone", default="", metavar="NAME", help="part of its name")
    parser.add_argument("--loudspeaker", default="", metavar="NAME", help="part of its name")
    parser.add_argument("--second", default="", metavar="NAME", help="tells of a lost headset")
    parser.add_argument(
        "--open-loudspeaker", action="store_true", help="no headset: do not listen while speaking"
    )


def run(arguments: argparse.Namespace) -> int:
    """Walks; exit code 3 when it ended before it was finished."""
    library = Library()
    key = _key()
    if arguments.resume:
        session = take_up(latest_unfinished(arguments.records), key)
        if session.kind is WalkKind.SIMULATED:
            with session:
                raise UsageError("the last unfinished walk is a demo; resume it with 'demo'")
    else:
        session = _new(arguments, library, key)
    with session, ExitStack() as open_things:
        stage = _typed_stage() if arguments.typed else _live_stage(arguments, library)
        open_things.callback(stage.close)
        return _walk(arguments, session, stage)


def _new(arguments: argparse.Namespace, library: Library, key: SigningKey | None) -> Session:
    if not arguments.place:
        raise UsageError("name the place whose rules hold with --place, such as --place US-NC")
    if not arguments.vehicle:
        raise UsageError("name your vehicle's profile with --vehicle FILE; see scripts/vehicles")
    files = files_from_library(library, arguments.script, arguments.vehicle)
    material = load(files, arguments.script, arguments.place)
    folder = arguments.records / options.new_name(material.plan.script)
    return begin(folder, material, WalkKind.WALK, key, vehicle_facts(material.profile))


def vehicle_facts(profile: Profile) -> Mapping[str, str]:
    """What the record says of the vehicle; a person's particulars are no part of it."""
    return {
        "name": profile.name,
        "kind": profile.kind,
        "units": str(profile.units),
        "built": "" if profile.built is None else profile.built.isoformat(),
        "gauge": str(profile.gauge),
    }


def _key() -> SigningKey | None:
    """The device's key; without it the walk is kept and can be signed later."""
    try:
        return KeyStore().key(WalkKind.WALK, ask_passphrase)
    except SigningKeyError as error:
        print(f"walkaround: {error}; the walk will be kept unsigned", file=sys.stderr)
        return None


def _print(text: str) -> None:
    print(text, flush=True)


def _typed_stage() -> Stage:
    return TypedStage(_print)


def _live_stage(arguments: argparse.Namespace, library: Library) -> Stage:
    model = ensure_model(progress=_print)
    sound = SoundChoice(
        arguments.microphone,
        arguments.loudspeaker,
        arguments.second,
        barge_in=not arguments.open_loudspeaker,
    )
    setup = EarSetup.of(library, decoding_folder(model))
    stage = LiveStage(setup, Pyttsx3Voice(), _print, sound)
    stage.open()
    return stage


def _walk(arguments: argparse.Namespace, session: Session, stage: Stage) -> int:
    walk = Walk(
        session.material.plan,
        stage,
        session.keeper(),
        judge_of(session.material),
        session.material.language,
        state=session.state,
    )
    opening = SittingOpened(
        session.sitting, wall_now(), boot_id(), boot_ms(), Wording(arguments.wording)
    )
    try:
        ended = walk.run(opening)
    except DiskError as error:
        # Said aloud: a driver at the wheel does not see the screen.
        stage.say((), (error.spoken,))
        raise
    return report_walk(session, ended, stage.now_ms(), walk.state)
