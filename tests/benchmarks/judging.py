"""Loading the rule book, and judging one whole walk against every place it knows.

    python tests/benchmarks/judging.py [--rounds N] [--json FILE]

The measures are those of a simulated walk, as the engine asked for them step by step.  Peers
in the same run: for loading, the bare YAML parser over the same bytes; for judging, the naive
second implementation of `tests/properties`, which only forms and compares and writes no
verdict, once for each rule and place that it knows.  Limits to hold: 150 ms to load, 20 ms to
judge.  Wall and processor milliseconds, best of the rounds: the machine may be busy.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import yaml

from tests.properties.oracle import Car, Situation, outcome
from tests.properties.printed import PRINTED
from tests.walks.stories import OPENING, Lines, Story, library
from walkaround.cli.material import files_from_library, judge_of, load
from walkaround.exchange import SittingOpened, Verdict, Wanted, Wording
from walkaround.procedure.judging import judge_all
from walkaround.procedure.measuring import gauge_facts, vehicle_of
from walkaround.records.journal import EMPTY
from walkaround.records.signature import WalkKind
from walkaround.rules.book import RuleBook
from walkaround.rules.load import load_rules
from walkaround.rules.model import Vehicle
from walkaround.simulated.stage import SimulatedStage
from walkaround.simulated.vehicle import facts_of
from walkaround.walk import Keeper, Walk

STORIES = {
    "truck": Story("straight-truck", "demo-truck", ("US", "CA-ON", "CA-QC")),
    "tractor": Story("tractor-trailer", "demo-tractor", ("US", "CA-ON", "CA-QC")),
}


@dataclass
class Asked:
    """What one walk asked to have judged, and for which vehicle."""

    book: RuleBook
    vehicle: Vehicle
    steps: list[tuple[Wanted, ...]]


def asked_by(story: Story) -> Asked:
    """Walk it, and keep what the engine wanted judged."""
    material = load(
        files_from_library(library(), story.script, story.vehicle), story.script, story.places
    )
    inner, steps = judge_of(material), list[tuple[Wanted, ...]]()

    def judge(step: str, wanted: Sequence[Wanted]) -> tuple[Verdict, ...]:
        steps.append(tuple(wanted))
        return inner(step, wanted)

    stage = SimulatedStage(material.plan, facts_of(material.profile), story.seed)
    keeper = Keeper(Lines(), EMPTY, WalkKind.SIMULATED, None)
    opening = SittingOpened(1, OPENING.wall, OPENING.boot_id, 0, Wording.SHORT)
    Walk(material.plan, stage, keeper, judge, material.language).run(opening)
    return Asked(material.book, vehicle_of(material.profile, material.book), steps)


def judged(asked: Asked) -> int:
    """The walk judged against every place; how many verdicts that is."""
    gauge, places = gauge_facts(asked.book), tuple(asked.book.place_names)
    return sum(
        len(judge_all(step, asked.book, places, asked.vehicle, gauge)) for step in asked.steps
    )


def naively(readings: int) -> int:
    """So many readings of a cut-out by the naive rows of every place that it knows."""
    car = Car("truck", 1, None, 2, None, None)
    told = 0
    for _ in range(readings):
        for place, rows in PRINTED.items():
            s = Situation(place, car, "cut-out", "psi", {"reading": ("125", "124")})
            told += sum(outcome(row, s) is not None for row in rows)
    return told


def best(run: Callable[[], object], rounds: int) -> dict[str, float]:
    """Wall and processor milliseconds of the best round."""
    walls, processors = [], []
    for _ in range(rounds):
        wall, processor = time.perf_counter(), time.process_time()
        run()
        walls.append(time.perf_counter() - wall)
        processors.append(time.process_time() - processor)
    return {"wall_ms": min(walls) * 1000, "processor_ms": min(processors) * 1000}


def _row(name: str, took: dict[str, float], what: str) -> None:
    print(f"{name:34} {took['wall_ms']:8.1f} {took['processor_ms']:9.1f}   {what}", flush=True)


def main(argv: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=15)
    parser.add_argument("--json", type=Path)
    arguments = parser.parse_args(argv)
    files = {f"{n}.yaml": found.content for n, found in library().read_all("rules").items()}
    book = load_rules(files)
    results: dict[str, dict[str, float]] = {}
    print(f"{'':34} {'wall ms':>8} {'cpu ms':>9}")
    results["load"] = best(lambda: load_rules(files), arguments.rounds)
    _row("rule book loaded", results["load"], f"{len(book.rules)} rules; at most 150 ms")
    parser_of = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    results["load, bare YAML"] = best(
        lambda: [yaml.load(content, Loader=parser_of) for content in files.values()],
        arguments.rounds,
    )
    _row("  bare YAML of the same files", results["load, bare YAML"], "peer")
    for name, story in STORIES.items():
        asked = asked_by(story)
        measures = sum(len(step) for step in asked.steps)
        took = results[name] = best(lambda a=asked: judged(a), arguments.rounds)  # type: ignore[misc]
        count = judged(asked)
        what = f"{measures} measures, {len(book.place_names)} places, {count} verdicts"
        _row(f"{name} judged everywhere", took, f"{what}; at most 20 ms")
        peer = results[f"{name}, naively"] = best(
            lambda n=measures: naively(n),  # type: ignore[misc]
            max(arguments.rounds // 5, 1),
        )
        _row("  as many readings naively", peer, f"{len(PRINTED)} places, outcomes only; peer")
    if arguments.json:
        arguments.json.write_text(json.dumps(results, indent=1))


if __name__ == "__main__":
    main()
