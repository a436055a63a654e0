"""The commands and their options, in the order that `--help` shows them."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping, Sequence
from importlib import import_module
from types import ModuleType

_COMMANDS: Mapping[str, str] = {
    "demo": "a whole walk with a simulated truck and driver",
    "walk": "a check of your own vehicle, by voice or typed",
    "drill": "practice with the simulated truck, questions, and what to practise next",
    "verify": "is a record intact, and by whose key?",
    "audit": "was it a proper check? reads records for a trainer",
    "rules": "the limits and where they come from, by place or step",
    "scripts": "check an inspection script and show what it asks",
    "keys": "the signing key, and whose records are trusted; sign a walk later",
    "forget": "remove a person's particulars and recordings; every signature stays",
    "setup": "fetch the speech model; see what is ready and what is missing",
}
"""Each has a module of the same name with `add(parser)` and `run(arguments) -> int`."""


_BROKEN = (SyntaxError, AttributeError, NameError, TypeError, ValueError, OSError, EOFError)
"""What importing raises where a file of a package is cut short, zeroed or of another version."""


def add_all(parser: argparse.ArgumentParser, argv: Sequence[str]) -> None:
    """A subcommand for each; only the module of the one that `argv` asks for is imported.

    What a command needs (a database, a recogniser) must not cost the others their start.
    """
    chosen = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    asked = next((word for word in argv if not word.startswith("-")), "")
    for name, says in _COMMANDS.items():
        sub = chosen.add_parser(name, help=says, description=says)
        if name != asked:
            continue
        module = _module(name)
        sub.description = (module.__doc__ or says).partition(": ")[2].strip() or says
        sub.formatter_class = argparse.RawDescriptionHelpFormatter
        module.add(sub)
        run: Callable[[argparse.Namespace], int] = module.run
        sub.set_defaults(run=run)


def _module(name: str) -> ModuleType:
    """Raises ImportError for whatever a broken package does when it is imported."""
    try:
        return import_module(f"walkaround.cli.{name}")
    except _BROKEN as bad:
        raise ImportError(f"{type(bad).__name__}: {bad}") from bad
