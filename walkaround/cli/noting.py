"""Notes in the device's log: a walk begun, a record signed or countersigned.

A log that fails stops no walk.
"""

from __future__ import annotations

from walkaround.cli.screen import complain
from walkaround.devices.clock import wall_now
from walkaround.devices.keys import KeyStore
from walkaround.errors import DiskError, InUseError, LogError
from walkaround.records.keys import SigningKey
from walkaround.records.log import Note, What, sha256_of
from walkaround.records.position import Position
from walkaround.records.signature import WalkKind


def note_begun(key: SigningKey | None, kind: WalkKind, walk: str) -> Position | None:
    """The line that the walk is begun with; None without a key, or where there is no log."""
    return _note(key, kind, Note(What.BEGUN, wall_now(), walk=walk))


def note_signed(key: SigningKey, kind: WalkKind, walk: str, record: bytes) -> None:
    """Before the record is written: a record that no line names would look made up later."""
    _note(key, kind, Note(What.SIGNED, wall_now(), walk=walk, sha256=sha256_of(record)))


def note_countersigned(key: SigningKey, kind: WalkKind, line: bytes) -> None:
    """What this key countersigned before it is ever taken back stays good by this line."""
    _note(key, kind, Note(What.COUNTERSIGNED, wall_now(), sha256=sha256_of(line)))


def _note(key: SigningKey | None, kind: WalkKind, note: Note) -> Position | None:
    if key is None:
        return None
    try:
        return KeyStore().log(kind).note(note, key, kind)
    except (LogError, DiskError, InUseError) as bad:
        complain(f"{bad}; it goes on without, and the device's log will have a gap")
        return None
