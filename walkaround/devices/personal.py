"""What a walk's folder holds of a person: the openings of his particulars, and recordings.

openings.json   what opens the commitments in the record; readable by its owner only
sound/          answers as FLAC, named by their hash; only for a walk whose opening says until
                when they are kept

Everything here may be deleted at any time: the record holds hashes and commitments, and every
signature stays.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

from walkaround.devices.disk import disk_error, read_error, write_finished
from walkaround.devices.regular import LIST_BYTES, read_regular

OPENINGS_NAME = "openings.json"
SOUND_NAME = "sound"
SUFFIX = ".flac"


def keep_openings(walk: Path, openings: bytes) -> None:
    """Write what opens the commitments. Raises DiskError."""
    write_finished(walk / OPENINGS_NAME, openings, mode=0o600)


def openings_in(walk: Path) -> bytes | None:
    """The openings; None when there are none or they were removed. Raises DiskError."""
    try:
        return read_regular(walk / OPENINGS_NAME, LIST_BYTES)
    except FileNotFoundError:
        return None
    except OSError as bad:
        raise read_error(walk / OPENINGS_NAME, bad) from bad


def delete_openings(walk: Path) -> bool:
    """Remove the person from the walk; whether he was there. Raises DiskError."""
    there = (walk / OPENINGS_NAME).exists()
    try:
        (walk / OPENINGS_NAME).unlink(missing_ok=True)
    except OSError as bad:
        raise disk_error(walk / OPENINGS_NAME, bad) from bad
    return there


def sounds_in(walk: Path) -> dict[str, bytes] | None:
    """The recordings by name; None when none were ever kept here. Raises DiskError."""
    folder = walk / SOUND_NAME
    if not folder.is_dir():
        return None
    try:
        found = sorted(folder.glob(f"*{SUFFIX}"))
        return {at.name: read_regular(at, LIST_BYTES) for at in found}
    except OSError as bad:
        raise read_error(folder, bad) from bad


def delete_sounds(walk: Path) -> int:
    """Delete every recording of a walk; how many there were. Raises DiskError."""
    folder = walk / SOUND_NAME
    count = 0
    try:
        for at in folder.glob(f"*{SUFFIX}"):
            at.unlink()
            count += 1
    except OSError as bad:
        raise disk_error(folder, bad) from bad
    return count


def is_over(sound_until: str, today: date) -> bool:
    """Whether recordings kept until that day must be gone; what is no day is over at once."""
    try:
        return today > date.fromisoformat(sound_until)
    except ValueError:
        return True
