"""An audit in parts concludes what one in a single process does; also on a distributed engine."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.audit.auditing import audited
from tests.audit.fleets import Fleet, Habit, copies, leaking_more, leaves_out, rounds
from tests.walks.stories import library
from walkaround.audit.conclude import Audit
from walkaround.devices.evidence.parts import Part, answer, conclude_parts
from walkaround.devices.evidence.scripts import own_files
from walkaround.errors import UsageError
from walkaround.records.trust import TrustList

FLEET = Fleet(
    habits={0: leaves_out("leak-applied"), 1: Habit("c", copies), 2: Habit("r", rounds)},
    changes={3: leaking_more(0.6)},
    drivers=16,
    walks=20,
)


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, TrustList]:
    folder = tmp_path_factory.mktemp("parts") / "tree"
    return folder, FLEET.write(folder)


def shares(tree: Path, count: int) -> list[list[Path]]:
    """The drivers' folders, dealt out."""
    folders = sorted(tree.iterdir())
    return [folders[at::count] for at in range(count)]


def told(audits: Sequence[Audit]) -> list[tuple[str, str, str, str]]:
    return sorted(
        (look.sort, look.who, look.vehicle, look.says) for audit in audits for look in audit.looks
    )


def test_parts_conclude_what_the_whole_does(tree: tuple[Path, TrustList], tmp_path: Path) -> None:
    folder, trust = tree
    whole = audited(folder, tmp_path / "whole", trust, journals=False)
    own = own_files(library())
    parts = [
        answer(number, roots, tmp_path, trust, own, journals=False)
        for number, roots in enumerate(shares(folder, 3))
    ]
    audits = conclude_parts(parts)
    assert told(audits) == told(whole.audits)
    assert {sort for sort, *_ in told(audits)} >= {"left-out", "copies", "fives", "drift"}
    assert audits[0].tests == whole.audits[0].tests
    assert audits[0].evidence.walks == 320
    refs = {walk: ref for part in parts for walk, ref in part.refs.items()}
    for look in audits[0].looks:
        for walk in look.walks:
            assert Path(refs[walk].path).is_file()


def test_a_vehicle_in_two_parts_is_refused(tree: tuple[Path, TrustList], tmp_path: Path) -> None:
    folder, trust = tree
    walks = sorted((folder / "0000").iterdir())
    own = own_files(library())
    parts = [
        answer(number, walks[number::2], tmp_path, trust, own, journals=False)
        for number in range(2)
    ]
    with pytest.raises(UsageError, match="lie in 2 parts"):
        conclude_parts(parts)


def test_two_workers_of_a_distributed_engine(tree: tuple[Path, TrustList], tmp_path: Path) -> None:
    """The same functions on dask.distributed, two worker processes, four parts."""
    distributed = pytest.importorskip(
        "distributed", reason="the optional engine is not installed (extra 'distributed')"
    )
    folder, trust = tree
    own = own_files(library())
    whole = audited(folder, tmp_path / "whole", trust, journals=False)
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        waiting = [
            client.submit(answer, number, roots, tmp_path, trust, own, journals=False)
            for number, roots in enumerate(shares(folder, 4))
        ]
        parts: list[Part] = client.gather(waiting)
        workers = {address for at in client.who_has(waiting).values() for address in at}
    assert len(workers) == 2
    assert told(conclude_parts(parts)) == told(whole.audits)
