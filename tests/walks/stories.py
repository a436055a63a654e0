"""Whole walks told in text: the simulated truck and driver, everything else as in earnest.

`python -m tests.walks.stories` writes the golden dialogues anew; read the difference
before you commit it.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from walkaround.cli.material import Material, files_from_library, judge_of, load
from walkaround.devices.library import Library, checkout_folder, standard_layers
from walkaround.exchange import Event, SittingOpened, Wording
from walkaround.records.journal import EMPTY
from walkaround.records.signature import WalkKind
from walkaround.simulated.driver import EVEN, HUMAN, Temperament
from walkaround.simulated.faults import with_faults
from walkaround.simulated.stage import SimulatedStage
from walkaround.simulated.vehicle import facts_of
from walkaround.walk import Keeper, Walk

GOLDEN = Path(__file__).parent / "golden"
OPENING = SittingOpened(1, "2026-01-31T08:00:00.000Z", "boot", 0, Wording.SHORT)


@dataclass(frozen=True)
class Story:
    """One walk, by what it is made of."""

    script: str
    vehicle: str
    places: tuple[str, ...]
    faults: tuple[str, ...] = ()
    temperament: Temperament = EVEN
    seed: int = 1
    wording: Wording = Wording.SHORT


STORIES: Mapping[str, Story] = {
    "straight-truck-in-ontario": Story("straight-truck", "demo-truck", ("CA-ON",)),
    "metric-truck-in-quebec": Story("straight-truck", "demo-truck-metric", ("CA-QC",)),
    "tractor-and-trailer-in-the-us": Story("tractor-trailer", "demo-tractor", ("US",)),
    "doubles-in-saskatchewan": Story("tractor-trailer", "demo-doubles", ("CA-SK",)),
    "strokes-for-two-countries": Story("straight-truck", "demo-truck", ("US-NY", "CA-ON", "CA-QC")),
    "from-empty-in-western-australia": Story("straight-truck", "demo-truck-metric", ("AU-WA",)),
    "to-the-maximum-in-new-zealand": Story("straight-truck", "demo-truck-metric", ("NZ",)),
    "recovery-in-new-hampshire": Story("straight-truck", "demo-truck", ("US-NH",)),
    "two-minutes-held-in-new-brunswick": Story("straight-truck", "demo-truck", ("CA-NB",)),
    "bus-with-few-words": Story("bus", "demo-bus", ("US",), wording=Wording.CUE),
    "a-chamber-leaks": Story(
        "straight-truck", "demo-truck", ("US", "CA-ON"), faults=("leaking-chamber",)
    ),
    "a-driver-who-slips": Story(
        "straight-truck", "demo-truck", ("CA-ON",), temperament=HUMAN, seed=4
    ),
    "a-driver-who-falters": Story(
        "straight-truck", "demo-truck", ("CA-ON",), temperament=Temperament(falters=0.7), seed=2
    ),
    "no-air-at-the-last-trailer": Story(
        "tractor-trailer", "demo-doubles", ("US",), faults=("rear-valve-closed",)
    ),
    "a-parking-brake-gives-way": Story(
        "straight-truck", "demo-truck", ("US-NC",), faults=("spring-brake-weak",)
    ),
    "first-day-all-words": Story("straight-truck", "demo-truck", ("US-NC",), wording=Wording.FULL),
}


@dataclass
class Lines:
    """A disk that keeps the lines in memory."""

    content: bytearray = field(default_factory=bytearray)

    def append(self, entry: bytes) -> None:
        self.content += entry


@dataclass(frozen=True)
class Told:
    """A walk that has been walked."""

    material: Material
    stage: SimulatedStage
    walk: Walk
    journal: bytes


def library() -> Library:
    """The checkout's own files, whatever the user's folder holds."""
    root = checkout_folder()
    assert root is not None
    return Library(standard_layers(root / "no-such-folder"))


def tell(
    story: Story, watch: Callable[[Event, SimulatedStage], None] = lambda _event, _stage: None
) -> Told:
    """Walk it; `watch` sees every event and the stage as it then is."""
    files = files_from_library(library(), story.script, story.vehicle)
    material = load(files, story.script, story.places)
    facts = with_faults(facts_of(material.profile), story.faults)
    stage = SimulatedStage(material.plan, facts, story.seed, temperament=story.temperament)
    disk = Lines()
    keeper = Keeper(disk, EMPTY, WalkKind.SIMULATED, None)
    walk = Walk(
        material.plan,
        stage,
        keeper,
        judge_of(material),
        material.language,
        watch=lambda event, _state: watch(event, stage),
    )
    opening = SittingOpened(1, OPENING.wall, OPENING.boot_id, 0, story.wording)
    walk.run(opening)
    return Told(material, stage, walk, bytes(disk.content))


def dialogue(told: Told) -> str:
    """What was said, heard and judged, to be read by a person."""
    lines = [
        f"{at_ms // 60_000:02d}:{at_ms // 1000 % 60:02d} {who:7}{words}"
        for at_ms, who, words in told.stage.said
    ]
    lines += ["", "verdicts"]
    for step, verdicts in told.walk.state.verdicts.items():
        for v in verdicts:
            parts = (v.place, v.measure, v.outcome, v.value, v.limit, v.why)
            near = " (near)" if v.near else ""
            lines.append(f"{step}: " + "; ".join(part for part in parts if part) + near)
    for step, why in told.walk.state.not_done.items():
        lines.append(f"not done: {step}; {why}")
    return "\n".join(lines) + "\n"


def main() -> None:
    """Write every golden dialogue."""
    for name, story in STORIES.items():
        told = tell(story)
        (GOLDEN / f"{name}.txt").write_text(dialogue(told), encoding="utf-8")
        sys.stdout.write(f"{name}: {told.stage.now_ms() / 60_000:.1f} min\n")


if __name__ == "__main__":
    main()
