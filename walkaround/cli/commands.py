"""The commands and their options, in the order that `--help` shows them."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from importlib import import_module

_COMMANDS: Mapping[str, str] = {
    "demo": "a whole walk with a simulated truck and driver",
    "walk": "a check of your own vehicle, by voice or typed",
    "verify": "is a record intact, and by whose key?",
    "rules": "the limits and where they come from, by place or step",
    "scripts": "check an inspection script and show what it asks",
    "keys": "the signing key, and whose records are trusted",
    "setup": "fetch the speech model; see what is ready and what is missing",
}
"""Each has a module of the same name with `add(parser)` and `run(arguments) -> int`."""


def add_all(parser: argparse.ArgumentParser) -> None:
    """A subcommand for each; its module is imported when the parser is made."""
    chosen = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, says in _COMMANDS.items():
        module = import_module(f"walkaround.cli.{name}")
        sub = chosen.add_parser(name, help=says, description=says)
        module.add(sub)
        run: Callable[[argparse.Namespace], int] = module.run
        sub.set_defaults(run=run)
