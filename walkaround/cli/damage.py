"""A package that is missing or broken: said in a sentence, and mended by the next start."""

from __future__ import annotations

import sys
from pathlib import Path

DAMAGED = 1
_MARKS = "installed-*"
_UNFINISHED = "unfinished"
"""The names that `.ci/bootstrap.py` gives its marks; it makes an unfinished environment anew."""


def told_of(bad: ImportError, environment: Path | None = None) -> str:
    """What is broken and what to do; marks an environment of the bootstrap's as unfinished."""
    folder = Path(sys.prefix) if environment is None else environment
    told = f"a package in {folder} is missing or broken ({bad}); "
    if not any(folder.glob(_MARKS)):
        return told + "install this program again"
    try:
        (folder / _UNFINISHED).touch()
    except OSError:
        return told + "remove that folder, then run this again"
    return told + "run this again: it will be made anew"
