"""One file per command: chooses the devices, hands them to the walk, prints."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence

from walkaround import __version__
from walkaround.errors import WalkaroundError

INTERRUPTED = 130
_CRASHED = 1


def _parser() -> argparse.ArgumentParser:
    # Imported here: a command's own imports should not cost the others their start.
    from walkaround.cli import commands  # noqa: PLC0415

    parser = argparse.ArgumentParser(
        prog="walkaround",
        description="A hands-free, voice-prompted air-brake check that ends in a signed record. "
        "It informs; it does not license: local rules, your carrier, the maker and a licensed "
        "mechanic decide.",
    )
    parser.add_argument("--version", action="version", version=f"walkaround {__version__}")
    commands.add_all(parser)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit code. Every failure of ours is one printed sentence."""
    arguments = _parser().parse_args(argv)
    try:
        code: int = arguments.run(arguments)
    except WalkaroundError as error:
        print(f"walkaround: {error}", file=sys.stderr)
        return error.exit_code
    except KeyboardInterrupt:
        print("\nwalkaround: interrupted; what was heard is kept", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of our output has gone; nothing is left to be said to it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    return code
