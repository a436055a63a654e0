"""`walkaround audit`: was it a proper check? From records and their scripts alone.

With `--countersign` it signs a second person's remarks over one record instead.
"""

from __future__ import annotations

import argparse
import os
from pathlib import Path

import platformdirs

_MOST_CORES = 8


def add(parser: argparse.ArgumentParser) -> None:
    """The command's options."""
    parser.add_argument("paths", nargs="*", type=Path, metavar="PATH", help="folders of records")
    parser.add_argument("--page", type=Path, default=Path("audit.html"), metavar="FILE")
    parser.add_argument("--export", type=Path, metavar="DIR", help="Parquet and CSV tables")
    parser.add_argument("--trust", type=Path, metavar="FILE", help="another trust list")
    parser.add_argument(
        "--log", type=Path, action="append", default=[], metavar="FILE",
        help="a device's log (keys --log): shows what its key signed before it was taken back",
    )  # fmt: skip
    parser.add_argument(
        "--records-only",
        action="store_true",
        help="leave the journals beside records shut: quicker, but no times of single steps",
    )
    parser.add_argument(
        "--cache",
        type=Path,
        metavar="DIR",
        default=platformdirs.user_cache_path("walkaround", appauthor=False) / "audit",
        help="where the tables are kept from one audit to the next",
    )
    parser.add_argument(
        "--processes", type=int, default=min(os.cpu_count() or 1, _MOST_CORES), metavar="N"
    )
    parser.add_argument("--countersign", type=Path, metavar="RECORD", help="sign remarks over it")
    parser.add_argument(
        "--remarks", default="", metavar="TEXT", help="what you looked at, and said"
    )
    parser.add_argument("--signer", default="", metavar="NAME", help="your name, as you enter it")


def run(arguments: argparse.Namespace) -> int:
    """Exit code 0 however much there is to look at; files that are not ours do not stop it."""
    # Imported here: the tables' engine should not cost the other commands their start.
    from walkaround.cli import auditing  # noqa: PLC0415

    return auditing.run(arguments)
