"""One file per command: chooses the devices, hands them to the walk, prints."""

from __future__ import annotations

import argparse
import os
import signal
import sys
import traceback
from collections.abc import Sequence
from pathlib import Path
from types import FrameType

from walkaround import __version__
from walkaround.errors import DiskError, WalkaroundError

INTERRUPTED = 130
_CRASHED = 1
_BY_SIGNAL = 128
_THUMBPRINTS = ("--thumbprint", "--distrust")
TRACE_VARIABLE = "WALKAROUND_TRACE"
"""Set it to see where a crash came from."""


class _Terminated(BaseException):
    """SIGTERM or SIGHUP outside a walk; what is being made is tidied away."""

    def __init__(self, number: int) -> None:
        self.number = number


def _parser(argv: Sequence[str]) -> argparse.ArgumentParser:
    # Imported here: a command's own imports should not cost the others their start.
    from walkaround.cli import commands  # noqa: PLC0415

    parser = argparse.ArgumentParser(
        prog="walkaround",
        description="A hands-free, voice-prompted air-brake check that ends in a signed record. "
        "It informs; it does not license: local rules, your carrier, the maker and a licensed "
        "mechanic decide.",
        epilog="Each command has its own --help. In a checkout run it as 'python3 walkaround "
        "COMMAND'; begin with 'demo', then 'setup', then 'walk'.",
    )
    parser.add_argument("--version", action="version", version=f"walkaround {__version__}")
    commands.add_all(parser, argv)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit code. Every failure is one printed sentence."""
    from walkaround.cli import screen  # noqa: PLC0415 - inside the reach of Ctrl-C's sentence

    screen.mend_streams()
    before = _stop_on_signals()
    try:
        return _finish(_run(sys.argv[1:] if argv is None else argv))
    except KeyboardInterrupt:
        screen.complain("interrupted; what was heard is kept")
        return INTERRUPTED
    except _Terminated as told:
        screen.complain(
            f"told to stop ({signal.Signals(told.number).name}); what was heard is kept"
        )
        return _BY_SIGNAL + told.number
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)  # type: ignore[arg-type]


def _run(argv: Sequence[str]) -> int:
    from walkaround.cli import screen  # noqa: PLC0415

    try:
        arguments = _parser(argv).parse_args(_bound(argv))
        code: int = arguments.run(arguments)
    except WalkaroundError as error:
        screen.complain(str(error))
        return error.exit_code
    except BrokenPipeError:
        screen.silence(sys.stdout)  # the reader has gone; nothing is left to be said to it
        return 0
    except ImportError as bad:
        from walkaround.cli import damage  # noqa: PLC0415 - seldom needed

        screen.complain(damage.told_of(bad))
        return damage.DAMAGED
    except SystemExit as asked:  # argparse: --help, or words that it does not know
        return asked.code if isinstance(asked.code, int) else 0
    except OSError as bad:
        if bad.filename is None and not screen.can_print():
            return _cannot_print(bad)
        screen.complain(f"the system refused something ({bad}); mend that, then run it again")
        return DiskError.exit_code
    except Exception as bad:  # noqa: BLE001 - the last resort: a sentence, and nothing is lost
        if os.environ.get(TRACE_VARIABLE):
            traceback.print_exc()
        screen.complain(_crash(bad))
        return _CRASHED
    return code


def _bound(argv: Sequence[str]) -> list[str]:
    """One thumbprint in 64 begins with a dash: bound to its option it is not taken for another."""
    words = list[str]()
    for word in argv:
        if words and words[-1] in _THUMBPRINTS:
            words[-1] += f"={word}"
        else:
            words.append(word)
    return words


def _crash(bad: Exception) -> str:
    places = traceback.extract_tb(bad.__traceback__)
    at = f"{Path(places[-1].filename).name}:{places[-1].lineno}" if places else "?"
    return (
        f"a mistake of ours ({type(bad).__name__}: {bad}, at {at}); what was heard is kept. "
        f"Run it again with {TRACE_VARIABLE}=1 and report what is shown"
    )


def _finish(code: int) -> int:
    """Print what is still waiting to be printed; a failure there is told, once."""
    from walkaround.cli import screen  # noqa: PLC0415

    try:
        sys.stdout.flush()
    except BrokenPipeError:
        screen.silence(sys.stdout)
    except (OSError, ValueError) as bad:
        return code or _cannot_print(bad)
    return code


def _cannot_print(bad: Exception) -> int:
    from walkaround.cli import screen  # noqa: PLC0415

    screen.silence(sys.stdout)
    screen.complain(f"cannot print ({bad}); give the output another place")
    return DiskError.exit_code


def _stop_on_signals() -> dict[int, object]:
    """SIGTERM and SIGHUP raise where the program stands, unless they are ignored (`nohup`)."""
    before: dict[int, object] = {}
    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        try:
            if number is not None and signal.getsignal(number) is signal.SIG_DFL:
                before[number] = signal.signal(number, _raise)
        except ValueError:  # not the main thread: the signals are somebody else's
            break
    return before


def _raise(number: int, _frame: FrameType | None) -> None:
    raise _Terminated(number)
