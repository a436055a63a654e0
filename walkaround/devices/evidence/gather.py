"""Reads whole trees into the tables, on as many processes as there are cores to use."""

from __future__ import annotations

import gc
import multiprocessing
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from itertools import chain, groupby, islice
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess
from pathlib import Path

from walkaround.devices.evidence.reader import NOT_OURS, Found, Looked, Pair, Reader, pairs_of
from walkaround.devices.evidence.store import Store
from walkaround.devices.evidence.tree import Sighted, Sort, look_through
from walkaround.errors import DiskError
from walkaround.records.log import DeviceLog
from walkaround.records.trust import TrustList

AT_ONCE = 250
"""Pairs that one process reads before it hands its rows over."""
_WORTH_A_PROCESS = 400


def gather(
    roots: Sequence[Path],
    store: Store,
    trust: TrustList,
    own: Mapping[str, bytes],
    *,
    journals: bool = True,
    processes: int = 2,
    logs: Sequence[DeviceLog] = (),
) -> None:
    """Read everything below the roots into the store. Raises UsageError for a missing root."""
    sighted = look_through(roots)
    chunks = _chunks(_pairs(sighted, store, journals=journals), AT_ONCE)
    first = list(islice(chunks, 2))
    if processes < 2 or sum(map(len, first)) < _WORTH_A_PROCESS:
        reader = Reader(trust, store.known, own, logs)
        for chunk in chain(first, chunks):
            found = reader.read(chunk)
            store.take(found.looked, found.batch)
    else:
        with closing(_Workers(processes, trust, dict(store.known), own, logs)) as workers:
            for found in workers.read(chain(first, chunks)):
                store.take(found.looked, found.batch)
    store.settle()


def _pairs(sighted: Iterable[Sighted], store: Store, *, journals: bool) -> Iterator[Pair]:
    """What belongs together, folder by folder; what is not ours goes straight to the store."""
    strange: list[Looked] = []
    for _, folder in groupby(sighted, key=_folder):
        files = list(folder)
        strange += [
            Looked(one.path, one.size, "", NOT_OURS, one.why)
            for one in files
            if one.sort is Sort.OTHER
        ]
        if len(strange) >= AT_ONCE:
            store.take(strange, Found().batch)
            strange = []
        yield from pairs_of(files, journals=journals)
    store.take(strange, Found().batch)


def _folder(sighted: Sighted) -> str:
    return sighted.folder


def _chunks(pairs: Iterator[Pair], size: int) -> Iterator[list[Pair]]:
    while chunk := list(islice(pairs, size)):
        yield chunk


class _Workers:
    """Reading processes, each with a pipe of its own; a new chunk goes to whichever is done."""

    def __init__(
        self,
        count: int,
        trust: TrustList,
        known: Mapping[str, str],
        own: Mapping[str, bytes],
        logs: Sequence[DeviceLog],
    ) -> None:
        # Spawned, not forked: the tables' engine has threads of its own by now.
        context = multiprocessing.get_context("spawn")
        self._pipes: list[Connection] = []
        self._processes: list[SpawnProcess] = []
        for _ in range(count):
            here, there = context.Pipe()
            given = (there, trust, known, own, logs)
            process = context.Process(target=_work, args=given, daemon=True)
            process.start()
            there.close()
            self._pipes.append(here)
            self._processes.append(process)

    def read(self, chunks: Iterable[list[Pair]]) -> Iterator[Found]:
        """What each chunk held, in whatever order they get done."""
        todo, busy = iter(chunks), list[Connection]()
        for pipe in self._pipes:
            self._give(pipe, todo, busy)
        while busy:
            for ready in wait(busy):
                pipe = next(known for known in busy if known is ready)
                busy.remove(pipe)
                found = _received(pipe)
                self._give(pipe, todo, busy)
                yield found

    @staticmethod
    def _give(pipe: Connection, todo: Iterator[list[Pair]], busy: list[Connection]) -> None:
        chunk = next(todo, None)
        if chunk is not None:
            pipe.send(chunk)
            busy.append(pipe)

    def close(self) -> None:
        for pipe in self._pipes:
            pipe.close()
        for process in self._processes:
            process.join()


def _received(pipe: Connection) -> Found:
    try:
        found: Found = pipe.recv()
    except EOFError:
        raise DiskError(
            "a reading process ended early, perhaps for want of memory; try --processes 1"
        ) from None
    return found


def _work(
    pipe: Connection,
    trust: TrustList,
    known: Mapping[str, str],
    own: Mapping[str, bytes],
    logs: Sequence[DeviceLog],
) -> None:
    """A reading process: chunk in, rows out, until the other end is closed."""
    reader = Reader(trust, known, own, logs)
    # Rows by the hundred thousand, and no cycles among them: looking for some costs a tenth.
    gc.freeze()
    gc.set_threshold(100_000, 50, 50)
    while True:
        try:
            pipe.send(reader.read(pipe.recv()))
        except (EOFError, BrokenPipeError, KeyboardInterrupt):
            return
