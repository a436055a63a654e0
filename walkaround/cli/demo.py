"""`walkaround demo`: a whole walk with the simulated truck and driver, on a clock that jumps.

The speech is synthesised and recognised for real, the journal synced, the record signed
with the simulated key.  `--by-text` leaves sound out: the driver's words go straight to
their meaning, which is quick, and says so.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from walkaround.cli import options
from walkaround.cli.material import (
    DEMO_VEHICLES,
    Material,
    check_vehicle,
    files_from_library,
    load,
)
from walkaround.cli.outcome import report_walk
from walkaround.cli.resuming import walk_to_resume
from walkaround.cli.screen import show
from walkaround.cli.session import Session, begin, take_up
from walkaround.cli.transcript import ScreenTranscript
from walkaround.devices.disk import write_finished
from walkaround.devices.ear.child import EarSetup
from walkaround.devices.ear.fed import FedEar
from walkaround.devices.keys import KeyStore
from walkaround.devices.library import Library
from walkaround.devices.model.install import ensure_model
from walkaround.devices.model.overlay import decoding_folder
from walkaround.devices.regular import LIST_BYTES, read_regular
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.engine.state import State
from walkaround.errors import DiskError, RecordError, UsageError
from walkaround.exchange import Event, Wording
from walkaround.records.signature import WalkKind
from walkaround.simulated.driver import EVEN, HUMAN
from walkaround.simulated.facts import TruckFacts
from walkaround.simulated.faults import with_faults
from walkaround.simulated.mouth import Letters, Mouth, Throat
from walkaround.simulated.stage import SimulatedStage
from walkaround.simulated.vehicle import facts_of

WORLD_NAME = "simulated-world.json"
DRIVER_VOICE = "gmw/en-us"
_DRIVER_RATE = 150


def add(parser: argparse.ArgumentParser) -> None:
    """The command's options."""
    options.add_walk(parser)
    parser.add_argument("--seed", type=int, default=1, help="of the driver's delays and wordings")
    parser.add_argument(
        "--fault",
        action="append",
        default=[],
        metavar="NAME",
        help="something wrong with the truck, such as leaking-chamber; a wrong name lists them all",
    )
    parser.add_argument("--slips", action="store_true", help="a driver who slips now and then")
    parser.add_argument("--by-text", action="store_true", help="leave sound out (quick)")
    options.add_recording(parser)
    parser.add_argument("--aloud", action="store_true", help="play it on the loudspeaker, live")
    parser.add_argument("--quiet", action="store_true", help="do not print the dialogue")


def run(arguments: argparse.Namespace) -> int:
    """Walks, writes the record, prints where it is. Exit code 3 when it did not finish."""
    library, store = Library(), KeyStore()
    until = options.sound_until(arguments, by_voice=not arguments.by_text)
    if arguments.resume is not None:
        folder = walk_to_resume(arguments.resume, arguments.records, WalkKind.SIMULATED)
        session = take_up(folder, store.key)
        if session.kind is not WalkKind.SIMULATED:
            with session:
                raise UsageError(f"the walk in {folder} is no demo; resume it with 'walk'")
    else:
        session = _new(arguments, library, store, until)
    with session:
        facts = with_faults(facts_of(session.material.profile), arguments.fault)
        return _walk(arguments, library, session, facts)


def _new(arguments: argparse.Namespace, library: Library, store: KeyStore, until: str) -> Session:
    key = store.key(WalkKind.SIMULATED)
    vehicle = arguments.vehicle or DEMO_VEHICLES.get(arguments.script, "demo-truck")
    files = files_from_library(library, arguments.script, vehicle)
    material = load(files, arguments.script, arguments.place or ["US"])
    with_faults(facts_of(material.profile), arguments.fault)  # refused before a folder is made
    options.reach_of(arguments.reach, material.plan)  # refused before a folder is made
    check_vehicle(material)
    folder = arguments.records / options.new_name(material.plan.script)
    simulated = {"seed": str(arguments.seed), "fault": ", ".join(arguments.fault) or "none"}
    facts = {"name": material.profile.name, **simulated}
    person = options.person(arguments)
    return begin(folder, material, WalkKind.SIMULATED, key, facts, person=person, sound_until=until)


def _walk(
    arguments: argparse.Namespace, library: Library, session: Session, facts: TruckFacts
) -> int:
    ear = None if arguments.by_text else _ear(library)
    voice = None if arguments.by_text else Pyttsx3Voice()
    if ear is None:
        session.sound_until = ""  # taken up again by text
    elif session.records_sound:
        ear.hand_over()
    try:
        stage = _stage(arguments, session.material, facts, voice, ear)
        if session.state.sitting:
            stage.restore(_world(session.folder))
        screen = ScreenTranscript(quiet=arguments.quiet)

        def watch(_event: Event, _state: State) -> None:
            write_finished(session.folder / WORLD_NAME, json.dumps(stage.snapshot()).encode())
            screen.show(stage.said)

        reach = options.reach_of(arguments.reach, session.material.plan)
        sat = session.walk(stage, Wording(arguments.wording), watch, reach=reach)
        screen.show(stage.said)
    finally:
        if ear is not None:
            ear.close()
    return report_walk(session, sat)


def _ear(library: Library) -> FedEar:
    model = ensure_model(progress=show)
    ear = FedEar(EarSetup.of(library, decoding_folder(model)))
    ear.start()
    return ear


def _stage(
    arguments: argparse.Namespace,
    material: Material,
    facts: TruckFacts,
    voice: Pyttsx3Voice | None,
    ear: FedEar | None,
) -> SimulatedStage:
    mouth: Mouth = Letters()
    if ear is not None:
        mouth = Throat(Pyttsx3Voice(voice=DRIVER_VOICE, rate=_DRIVER_RATE), ear, arguments.seed)
    temperament = HUMAN if arguments.slips else EVEN
    return SimulatedStage(
        material.plan, facts, arguments.seed, temperament=temperament, mouth=mouth, voice=voice
    )


def _world(folder: Path) -> dict[str, object]:
    """The simulated truck as it stood. Raises DiskError, RecordError."""
    path = folder / WORLD_NAME
    try:
        kept: dict[str, object] = json.loads(read_regular(path, LIST_BYTES))
    except OSError as bad:
        raise DiskError(f"cannot read {path} ({bad.strerror}); start a new demo") from bad
    except ValueError:
        raise RecordError(f"{path} does not read cleanly; start a new demo") from None
    return kept
