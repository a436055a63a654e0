"""Options that `demo` and `walk` share."""

from __future__ import annotations

import argparse
import secrets
from pathlib import Path

import platformdirs

from walkaround.devices.clock import wall_now
from walkaround.exchange import Wording


def records_folder() -> Path:
    """Where records are kept when nothing else is said."""
    return platformdirs.user_data_path("walkaround", appauthor=False) / "walks"


def add_walk(parser: argparse.ArgumentParser) -> None:
    """What to check, where, and where the record goes."""
    parser.add_argument("--script", default="straight-truck", help="which inspection script")
    parser.add_argument("--vehicle", metavar="NAME|FILE", default="", help="a vehicle profile")
    parser.add_argument(
        "--place",
        action="append",
        metavar="CODE",
        help="ISO 3166 code such as CA-ON; give it again for every place on the trip",
    )
    parser.add_argument("--records", type=Path, default=records_folder(), metavar="DIR")
    parser.add_argument("--resume", action="store_true", help="take up the last unfinished walk")
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
