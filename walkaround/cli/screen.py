"""The terminal, whatever it is and whatever becomes of it: printing never stops a walk.

A terminal that knows few letters gets the nearest ones; one that was closed, is full or has
gone away gets nothing more, and the command goes on.
"""

from __future__ import annotations

import codecs
import errno
import os
import sys
import unicodedata
from collections.abc import Mapping
from typing import TextIO

_NEAREST = "walkaround-nearest"
_SAID_AS: Mapping[str, str] = {
    "×": "x", "–": "-", "—": "-", "−": "-", "“": '"', "”": '"', "‘": "'", "’": "'",
    "≤": "<=", "≥": ">=", "…": "...", "°": " deg ", "±": "+/-", "·": "-", "•": "*", "→": "->",
    "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
}  # fmt: skip
"""What a terminal without these letters shows instead; others lose their accents or show '?'."""


def mend_streams() -> None:
    """Give a process that was started without some of its three streams nothing in their place.

    Without this the first file that is opened would become "standard output", and a library
    that prints would write into it.
    """
    for number, name, mode in ((0, "stdin", "r"), (1, "stdout", "w"), (2, "stderr", "w")):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # the system gives out the lowest free number
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(number, mode, encoding="utf-8", closefd=False))
    codecs.register_error(_NEAREST, _nearest)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors=_NEAREST)


def _nearest(bad: UnicodeError) -> tuple[str, int]:
    if not isinstance(bad, UnicodeEncodeError):
        raise bad
    letters = bad.object[bad.start : bad.end]
    return "".join(_plain(letter) for letter in letters), bad.end


def _plain(letter: str) -> str:
    bare = unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode("ascii")
    return _SAID_AS.get(letter) or bare or "?"


def silence(stream: TextIO) -> None:
    """From now on what is printed there goes nowhere, and does not fail."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
    except (OSError, ValueError):  # no stream of the system's; nothing to be done
        return


def plain(text: str, keep: str = "\n\t") -> str:
    """Control characters made visible: a hostile name could move the cursor or colour a verdict;
    with nothing to keep it cannot make a line of its own either."""
    return "".join(c if c.isprintable() or c in keep else f"\\x{ord(c):02x}" for c in text)


def can_print() -> bool:
    """Whether standard output still takes a letter: an empty line is tried."""
    if sys.__stdout__ is None:  # it was closed before we began, and leads nowhere
        return False
    try:
        os.write(sys.stdout.fileno(), b"\n")
    except (OSError, ValueError):
        return False
    return True


def complain(text: str) -> None:
    """One sentence on standard error; where that is gone too, nothing."""
    try:
        print(f"walkaround: {plain(text)}", file=sys.stderr, flush=True)
    except (OSError, ValueError):
        silence(sys.stderr)


def tell(text: str = "") -> None:
    """Print a line that the command was asked for: that it cannot be printed is a failure.

    Raises OSError, BrokenPipeError, which `main` answers.
    """
    must_have_output()
    print(plain(text), flush=True)


def must_have_output() -> None:
    """Raises OSError where the command was started without a standard output."""
    if sys.__stdout__ is None:
        raise OSError(errno.EBADF, "standard output is closed")


def show(text: str = "") -> None:
    """Print a line. When that fails say why, once, and go on without a screen."""
    try:
        print(plain(text), flush=True)
    except BrokenPipeError:  # the reader has gone, and wants to hear no more
        silence(sys.stdout)
    except (OSError, ValueError) as bad:
        silence(sys.stdout)
        complain(f"cannot print any more ({bad}); everything else goes on")
