"""The logs that records are verified with: those that were given, and this device's own."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from walkaround.cli.beside import read_limited
from walkaround.cli.screen import complain
from walkaround.devices.keys import KeyStore
from walkaround.devices.regular import LOG_BYTES, read_regular
from walkaround.errors import LogError
from walkaround.records.log import DeviceLog, What, absent, earlier, read_log, sha256_of
from walkaround.records.signature import WalkKind

_MOST_BYTES = 256_000_000
_MOST_NAMED = 20


@dataclass(frozen=True, slots=True)
class Logs:
    """`given` are held against every record by their keys, with the `heads` that were copied
    from them; `own` only vouch for what they hold. A single one is held against every record,
    whatever its keys, unless it is the log of somebody who countersigned."""

    given: tuple[DeviceLog, ...] = ()
    heads: tuple[bytes, ...] = ()
    own: tuple[DeviceLog, ...] = ()

    def log_for(self, key_id: str, record: bytes) -> DeviceLog | None:
        """The log to verify a record with, or None."""
        for log in self.given:
            if any(key.thumbprint == key_id for key in log.keys):
                return log
        if len(self.given) == 1 and not self.given[0].has_countersigned:
            return self.given[0]
        own = (log for log in self.own if log.signed(sha256_of(record)) is not None)
        return next(own, None)

    @property
    def countersigners(self) -> tuple[DeviceLog, ...]:
        """Logs in which a countersignature may stand: any of them."""
        return (*self.given, *self.own)

    def gaps(self, shown: Collection[str]) -> Iterator[str]:
        """A sentence for each walk that a given log has and nobody showed."""
        for log in self.given:
            missing = absent(log, shown)
            for gap in missing[:_MOST_NAMED]:
                done = "begun and never signed" if gap.what is What.BEGUN else "signed"
                yield f"in the log and not shown: {gap.walk}, {done}, {gap.at}"
            if len(missing) > _MOST_NAMED:
                yield f"... and {len(missing) - _MOST_NAMED} more walks in the log and not shown"
            before = earlier(log, shown)
            for gap in before[:_MOST_NAMED]:
                yield (
                    f"in the log and not shown: an earlier record of {gap.walk}, signed {gap.at}; "
                    "each stop signs one, so look whether the journal has a stop then"
                )
            if len(before) > _MOST_NAMED:
                yield f"... and {len(before) - _MOST_NAMED} more earlier records not shown"


NO_LOGS = Logs()


def logs_of(store: KeyStore, given: Sequence[Path], heads: Sequence[bytes]) -> Logs:
    """Read every log once. Raises LogError for a given one that is broken, UsageError."""
    return Logs(
        tuple(read_log(read_limited(path, _MOST_BYTES)) for path in given),
        tuple(heads),
        tuple(_own(store)),
    )


def _own(store: KeyStore) -> Iterator[DeviceLog]:
    for kind in (WalkKind.WALK, WalkKind.SIMULATED):
        for path in store.log(kind).paths():
            try:
                yield read_log(read_regular(path, LOG_BYTES))
            except (LogError, OSError) as bad:
                complain(f"this device's log {path} is not used: {bad}")
