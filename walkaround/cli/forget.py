"""`walkaround forget`: remove a person's particulars and recordings; every signature stays.

The record holds salted commitments and hashes only. What opens them lies in files of its own,
and this command deletes those: the driver's particulars and the recorded answers.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

from walkaround.cli.screen import complain, tell
from walkaround.devices.clock import today
from walkaround.devices.disk import JOURNAL_NAME, FolderLock
from walkaround.devices.personal import delete_openings, delete_sounds, is_over
from walkaround.devices.regular import LOG_BYTES, read_regular
from walkaround.errors import InUseError, JournalError, UsageError
from walkaround.records.journal import read_journal


def add(parser: argparse.ArgumentParser) -> None:
    """The command's options."""
    parser.add_argument(
        "folders", nargs="+", type=Path, metavar="FOLDER", help="a walk, or a folder of walks"
    )
    parser.add_argument("--expired", action="store_true", help="only recordings whose time is over")


def run(arguments: argparse.Namespace) -> int:
    """Deletes, and says for each walk what was there; one that is being walked is left alone."""
    code = 0
    for given in arguments.folders:
        for walk in walks_at(given):
            try:
                with FolderLock(walk):
                    _forget(walk, only_expired=arguments.expired)
            except InUseError as bad:
                complain(f"{walk} is in use by a walk; nothing of it was removed: end that first")
                code = bad.exit_code
    return code


def _forget(walk: Path, *, only_expired: bool) -> None:
    if only_expired:
        _forget_expired(walk)
        return
    told = ["the particulars"] if delete_openings(walk) else []
    told += _counted(delete_sounds(walk))
    tell(f"{walk}: removed {' and '.join(told) or 'nothing, there was nothing'}")


def walks_at(given: Path) -> Iterator[Path]:
    """The walk's folder itself, or those in it. Raises UsageError when there is none."""
    if (given / JOURNAL_NAME).is_file():
        yield given
        return
    found = sorted(at.parent for at in given.glob(f"*/{JOURNAL_NAME}")) if given.is_dir() else []
    if not found:
        raise UsageError(f"there is no walk in {given}; name a walk's folder, or one of several")
    yield from found


def _counted(recordings: int) -> list[str]:
    return [f"{recordings} recordings"] if recordings else []


def _forget_expired(walk: Path) -> None:
    """A journal that cannot be read does not say until when: nothing is deleted, and it is said."""
    try:
        reading = read_journal(read_regular(walk / JOURNAL_NAME, LOG_BYTES), after_crash=True)
    except (JournalError, OSError) as bad:
        tell(f"{walk}: kept as it is, its journal does not read ({bad})")
        return
    until = reading.opening.sound_until
    if until and is_over(until, today()):
        tell(f"{walk}: removed {delete_sounds(walk)} recordings, kept until {until}")
