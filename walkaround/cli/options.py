"""Options that `demo` and `walk` share."""

from __future__ import annotations

import argparse
import secrets
from datetime import timedelta
from pathlib import Path

import platformdirs

from walkaround.devices.clock import today, wall_now
from walkaround.devices.stage_live import SoundChoice
from walkaround.errors import UsageError
from walkaround.exchange import Wording
from walkaround.procedure.model import Plan

MOST_DAYS = 3650
NEWEST = ""
"""`--resume` without a folder."""


def records_folder() -> Path:
    """Where records are kept when nothing else is said."""
    return platformdirs.user_data_path("walkaround", appauthor=False) / "walks"


def add_walk(parser: argparse.ArgumentParser) -> None:
    """What to check, where, and where the record goes."""
    parser.add_argument(
        "--script",
        default="straight-truck",
        metavar="NAME",
        help="which inspection script: straight-truck (when not said), tractor-trailer or bus; "
        "'scripts' lists them",
    )
    parser.add_argument(
        "--vehicle",
        metavar="NAME|FILE",
        default="",
        help="the vehicle's profile: a file of yours, or a name from scripts/vehicles",
    )
    parser.add_argument(
        "--place",
        action="append",
        metavar="CODE",
        help="whose rules judge: an ISO 3166 code such as CA-ON; give it again for every place "
        "on the trip; 'rules' lists them",
    )
    parser.add_argument(
        "--records",
        type=Path,
        default=records_folder(),
        metavar="DIR",
        help="the folder that holds a folder for each walk; %(default)s when not said",
    )
    parser.add_argument(
        "--driver",
        default="",
        metavar="NAME",
        help="who drives: the record holds a commitment only, and 'forget' removes the name",
    )
    parser.add_argument(
        "--resume",
        nargs="?",
        const=NEWEST,
        default=None,
        metavar="FOLDER",
        help="take up the walk in that folder; without a folder the last unfinished one",
    )
    add_reach(parser)
    parser.add_argument(
        "--wording",
        choices=[str(wording) for wording in Wording],
        default=str(Wording.FULL),
        help="how much is said; cautions are never shortened",
    )


def add_reach(parser: argparse.ArgumentParser) -> None:
    """How far the headset is heard."""
    parser.add_argument(
        "--reach",
        default="",
        metavar="WHERE,...",
        help="where the headset is heard, such as cab,left; elsewhere you are sent on an errand",
    )


def reach_of(text: str, plan: Plan) -> tuple[str, ...]:
    """The places that the headset reaches; empty for everywhere. Raises UsageError."""
    places = tuple(part.strip() for part in text.split(",") if part.strip())
    known = sorted({step.where for step in (*plan.steps, *plan.acts)})
    for place in places:
        if place not in known:
            raise UsageError(
                f"--reach knows no '{place}'; where things are done is one of: {', '.join(known)}"
            )
    return places


def new_name(script: str) -> str:
    """A folder name that sorts by time and that no other walk has."""
    stamp = wall_now().partition(".")[0].replace(":", "").replace("-", "")
    return f"{stamp}Z-{script}-{secrets.token_hex(3)}"


def add_sound(parser: argparse.ArgumentParser) -> None:
    """Which devices a live command hears and speaks with."""
    parser.add_argument(
        "--microphone",
        default="",
        metavar="NAME",
        help="part of its name; the system's own when not said",
    )
    parser.add_argument(
        "--loudspeaker", default="", metavar="NAME", help="part of its name; 'setup' lists them"
    )
    parser.add_argument(
        "--second", default="", metavar="NAME", help="a loudspeaker that tells of a lost headset"
    )
    parser.add_argument(
        "--open-loudspeaker", action="store_true", help="no headset: do not listen while speaking"
    )


def sound_choice(arguments: argparse.Namespace) -> SoundChoice:
    """What `add_sound` was told."""
    return SoundChoice(
        arguments.microphone,
        arguments.loudspeaker,
        arguments.second,
        barge_in=not arguments.open_loudspeaker,
    )


def add_recording(parser: argparse.ArgumentParser) -> None:
    """Sound as evidence: off unless it is asked for."""
    parser.add_argument(
        "--record-answers",
        type=int,
        default=0,
        metavar="DAYS",
        help="keep the sound of the answers beside the record for so many days; off when not said, "
        "and 'forget' deletes it",
    )


def sound_until(arguments: argparse.Namespace, *, by_voice: bool) -> str:
    """The last day on which recordings are kept; empty when none are made. Raises UsageError."""
    days: int = arguments.record_answers
    if not days:
        return ""
    if not by_voice:
        raise UsageError("there is no sound to record without a voice; leave out --record-answers")
    if arguments.resume is not None:
        raise UsageError("a walk says at its start whether answers are recorded; leave that out")
    if not 1 <= days <= MOST_DAYS:
        raise UsageError(f"--record-answers takes 1 to {MOST_DAYS} days")
    return (today() + timedelta(days=days)).isoformat()


def person(arguments: argparse.Namespace) -> dict[str, str]:
    """The particulars that were given, by name. Raises UsageError."""
    must_be_printable("--driver", arguments.driver)
    return {"driver": arguments.driver} if arguments.driver else {}


def must_be_printable(option: str, text: str, what: str = "name") -> None:
    """A line break in it could make a line of its own where it is shown. Raises UsageError."""
    if not text.isprintable():
        raise UsageError(f"{option} holds letters that cannot be printed; give a plain {what}")
