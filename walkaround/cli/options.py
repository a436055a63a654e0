"""Options that `demo` and `walk` share."""

from __future__ import annotations

import argparse
import secrets
from pathlib import Path

import platformdirs

from walkaround.devices.clock import wall_now
from walkaround.exchange import Wording

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
        "--resume",
        nargs="?",
        const=NEWEST,
        default=None,
        metavar="FOLDER",
        help="take up the walk in that folder; without a folder the last unfinished one",
    )
    parser.add_argument(
        "--wording",
        choices=[str(wording) for wording in Wording],
        default=str(Wording.FULL),
        help="how much is said; cautions are never shortened",
    )


def new_name(script: str) -> str:
    """A folder name that sorts by time and that no other walk has."""
    stamp = wall_now().partition(".")[0].replace(":", "").replace("-", "")
    return f"{stamp}Z-{script}-{secrets.token_hex(3)}"
