"""`walkaround drill`: practice at a desk with the simulated truck, by voice or typed.

Four stages: told (every step is read), asked (what comes next, and what must be true first?),
recalled (you lead, and are put right), examined (silent until the end).  Or --questions on
the rules of a place and on the parts.  What is due again is worked out from all practices.
"""

from __future__ import annotations

import argparse
import difflib
from collections.abc import Sequence
from contextlib import ExitStack, closing
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
from walkaround.cli.drill_outside import outside_of
from walkaround.cli.drill_progress import show_next, show_progress
from walkaround.cli.drill_room import Room
from walkaround.cli.drill_turns import Made, Turn, TurnsFile, read_turns
from walkaround.cli.material import DEMO_VEHICLES, Material, files_from_library, load
from walkaround.cli.practice_folder import PracticeFolder, begin_practice, take_up_practice
from walkaround.cli.practice_store import read_progress, save_progress
from walkaround.cli.resuming import walk_to_resume
from walkaround.cli.screen import complain, show
from walkaround.cli.unlocking import key_if_any
from walkaround.devices.clock import boot_id, boot_ms, wall_now
from walkaround.devices.keys import KeyStore
from walkaround.devices.library import Library
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
    parser.add_argument(
        "--resume",
        nargs="?",
        const=options.NEWEST,
        default=None,
        metavar="FOLDER",
        help="go on with that drill; without a folder with the last unfinished one",
    )
    parser.add_argument("--quiet", action="store_true", help="draw no live screen")
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
    if arguments.resume is not None:
        _go_on(arguments, practice)
    elif arguments.questions is not None:
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
    made = _made(arguments, material, books, progress)
    if made.only is not None and not made.only:
        show("Nothing is due today. Come back later, or drill without --due.")
        return
    with ExitStack() as held:
        outside = outside_of(arguments, material.plan, held)
        folder = held.enter_context(
            begin_practice(
                practice / options.new_name(f"drill-{made.stage}"),
                material,
                key_if_any(WalkKind.PRACTICE),
                drill_outline(material.plan),
                {
                    "name": material.profile.name,
                    "stage": made.stage,
                    "fault": ", ".join(made.faults) or "none",
                },
            )
        )
        _hold(made, books, folder, outside, aloud=not arguments.typed)


def _go_on(arguments: argparse.Namespace, practice: Path) -> None:
    """A drill that was interrupted, from where it was."""
    at = walk_to_resume(arguments.resume, practice, WalkKind.PRACTICE)
    made, turns = read_turns(at)
    with ExitStack() as held:
        folder = held.enter_context(take_up_practice(at, key_if_any))
        outside = outside_of(arguments, folder.material.plan, held)
        books = Books.of(folder.material)
        _hold(made, books, folder, outside, turns=turns, aloud=not arguments.typed)


def _hold(
    made: Made,
    books: Books,
    folder: PracticeFolder,
    outside: ports.Stage,
    *,
    turns: Sequence[Turn] = (),
    aloud: bool,
) -> None:
    """From its opening, or from where earlier turns had brought it."""
    with closing(TurnsFile(folder.path)) as kept:
        room = _room(made, books, folder, outside, kept, new=not turns, aloud=aloud)
        room.go_through(turns)
        room.run(_opening(folder.head.sitting + 1))
    _ended(folder)


def _room(
    made: Made,
    books: Books,
    folder: PracticeFolder,
    outside: ports.Stage,
    kept: TurnsFile,
    *,
    new: bool,
    aloud: bool,
) -> Room:
    material = folder.material
    if new:
        kept.made(made)
    only = None if made.only is None else frozenset(made.only)
    stage, faults = _stage(made.stage), tuple(made.faults)
    kit = drill_kit(material, books, stage, faults, only=only, most=made.most)
    desk = Desk(material.plan, with_faults(facts_of(material.profile), faults), made.seed)
    return room_for_drill(
        kit, material, outside, folder.keeper(), desk, aloud=aloud, note=kept.turn
    )


def _made(
    arguments: argparse.Namespace, material: Material, books: Books, progress: Progress
) -> Made:
    names = tuple(fault(name).name for name in arguments.fault)
    if arguments.seed is not None:
        doors = "doors" in material.profile.accessories
        names = drawn_fault(arguments.seed, material.profile.units - 1, doors)
    with_faults(facts_of(material.profile), names)  # refused before a folder is made
    only = None
    if arguments.due:
        now = wall_time(wall_now())
        cards = books.cards_of(material.plan)
        only = tuple(sorted(next_steps(progress, material.plan, cards, now).cards()))
    return Made(arguments.stage, names, arguments.seed or 0, only, arguments.steps)


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
        outside = outside_of(arguments, material.plan, held)
        folder = held.enter_context(
            begin_practice(
                practice / options.new_name("questions"),
                material,
                key_if_any(WalkKind.PRACTICE),
                quiz_outline(kit.questions),
                {"name": material.profile.name, "stage": "questions"},
            )
        )
        room = room_for_quiz(kit, material, outside, folder.keeper(), aloud=not arguments.typed)
        room.run(_opening(1))
        _ended(folder)


def _ended(folder: PracticeFolder) -> None:
    written = folder.close_record()
    show("\nPRACTICE: no real vehicle was checked.")
    if written.signed is not None:
        show(f"Record:  {written.signed}")
    show(f"To read: {written.page}")
    if written.page.stem != "record":
        show(f"To go on with it: walkaround drill --resume {folder.path}")


def _opening(sitting: int) -> SittingOpened:
    return SittingOpened(sitting, wall_now(), boot_id(), boot_ms(), Wording.FULL)


__all__ = ["BOOKS", "add", "drawn_fault", "run"]
