"""An audit from folders to conclusions, as the command does it, for the tests of this room."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.walks.stories import library
from walkaround.audit.conclude import Audit
from walkaround.audit.evidence import WalkRef
from walkaround.audit.looks import Look
from walkaround.cli.auditing import concluded
from walkaround.devices.evidence.ask import Asker, Listed
from walkaround.devices.evidence.gather import gather
from walkaround.devices.evidence.scripts import own_files
from walkaround.devices.evidence.store import Store
from walkaround.records.log import DeviceLog
from walkaround.records.trust import TrustList


@dataclass(frozen=True)
class Audited:
    """What came out: by kind of walk, the files, and the walks that were named."""

    audits: tuple[Audit, ...]
    looked: Mapping[str, int]
    listed: tuple[Listed, ...]
    refs: Mapping[int, WalkRef]
    verified_before: int

    @property
    def looks(self) -> list[Look]:
        return [look for audit in self.audits for look in audit.looks]

    def sorts(self, whose: str) -> set[str]:
        """Which tests found something about a person or a vehicle."""
        return {look.sort for look in self.looks if whose in (look.who, look.vehicle)}


def audited(
    tree: Path,
    cache: Path,
    trust: TrustList,
    *,
    journals: bool = True,
    processes: int = 1,
    logs: Sequence[DeviceLog] = (),
) -> Audited:
    """Audit a tree; `cache` is where the tables lie."""
    with Store(cache, trust) as store:
        known = len(store.known)
        own = own_files(library())
        gather([tree], store, trust, own, journals=journals, processes=processes, logs=logs)
        asker = Asker(store)
        audits = concluded(asker)
        named = {walk for audit in audits for walk in audit.walks_named}
        return Audited(audits, asker.looked(), asker.listed(), asker.walks(named), known)
