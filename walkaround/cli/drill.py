"""`walkaround drill`: practice at a desk with the simulated truck, by voice or typed.

Four stages: told (every step is read), asked (what comes next, and what must be true first?),
recalled (you lead, and are put right), examined (silent until the end).  Or --questions on
the rules of a place and on the parts.  What is due again is worked out from all practices.
"""

from __future__ import annotations

import argparse
import difflib
from contextlib import ExitStack
from pathlib import Path
from random import Random

import platformdirs

from walkaround.cli import options
from walkaround.cli.drill_kit import (
    BOOKS,
    Books,
    drill_kit,
    quiz_kit,
    recall_files,
    room_for_drill,
    room_for_quiz,
)
from walkaround.cli.drill_progress import show_next, show_progress
from walkaround.cli.material import DEMO_VEHICLES, Material, files_from_library, load
from walkaround.cli.practice_folder import begin_practice
from walkaround.cli.practice_store import read_progress, save_progress
from walkaround.cli.screen import complain, show
from walkaround.cli.stopping import StoppableStage, StopSignals
from walkaround.cli.unlocking import key_if_any
from walkaround.devices.clock import boot_id, boot_ms, wall_now
from walkaround.devices.ear.child import EarSetup
from walkaround.devices.keys import KeyStore
from walkaround.devices.library import Library
from walkaround.devices.model import decoding_folder, ensure_model
from walkaround.devices.stage_live import LiveStage, SoundChoice
from walkaround.devices.stage_typed import TypedStage
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.errors import UsageError
from walkaround.exchange import SittingOpened, Wording
from walkaround.learning.drill import Stage
from walkaround.learning.evidence import wall_time
from walkaround.learning.outline import drill_outline, quiz_outline
from walkaround.learning.progress import Progress, next_steps
from walkaround.records.signature import WalkKind
from walkaround.simulated.desk import Desk
from walkaround.simulated.faults import FAULTS, fault, with_faults
from walkaround.simulated.vehicle import facts_of
from walkaround.speech import ports

_SOUND_SHARE = 4
"""With a seed, one truck in so many has no fault."""
_HARD_TO_SEE = ("gauge-off",)
"""Not drawn by a seed: nothing in the cab tells it from a governor that is set high."""
_MOST_QUESTIONS = 200


def add(parser: argparse.ArgumentParser) -> None:
    """The command's options."""
    parser.add_argument("--stage", default=str(Stage.TOLD), metavar="STAGE", help=_stages())
    parser.add_argument("--script", default="straight-truck", help="which inspection script")
    parser.add_argument("--vehicle", metavar="NAME|FILE", default="", help="a vehicle profile")
    parser.add_argument("--place", action="append", metavar="CODE", help="whose rules; US if none")
    parser.add_argument("--typed", action="store_true", help="type and read instead of speaking")
    parser.add_argument("--fault", action="append", default=[], metavar="NAME", help="in the truck")
    parser.add_argument(
        "--seed", type=int, metavar="N", help="draws the fault: the trainer's secret"
    )
    parser.add_argument("--due", action="store_true", help="ask only for steps that are due")
    parser.add_argument("--steps", type=int, metavar="N", help="a short session of N steps")
    parser.add_argument(
        "--questions", type=int, metavar="N", help="N questions on rules and parts instead"
    )
    parser.add_argument("--progress", action="store_true", help="show how it goes, and stop")
    parser.add_argument("--learner", default="", metavar="NAME", help="whose practice, if several")
    parser.add_argument("--records", type=Path, metavar="DIR", help="where practices are kept")
    parser.add_argument("--microphone", default="", metavar="NAME", help="part of its name")
    parser.add_argument("--loudspeaker", default="", metavar="NAME", help="part of its name")
    parser.add_argument(
        "--open-loudspeaker", action="store_true", help="no headset: do not listen while speaking"
    )


def _stages() -> str:
    return f"{', '.join(Stage)}: how much you are helped"


def run(arguments: argparse.Namespace) -> int:
    """Practises, writes the record, shows what is next. Exit code 0, however it went."""
    _stage(arguments.stage)
    _check_counts(arguments)
    library, store = Library(), KeyStore()
    material = _material(arguments, library)
    books = Books.of(material)
    practice = _folder(arguments)
    progress, told = read_progress(practice, options.records_folder(), store.trust(), books.cards)
    for sentence in told:
        complain(sentence)
    now = wall_time(wall_now())
    if arguments.progress:
        save_progress(practice, progress)
        show_progress(progress, material.plan, books, now, practice)
        return 0
    if arguments.questions is not None:
        _quiz(arguments, material, books, progress, practice)
    else:
        _drill(arguments, material, books, progress, practice)
    progress, _ = read_progress(practice, options.records_folder(), store.trust(), books.cards)
    save_progress(practice, progress)
    show_next(progress, material.plan, books, wall_time(wall_now()))
    return 0


# ---------------------------------------------------------------- what is asked for


def _stage(name: str) -> Stage:
    try:
        return Stage(name)
    except ValueError:
        near = difflib.get_close_matches(name, [str(s) for s in Stage], n=1, cutoff=0.4)
        offer = f"did you mean {near[0]}?" if near else f"there are {', '.join(Stage)}"
        raise UsageError(f"there is no stage '{name}'; {offer}") from None


def _check_counts(arguments: argparse.Namespace) -> None:
    for name, most in (("steps", 100), ("questions", _MOST_QUESTIONS)):
        count = getattr(arguments, name)
        if count is not None and not 1 <= count <= most:
            raise UsageError(f"--{name} takes a number from 1 to {most}, not {count}")
    if arguments.seed is not None and arguments.fault:
        raise UsageError("--seed draws a fault and --fault names one; give only one of them")


def _material(arguments: argparse.Namespace, library: Library) -> Material:
    vehicle = arguments.vehicle or DEMO_VEHICLES.get(arguments.script, "demo-truck")
    files = dict(files_from_library(library, arguments.script, vehicle))
    files["recall"] = recall_files(library)
    return load(files, arguments.script, arguments.place or ["US"])


def _folder(arguments: argparse.Namespace) -> Path:
    """The learner's own folder. A name is a folder's name and no path."""
    base: Path = arguments.records or (
        platformdirs.user_data_path("walkaround", appauthor=False) / "practice"
    )
    name: str = arguments.learner
    if not name:
        return base
    if name.startswith(".") or Path(name).name != name or len(name) > 60:
        raise UsageError(f"'{name}' cannot be a learner's name here; use letters, digits and '-'")
    return base / name


def drawn_fault(seed: int, trailers: int, doors: bool) -> tuple[str, ...]:
    """The fault that a seed draws for such a vehicle: one, or now and then none."""
    dice = Random(seed)
    if dice.randrange(_SOUND_SHARE) == 0:
        return ()
    fitting = [
        name
        for name, each in FAULTS.items()
        if each.needs_trailers <= trailers
        and name not in _HARD_TO_SEE
        and (doors or name != "door-interlock-dead")
    ]
    return (dice.choice(fitting),)


# ---------------------------------------------------------------- the practice


def _drill(
    arguments: argparse.Namespace,
    material: Material,
    books: Books,
    progress: Progress,
    practice: Path,
) -> None:
    stage = _stage(arguments.stage)
    names = tuple(fault(name).name for name in arguments.fault)
    if arguments.seed is not None:
        doors = "doors" in material.profile.accessories
        names = drawn_fault(arguments.seed, material.profile.units - 1, doors)
    facts = with_faults(facts_of(material.profile), names)
    only = None
    if arguments.due:
        now = wall_time(wall_now())
        wanted = next_steps(progress, material.plan, books.cards_of(material.plan), now)
        only = wanted.cards()
        if not only:
            show("Nothing is due today. Come back later, or drill without --due.")
            return
    kit = drill_kit(material, books, stage, names, only=only, most=arguments.steps)
    outline = drill_outline(material.plan)
    described = {"stage": str(stage), "fault": ", ".join(names) or "none"}
    with ExitStack() as held:
        outside = _stage_of(arguments)
        held.callback(outside.close)
        folder = held.enter_context(
            begin_practice(
                practice / options.new_name(f"drill-{stage}"),
                material,
                key_if_any(WalkKind.PRACTICE),
                outline,
                {"name": material.profile.name, **described},
            )
        )
        desk, aloud = Desk(material.plan, facts, arguments.seed or 0), not arguments.typed
        room = room_for_drill(
            kit, material, _until_stopped(outside, held), folder.keeper(), desk, aloud=aloud
        )
        _ended(folder.close_record(room.run(_opening())))


def _quiz(
    arguments: argparse.Namespace,
    material: Material,
    books: Books,
    progress: Progress,
    practice: Path,
) -> None:
    dice = Random(arguments.seed if arguments.seed is not None else wall_now())
    now = wall_time(wall_now())
    kit = quiz_kit(material, books, progress.memories(), now, most=arguments.questions, dice=dice)
    with ExitStack() as held:
        outside = _stage_of(arguments)
        held.callback(outside.close)
        folder = held.enter_context(
            begin_practice(
                practice / options.new_name("questions"),
                material,
                key_if_any(WalkKind.PRACTICE),
                quiz_outline(kit.questions),
                {"name": material.profile.name, "stage": "questions"},
            )
        )
        aloud = not arguments.typed
        room = room_for_quiz(
            kit, material, _until_stopped(outside, held), folder.keeper(), aloud=aloud
        )
        _ended(folder.close_record(room.run(_opening())))


def _ended(record: Path) -> None:
    show(f"\nPRACTICE: no real vehicle was checked.\nRecord:  {record}")
    show(f"To read: {record.with_suffix('.html')}")


def _opening() -> SittingOpened:
    return SittingOpened(1, wall_now(), boot_id(), boot_ms(), Wording.FULL)


def _until_stopped(outside: ports.Stage, held: ExitStack) -> ports.Stage:
    """Ctrl-C and its like end the input: what was practised until then is kept and counts."""
    return StoppableStage(outside, held.enter_context(StopSignals()))


def _stage_of(arguments: argparse.Namespace) -> ports.Stage:
    if arguments.typed:
        return TypedStage(show, hints=False)
    library = Library()
    sound = SoundChoice(
        arguments.microphone, arguments.loudspeaker, barge_in=not arguments.open_loudspeaker
    )
    setup = EarSetup.of(library, decoding_folder(ensure_model(progress=show)))
    stage = LiveStage(setup, Pyttsx3Voice(), show, sound)
    stage.open()
    return stage


__all__ = ["BOOKS", "add", "drawn_fault", "run"]
