"""Where a record stands in its device's log, and whether its key still stands."""

from __future__ import annotations

from collections.abc import Sequence

from walkaround.errors import LogError, RevokedKeyError
from walkaround.records.log import DeviceLog, LogLine, What, read_head
from walkaround.records.position import Position
from walkaround.records.trust import Revoked, TrustList


def copied_heads(log: DeviceLog, heads: Sequence[bytes], trust: TrustList) -> int:
    """How many heads were copied from this log earlier and stand in it still.

    `heads` are such lines; those that the trust list has seen count too. Raises LogError
    when one is not there: lines were changed, put in or taken out before it.
    """
    given = [read_head(head, log.keys).position for head in heads]
    seen = [at for key in log.keys for at in trust.seen(key.thumbprint)]
    for position in (*given, *seen):
        if not log.holds(position):
            raise LogError(
                f"line {position.seq + 1} of the log is not the one that was copied earlier: "
                "the log was rewritten or cut; do not rely on it"
            )
    return len(given) + len(seen)


def signed_line(log: DeviceLog, sha256: str, began: Position | None) -> LogLine:
    """The line that names a record of this hash. Raises LogError when there is none.

    `began` is the line that the walk's journal says it was begun with, if it says so.
    """
    line = log.signed(sha256)
    if line is None:
        raise LogError("the log has no line for this record; ask for a newer log, or why")
    if began is not None and not _begun(log, began, line):
        raise LogError("the walk was not begun with the line of the log that it names")
    return line


def _begun(log: DeviceLog, began: Position, signed: LogLine) -> bool:
    if not log.holds(began) or began.seq >= signed.position.seq:
        return False
    note = log.lines[began.seq].note
    return (note.what, note.walk) == (What.BEGUN, signed.note.walk)


def covered(revoked: Revoked, log: DeviceLog | None, line: LogLine | None) -> str:
    """Why a record counts although its key was taken back. Raises RevokedKeyError.

    Only a head of the log that somebody else held before can show that the record is older
    than the loss of the key; the record's own time cannot.
    """
    said = f"revoked key, time not proven: it was taken back on {revoked.at} ({revoked.why[:80]})"
    if revoked.covered is None:
        raise RevokedKeyError(f"{said}; ask for a record by a key that stands")
    if log is None or line is None:
        raise RevokedKeyError(f"{said}; give the device's log, in which this record stands")
    if not log.holds(revoked.covered) or line.position.seq > revoked.covered.seq:
        raise RevokedKeyError(f"{said}; it is not among the records that a copied head covers")
    return f"taken back on {revoked.at}, but covered by line {revoked.covered.seq + 1} of the log"
