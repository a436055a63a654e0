"""`walkaround walk`: a check of your own vehicle, by voice or typed, live.

Name the vehicle and every place on the trip. By voice it needs a microphone and a loudspeaker
(a headset); --typed is the same walk at a keyboard.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from contextlib import ExitStack

from rich.console import Console

from walkaround.cli import options
from walkaround.cli.live_screen import screen_for
from walkaround.cli.live_stage import live_stage
from walkaround.cli.material import check_vehicle, files_from_library, load
from walkaround.cli.outcome import report_walk
from walkaround.cli.resuming import walk_to_resume
from walkaround.cli.screen import show
from walkaround.cli.session import Session, Watch, begin, take_up
from walkaround.cli.unlocking import key_if_any
from walkaround.devices.library import Library
from walkaround.devices.stage_live import LiveStage
from walkaround.devices.stage_typed import TypedStage
from walkaround.errors import DiskError, UsageError
from walkaround.exchange import Wording
from walkaround.procedure.profile import Profile
from walkaround.records.signature import WalkKind
from walkaround.speech.ports import Stage


def add(parser: argparse.ArgumentParser) -> None:
    """The command's options."""
    options.add_walk(parser)
    parser.add_argument("--typed", action="store_true", help="type the answers, read the prompts")
    options.add_sound(parser)
    options.add_recording(parser)
    parser.add_argument("--quiet", action="store_true", help="draw no live screen")


def run(arguments: argparse.Namespace) -> int:
    """Walks; exit code 3 when it ended before it was finished."""
    library = Library()
    until = options.sound_until(arguments, by_voice=not arguments.typed)
    begun = _resumed(arguments) if arguments.resume is not None else _new(arguments, library, until)
    with ExitStack() as open_things:
        # Before the folder: without sound there is nothing to keep.
        sound = options.sound_choice(arguments)
        stage = _typed_stage() if arguments.typed else live_stage(library, sound)
        open_things.callback(stage.close)
        with begun() as session:
            if not isinstance(stage, LiveStage):
                session.sound_until = ""  # taken up again at the keyboard
            elif session.records_sound:
                stage.hand_over()
            plan = session.material.plan
            screen = screen_for(stage, plan, Console(), quiet=arguments.quiet)
            if screen is None:
                return _walk(arguments, session, stage)
            with screen:
                return _walk(arguments, session, screen, screen.watch)


Begun = Callable[[], Session]
"""Makes or takes up the folder, once everything else is there."""


def _resumed(arguments: argparse.Namespace) -> Begun:
    folder = walk_to_resume(arguments.resume, arguments.records, WalkKind.WALK)

    def take() -> Session:
        session = take_up(folder, key_if_any)
        if session.kind is WalkKind.SIMULATED:
            with session:
                raise UsageError(f"the walk in {folder} is a demo; resume it with 'demo'")
        return session

    return take


def _new(arguments: argparse.Namespace, library: Library, until: str) -> Begun:
    if not arguments.place:
        raise UsageError("name the place whose rules hold with --place, such as --place US-NC")
    if not arguments.vehicle:
        raise UsageError("name your vehicle's profile with --vehicle FILE; see scripts/vehicles")
    files = files_from_library(library, arguments.script, arguments.vehicle)
    material = load(files, arguments.script, arguments.place)
    options.reach_of(arguments.reach, material.plan)  # refused before a folder is made
    check_vehicle(material)
    folder = arguments.records / options.new_name(material.plan.script)
    key = key_if_any(WalkKind.WALK)
    facts, person = vehicle_facts(material.profile), options.person(arguments)
    return lambda: begin(
        folder, material, WalkKind.WALK, key, facts, person=person, sound_until=until
    )


def vehicle_facts(profile: Profile) -> Mapping[str, str]:
    """What the record says of the vehicle; a person's particulars are no part of it."""
    return {
        "name": profile.name,
        "kind": profile.kind,
        "units": str(profile.units),
        "built": "" if profile.built is None else profile.built.isoformat(),
        "gauge": str(profile.gauge),
    }


def _typed_stage() -> Stage:
    return TypedStage(show)


def _walk(
    arguments: argparse.Namespace,
    session: Session,
    stage: Stage,
    watch: Watch = lambda _event, _state: None,
) -> int:
    try:
        reach = options.reach_of(arguments.reach, session.material.plan)
        sat = session.walk(stage, Wording(arguments.wording), watch, reach=reach)
    except DiskError as error:
        # Said aloud: a driver at the wheel does not see the screen.
        stage.say((), (error.spoken,))
        raise
    return report_walk(session, sat)
