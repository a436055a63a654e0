"""Signing, verifying and journalling: our own cost beside the bare library and the bare disk.

    python tests/benchmarks/records.py [--json FILE] [--rounds N] [--folder DIR]

Verifying is measured at a record of about 10 kB with every step of the list that needs no
other file, against bare Ed25519 over the same bytes in the same run.  A journal write is
the event's encoding, the chain's hash and, every few entries, the signed head; beside it
stands what the disk takes to write and sync the same lines.  At the end of a walk its record
is signed, noted in the device's log and written, each synced.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from joserfc import jws
from joserfc.jwk import OKPKey

from tests.records.walk_sample import EVENTS, KEY, OUTLINE, opening, psi, verdict
from walkaround.devices.device_log import LogFiles
from walkaround.devices.disk import write_finished
from walkaround.exchange import Event, Heard, Judged, Number, Outcome
from walkaround.records.canonical import Json, canonical
from walkaround.records.journal import (
    Closing,
    Ended,
    Head,
    open_journal,
    read_journal,
    write_closing,
    write_event,
    write_head,
)
from walkaround.records.log import Note, What, read_log, sha256_of
from walkaround.records.opening import Opening
from walkaround.records.signature import Paper, WalkKind, parse_line, sign
from walkaround.records.summary import summarise
from walkaround.records.trust import TrustedKey, TrustList
from walkaround.records.verify import verify

KIND = WalkKind.SIMULATED
TRUST = TrustList((TrustedKey(KEY.public, (KIND,), "benchmark", ""),))
ASKS = OUTLINE[2].asks[::2]


def walk(steps: int) -> bytes:
    """A journal of so many steps, each with two readings and a verdict."""
    first = opening(KIND)
    outline = tuple(
        type(OUTLINE[0])(f"step-{n}", f"Step number {n}", ASKS, "cab") for n in range(steps)
    )
    changed = {name: getattr(first, name) for name in first.__slots__} | {"outline": outline}
    line, head = open_journal(Opening(**changed))
    lines = [line]
    for event in (EVENTS[0], *(e for n in range(steps) for e in events_of(n))):
        more, head = written(head, event)
        lines += more
    line, _ = write_closing(head, Closing(Ended.STOPPED, steps * 10_000))
    return b"".join([*lines, line])


def events_of(number: int) -> tuple[Event, ...]:
    """What one step gives."""
    at = number * 10_000
    readings = (
        Heard(f"step-{number}.{ask.id}", Number(psi("105")), "one oh five", at, at + 400)
        for ask in ASKS
    )
    told = (verdict(f"rule-{number % 20}", Outcome.MET, "96.2 s"),)
    return (*readings, Judged(f"step-{number}", told, at, at))


def written(head: Head, event: Event) -> tuple[list[bytes], Head]:
    """The lines that one event puts on the disk: itself, and a signed head when due."""
    line, head = write_event(head, event)
    lines = [line]
    if head.due:
        line, head = write_head(head, KEY, KIND)
        lines.append(line)
    return lines, head


def payload_of(target: int) -> dict[str, Json]:
    """A summary of about so many bytes of canonical JSON."""
    steps = 1
    while True:
        summary = summarise(read_journal(walk(steps)), KEY.public.jwk())
        if len(canonical(summary)) >= target:
            return summary
        steps += 1


def each_ms(
    work: Callable[[], object], rounds: int, clock: Callable[[], int] = time.perf_counter_ns
) -> list[float]:
    """Milliseconds of each of so many calls, after a few that do not count."""
    for _ in range(5):
        work()
    times = []
    for _ in range(rounds):
        began = clock()
        work()
        times.append((clock() - began) / 1e6)
    return times


def row(name: str, times: Sequence[float]) -> dict[str, str | float]:
    """Median and tail in ms, and how many a second at the median."""
    median = statistics.median(times)
    return {
        "what": name,
        "median_ms": round(median, 4),
        "p95_ms": round(statistics.quantiles(times, n=20)[18], 4),
        "worst_ms": round(max(times), 4),
        "per_second": round(1000 / median, 1),
    }


def signing_rows(rounds: int) -> list[dict[str, str | float]]:
    """Our signing and verifying beside the libraries' own, same bytes, same run."""
    payload = payload_of(10_000)
    record = sign(payload, KEY, KIND, Paper.RECORD)
    if not verify(record, TRUST).trusted:
        raise SystemExit("the benchmark's own record does not verify")
    parsed = parse_line(record)
    public = OKPKey.import_key(KEY.public.jwk())  # type: ignore[arg-type]
    size = f"{len(canonical(payload)) / 1000:.1f} kB"
    work: tuple[tuple[str, Callable[[], object]], ...] = (
        (f"sign a record of {size}", lambda: sign(payload, KEY, KIND, Paper.RECORD)),
        ("peer: bare Ed25519 signing", lambda: KEY.private.sign(parsed.message)),
        (f"verify a record of {size}", lambda: verify(record, TRUST)),
        (
            "peer: bare Ed25519 verifying",
            lambda: KEY.public.verifies(parsed.signature, parsed.message),
        ),
        (
            "peer: joserfc verifying (no canonical form)",
            lambda: jws.deserialize_compact(record, public, algorithms=["Ed25519"]),
        ),
    )
    return [row(name, each_ms(call, rounds)) for name, call in work]


def whole_rows(rounds: int) -> list[dict[str, str | float]]:
    """A whole walk: its journal read, its summary made, everything verified together."""
    content = walk(48)
    reading = read_journal(content)
    summary = summarise(reading, KEY.public.jwk())
    record = sign(summary, KEY, KIND, Paper.RECORD)
    if not verify(record, TRUST, journal=content).trusted:
        raise SystemExit("the benchmark's own journal does not verify")
    count = len(reading.entries)
    fewer = max(rounds // 20, 20)
    return [
        row(f"read a journal of {count} entries", each_ms(lambda: read_journal(content), fewer)),
        row("make its summary", each_ms(lambda: summarise(reading, None), fewer)),
        row(
            "verify its record with the journal",
            each_ms(lambda: verify(record, TRUST, journal=content), fewer),
        ),
    ]


def journal_rows(rounds: int, folder: Path) -> list[dict[str, str | float]]:
    """Our share of each write, and the disk's: the same lines written and synced."""
    _, head = open_journal(opening(KIND))
    ours: list[float] = []
    disk: list[float] = []
    events = [event for n in range(rounds // 3 + 1) for event in events_of(n)][:rounds]
    with (folder / "journal.jsonl").open("ab", buffering=0) as file:
        for event in events:
            began = time.perf_counter_ns()
            lines, head = written(head, event)
            content = b"".join(lines)
            made = time.perf_counter_ns()
            file.write(content)
            os.fsync(file.fileno())
            ours.append((made - began) / 1e6)
            disk.append((time.perf_counter_ns() - made) / 1e6)
    return [
        row("journal write: our own share", ours),
        row("journal write: the disk's write and sync", disk),
    ]


def closing_rows(rounds: int, folder: Path) -> list[dict[str, str | float]]:
    """The end of a walk: note the record in the device's log, sign it, write it, all synced."""
    payload, fewer = payload_of(10_000), max(rounds // 10, 20)
    log, path = LogFiles(folder, "log"), folder / "record.jws"

    def close() -> None:
        record = sign(payload, KEY, KIND, Paper.RECORD)
        log.note(Note(What.SIGNED, "", walk="w", sha256=sha256_of(record)), KEY, KIND)
        write_finished(path, record)

    record = sign(payload, KEY, KIND, Paper.RECORD)
    rows = [
        row("sign, note in the log, write, sync", each_ms(close, fewer)),
        row("the same, processor time", each_ms(close, fewer, time.process_time_ns)),
        row("peer: the same three syncs, bare", each_ms(lambda: bare(path, record), fewer)),
        row("peer: write and sync the bare file", each_ms(lambda: bare_write(path, record), fewer)),
    ]
    content = log.read()
    count = content.count(b"\n")
    return [*rows, row(f"read a log of {count} lines", each_ms(lambda: read_log(content), 20))]


def bare_write(path: Path, content: bytes) -> None:
    """What any program has to do to write a file for good, and no more."""
    with path.open("wb", buffering=0) as file:
        file.write(content)
        os.fsync(file.fileno())


def bare(path: Path, record: bytes) -> None:
    """A line added to a log, a file put in place whole, its folder: what a power cut asks for."""
    with path.with_suffix(".log").open("ab", buffering=0) as file:
        file.write(record[:600])
        os.fsync(file.fileno())
    bare_write(path.with_suffix(".new"), record)
    path.with_suffix(".new").replace(path)
    folder = os.open(path.parent, os.O_RDONLY)
    os.fsync(folder)
    os.close(folder)


def print_table(rows: Sequence[dict[str, str | float]]) -> None:
    width = max(len(str(r["what"])) for r in rows)
    print(f"{'':{width}}  {'median ms':>10} {'p95 ms':>9} {'worst ms':>9} {'a second':>9}")
    for r in rows:
        print(
            f"{r['what']:{width}}  {r['median_ms']:>10} {r['p95_ms']:>9} "
            f"{r['worst_ms']:>9} {r['per_second']:>9}"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--json", type=Path, help="write the figures there too")
    parser.add_argument("--rounds", type=int, default=1000)
    parser.add_argument("--folder", type=Path, help="where to write the journal (its disk counts)")
    arguments = parser.parse_args()
    rows = signing_rows(arguments.rounds) + whole_rows(arguments.rounds)
    with tempfile.TemporaryDirectory(dir=arguments.folder) as folder:
        rows += journal_rows(arguments.rounds, Path(folder))
        rows += closing_rows(arguments.rounds, Path(folder))
    print_table(rows)
    if arguments.json:
        arguments.json.write_text(json.dumps(rows, indent=2) + "\n")


if __name__ == "__main__":
    main()
