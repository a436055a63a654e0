"""Which countersignatures bear a record out: those by a second key that is trusted and stands.

Anybody can lay a file beside a record, so none of them can take anything from it: one that does
not count is listed with what is wrong with it, and the record keeps its own verdict.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from walkaround.errors import RecordError, RevokedKeyError
from walkaround.records.countersignature import Countersignature, read_countersignature
from walkaround.records.log import DeviceLog, sha256_of
from walkaround.records.signature import WalkKind
from walkaround.records.standing import covered
from walkaround.records.trust import TrustList


class Worth(StrEnum):
    """What a countersignature is worth; only the first counts."""

    COUNTS = "countersigned"
    ELSEWHERE = "NOT COUNTED, it is over another record"
    OWN = "NOT COUNTED, by the record's own device: no second person"
    STRANGER = "NOT COUNTED, by a key that is not trusted for it"
    REVOKED = "NOT COUNTED, revoked key, time not proven"
    UNREADABLE = "NOT COUNTED, it could not be read"


@dataclass(frozen=True, slots=True)
class Weighed:
    """`file` is what it was given as, `whose` the trusted key's name, `says` what stands in it."""

    file: str
    worth: Worth
    whose: str = ""
    says: str = ""

    def __str__(self) -> str:
        by = f" by the key of '{self.whose}'" if self.whose else ""
        says = f"; it says: {self.says}" if self.says else ""
        return f"{self.file}: {self.worth}{by}{says}"


@dataclass(frozen=True, slots=True)
class Countersigned:
    """The record that is to be borne out. `own_keys` are thumbprints of its own device's keys."""

    sha256: str
    walk_id: str
    kind: WalkKind
    own_keys: Collection[str]

    def weigh(
        self, lines: Mapping[str, bytes], trust: TrustList, logs: Sequence[DeviceLog]
    ) -> Iterator[Weighed]:
        """Each in turn; `logs` are those of the devices that countersigned. Raises nothing."""
        for file, line in lines.items():
            try:
                found = read_countersignature(line)
            except RecordError as bad:
                yield Weighed(file[:80], Worth.UNREADABLE, says=str(bad))
                continue
            worth = self._worth(found) or worth_of_key(found, line, trust, logs)
            known = trust.find(found.key_id) if worth is Worth.COUNTS else None
            says = f"{found.signer}, {found.at}: {found.remarks}"
            yield Weighed(file[:80], worth, known.name if known else "", says)

    def _worth(self, found: Countersignature) -> Worth | None:
        if (found.record, found.walk_id, found.kind) != (self.sha256, self.walk_id, self.kind):
            return Worth.ELSEWHERE
        return Worth.OWN if found.key_id in self.own_keys else None


def worth_of_key(
    found: Countersignature, line: bytes, trust: TrustList, logs: Sequence[DeviceLog]
) -> Worth:
    """Whether its key is trusted and stands, or stood at its place in one of the `logs`."""
    known, revoked = trust.find(found.key_id), trust.revoked(found.key_id)
    if known is None or found.kind not in known.scope:
        return Worth.STRANGER
    if revoked is None:
        return Worth.COUNTS
    for log in logs:
        noted = log.signed(sha256_of(line))
        try:
            if noted is not None and noted.key_id == found.key_id:
                covered(revoked, log, noted)
                return Worth.COUNTS
        except RevokedKeyError:
            continue
    return Worth.REVOKED
