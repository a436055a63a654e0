"""An audit in parts: each reads its own folders into tables of its own and sends a few rows.

Any engine that runs Python functions elsewhere can run `answer`; `conclude_parts` needs all
of the answers and is quick.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path

from walkaround.audit.conclude import Audit, Shown, conclude
from walkaround.audit.evidence import Evidence, WalkRef
from walkaround.audit.join import joined, mentioned
from walkaround.devices.evidence.ask import Asker
from walkaround.devices.evidence.gather import gather
from walkaround.devices.evidence.store import Store
from walkaround.records.signature import WalkKind
from walkaround.records.trust import TrustList

_WALKS_EACH = 1 << 40
"""Numbers of walks that each part has for itself."""


@dataclass(frozen=True, slots=True)
class Part:
    """What one part answers: small, and ready to be sent."""

    evidence: Mapping[WalkKind, tuple[Evidence, Shown]]
    refs: Mapping[int, WalkRef]
    looked: Mapping[str, int]


def answer(
    number: int,
    roots: Sequence[Path],
    cache: Path,
    trust: TrustList,
    own: Mapping[str, bytes],
    *,
    journals: bool = True,
) -> Part:
    """Audit the folders of part `number` as far as counting goes, in this process alone."""
    folder = cache / f"part-{number}"
    with Store(folder, trust, threads=1, first=number * _WALKS_EACH) as store:
        gather(roots, store, trust, own, journals=journals, processes=1)
        asker = Asker(store)
        found = {kind: (asker.evidence(kind), asker.shown(kind)) for kind in asker.kinds()}
        walks = chain.from_iterable(mentioned(evidence) for evidence, _ in found.values())
        signed = (walk for _, shown in found.values() for walk, *_ in shown.countersigned)
        return Part(found, asker.walks((*walks, *signed)), asker.looked())


def conclude_parts(parts: Sequence[Part]) -> tuple[Audit, ...]:
    """The audit of the whole. Raises UsageError when a vehicle lies in two parts."""
    refs = {walk: ref for part in parts for walk, ref in part.refs.items()}
    audits = []
    for kind in WalkKind:
        these = [part.evidence[kind] for part in parts if kind in part.evidence]
        if these:
            evidence = joined([evidence for evidence, _ in these])
            audits.append(conclude(kind, evidence, refs, _shown([shown for _, shown in these])))
    return tuple(audits)


def _shown(parts: Sequence[Shown]) -> Shown:
    return Shown(
        titles={step: title for part in parts for step, title in part.titles.items()},
        unfinished=tuple(chain.from_iterable(part.unfinished for part in parts)),
        countersigned=tuple(chain.from_iterable(part.countersigned for part in parts)),
        borne_out=sum(part.borne_out for part in parts),
    )
