"""From what was counted to what is worth a look, and in which order to read it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from walkaround.audit import drift, numbers
from walkaround.audit.evidence import Evidence, Note, Recurring, WalkRef
from walkaround.audit.looks import Look, Tested, Topic, beyond_chance, in_order
from walkaround.audit.wording import day, in_words
from walkaround.records.signature import WalkKind

_TOPICS: Mapping[str, Topic] = {
    "order": Topic.ORDER,
    "hold": Topic.TIME,
    "rise": Topic.TIME,
    "quick": Topic.TIME,
    "hurried": Topic.TIME,
}
_SAYS: Mapping[str, str] = {
    "order": "begun in a state that it must not be begun in",
    "hold": "a timed hold that was shorter than it can have been",
    "rise": "a rise faster than air allows",
    "quick": "a whole walk quicker than its steps take",
    "hurried": "many steps under their shortest time",
}
_MOST_WALKS = 12
_MOST_NAMED = 5
_WHY_TWICE = "each is signed by a trusted key, and they differ; ask which one is meant"


@dataclass(frozen=True, slots=True)
class Shown:
    """What is listed and not concluded from. `countersigned`: (walk, by whom, when, remarks), the
    latest; `borne_out` is how many walks are countersigned at all."""

    titles: Mapping[str, str] = field(default_factory=dict)  # of steps, by id
    unfinished: tuple[WalkRef, ...] = ()
    countersigned: tuple[tuple[int, str, str, str], ...] = ()
    borne_out: int = 0


@dataclass(frozen=True, slots=True)
class Audit:
    """One kind of walk, concluded: `looks` in the order in which to read them."""

    kind: WalkKind
    evidence: Evidence
    looks: tuple[Look, ...]
    drifts: tuple[drift.Drift, ...]
    tests: int
    shown: Shown

    def title(self, step: str) -> str:
        """What the script calls a step."""
        return self.shown.titles.get(step, step)

    @property
    def walks_named(self) -> frozenset[int]:
        """Every walk that the page will point to."""
        looked = {walk for look in self.looks for walk in look.walks}
        left = {walk for row in self.evidence.left_out for walk in row.walks}
        left |= {walk for row in self.evidence.elsewhere for walk in row.walks}
        drifting = {walk for found in self.drifts for walk in found.series.walks[-_MOST_WALKS:]}
        signed = {walk for walk, *_ in self.shown.countersigned}
        return frozenset(looked | left | drifting | signed)


def conclude(
    kind: WalkKind, evidence: Evidence, refs: Mapping[int, WalkRef], shown: Shown
) -> Audit:
    """All looks of one kind of walk. `refs` are the walks of notes and doubles, at least."""
    copies, digits = numbers.copies(evidence.copies), numbers.digits(evidence.digits)
    # Whose numbers repeat for a reason found already is no measure of how often others' do.
    explained = {look.who for look in beyond_chance([copies, digits])}
    usual = numbers.Usual(evidence.same, explained)
    found = drift.drifts(evidence.series)
    tested = (
        numbers.left_out(evidence.left_out),
        numbers.constant(evidence.same, usual),
        numbers.copied(evidence.copied, evidence.copy_tests, usual),
        copies,
        digits,
        drift.looks(found),
    )
    so = (
        *_noted(evidence.notes, refs, shown.titles),
        *_doubles(evidence, refs),
        *_unrepaired(evidence),
    )
    looks = in_order((*so, *_without_repeats(beyond_chance(tested))))
    shown_drifts = tuple(
        d for look in looks if look.sort == "drift" for d in found if _is_of(look, d)
    )
    return Audit(kind, evidence, looks, shown_drifts, _count(tested), shown)


def _count(tested: Iterable[Tested]) -> int:
    return sum(one.tests for one in tested)


def _is_of(look: Look, found: drift.Drift) -> bool:
    """Whether this series is the one that the look was made from."""
    one = found.series
    same = (look.vehicle, look.step, look.chance) == (one.vehicle, one.step, found.chance)
    return same and look.says.startswith(f"{in_words(one.measure)} ")


def _noted(
    notes: Iterable[Note], refs: Mapping[int, WalkRef], titles: Mapping[str, str]
) -> Iterable[Look]:
    """What was seen in single walks: put together by person, sort and step; steps in a wrong
    order by what was wrong, for one thing put off spoils all that rest on it."""
    groups: dict[tuple[str, str, str], list[Note]] = defaultdict(list)
    for note in notes:
        if note.walk in refs:
            cause = note.says if note.sort == "order" else note.step
            groups[refs[note.walk].who, note.sort, cause].append(note)
    for (who, sort, _), those in groups.items():
        walks = list(dict.fromkeys(note.walk for note in reversed(those)))
        times = f", in {len(walks)} walks" if len(walks) > 1 else ""
        step, *others = dict.fromkeys(note.step for note in those)
        also = f"; so were {', '.join(titles.get(one, one) for one in others)}" if others else ""
        yield Look(
            _TOPICS.get(sort, Topic.ORDER),
            sort,
            f"{_SAYS.get(sort, sort)}{also}{times}",
            those[-1].says,
            tuple(walks[:_MOST_NAMED]),
            who=who,
            vehicle=refs[walks[0]].vehicle if len(walks) == 1 else "",
            step=step,
        )


def _doubles(evidence: Evidence, refs: Mapping[int, WalkRef]) -> Iterable[Look]:
    for walks in evidence.doubles:
        known = [refs[walk] for walk in walks if walk in refs]
        if len(known) > 1:
            yield Look(
                Topic.PAPERS,
                "doubles",
                f"{len(known)} different records bear one id",
                _WHY_TWICE,
                tuple(ref.walk for ref in known)[:_MOST_NAMED],
                who=known[0].who,
                vehicle=known[0].vehicle,
            )


def _unrepaired(evidence: Evidence) -> Iterable[Look]:
    for row in evidence.recurring:
        yield Look(
            Topic.REPAIR,
            "recurring",
            f"{in_words(row.what)}: found in {row.times} walks one after the other",
            _until(row),
            row.walks,
            vehicle=row.vehicle,
            step=row.step,
        )


def _until(row: Recurring) -> str:
    end = "and it stands in the latest" if row.open else "then it was gone"
    return f"from {day(row.first_ms)} to {day(row.last_ms)}, {end}"


def _without_repeats(looks: Iterable[Look]) -> Iterable[Look]:
    """Single copied walks say no more where all of a person's copies are told already."""
    every = tuple(looks)
    told = {look.who for look in every if look.sort == "copies"}
    for look in every:
        if look.sort not in ("copied", "constant") or look.who not in told:
            yield look
