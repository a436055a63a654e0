"""The audit's page: who, which steps, what to look at first. Nothing in it to fetch or run.

Every claim names the records that it rests on, each one click away; every picture has its
table; whatever comes out of a file is escaped.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from walkaround.audit.conclude import Audit
from walkaround.audit.evidence import WalkRef
from walkaround.audit.looks import ALPHA, Look, Topic
from walkaround.audit.page_parts import (
    changes,
    countersigned,
    facts,
    people,
    section,
    steps,
    unfinished,
)
from walkaround.audit.page_style import HEAD
from walkaround.audit.wording import chance_text, day
from walkaround.records.markup import Markup, element, joined, listed, table
from walkaround.records.signature import WalkKind
from walkaround.records.wording import BANNERS

TITLE = "Air-brake checks: audit"
_NAMES: Mapping[WalkKind, str] = {
    WalkKind.WALK: "Walks",
    WalkKind.PRACTICE: "Practice",
    WalkKind.SIMULATED: "Simulated",
}
_MOST_LOOKS = 300
_INFORMS = (
    "A look is a reason to open the record and to ask, never an accusation: there may be a good "
    "reason. It says nothing about whether a vehicle is fit for the road; that is for the "
    "carrier, a licensed mechanic and the local authority."
)
_CANNOT = (
    "whether a number was on the gauge: it can only be unlike other numbers",
    "who spoke: people are told apart by the key that signed, and a shared device is one person",
    "which vehicle it was: vehicles are told apart by the name that was entered",
    "walks that were made and not handed in",
    "a habit that everybody shares, because people are compared with each other",
    "a single repeat of a step with one question and no caution: it cannot be told from a "
    "correction",
    "order and times where the script that was used, or the journal, was not found",
)
_PARTS = (
    ("looks", "look first"),
    ("people", "who"),
    ("steps", "steps"),
    ("changes", "changes"),
    ("papers", "countersigned"),
)
Link = Callable[[WalkRef], str]


@dataclass(frozen=True, slots=True)
class Files:
    """What the trees held: counts by standing, and (path, bytes, standing, why) of some."""

    counts: Mapping[str, int]
    listed: Sequence[tuple[str, int, str, str]]


def page_of(
    audits: Sequence[Audit], files: Files, refs: Mapping[int, WalkRef], link: Link
) -> bytes:
    """The page, UTF-8. `link` gives the address of a walk's record, as a relative reference."""
    parts = [_kind(audit, refs, link) for audit in audits]
    if not parts:
        parts = [element("p", "There is no record by a trusted key in what was looked through.")]
    main = element("main", _top(audits, files), *parts, _files(files), _how(audits), id="content")
    skip = element("a", "To the content", href="#content", class_="skip")
    page = element("html", HEAD, element("body", skip, _contents(audits), main), lang="en")
    return f"<!DOCTYPE html>\n{page}\n".encode("utf-8", "backslashreplace")


def _top(audits: Sequence[Audit], files: Files) -> Markup:
    told = [
        ("walks of", _period(audits)),
        ("records by trusted keys", str(sum(audit.evidence.walks for audit in audits))),
        ("files looked at", str(sum(files.counts.values()))),
        ("worth a look", str(sum(len(audit.looks) for audit in audits))),
    ]
    unplanned = sum(audit.evidence.unplanned for audit in audits)
    if unplanned:
        told.append(("script not found, order and times not judged", f"{unplanned} walks"))
    return element(
        "header", element("h1", TITLE), element("p", _INFORMS, class_="informs"), facts(told)
    )


def _period(audits: Sequence[Audit]) -> str:
    """The first and the last day that anybody walked, by the devices' clocks."""
    everybody = [person for audit in audits for person in audit.evidence.people]
    if not everybody:
        return "nobody"
    first, last = min(p.first_ms for p in everybody), max(p.last_ms for p in everybody)
    return f"{day(first)} to {day(last)}"


def _contents(audits: Sequence[Audit]) -> Markup:
    links = [
        element("a", f"{_NAMES[audit.kind]}: {name}", href=f"#{audit.kind}-{anchor}")
        for audit in audits
        for anchor, name in _PARTS
    ]
    links += [
        element("a", "Files", href="#files"),
        element("a", "How it was judged", href="#how"),
    ]
    return element("nav", listed(links), aria_label="Contents")


def _kind(audit: Audit, refs: Mapping[int, WalkRef], link: Link) -> Markup:
    banner = BANNERS[audit.kind]
    word, _, rest = banner.partition(": ")
    shown = element("p", element("strong", word), f" {rest}", class_="banner") if banner else ""
    name = _NAMES[audit.kind]
    return joined(
        shown,
        section(f"{audit.kind}-looks", f"{name}: what to look at first", _looks(audit, refs, link)),
        section(f"{audit.kind}-people", f"{name}: who", people(audit)),
        section(f"{audit.kind}-steps", f"{name}: steps left out", steps(audit, refs, link)),
        section(f"{audit.kind}-changes", f"{name}: changes over time", changes(audit, refs, link)),
        section(f"{audit.kind}-papers", f"{name}: countersigned", countersigned(audit, refs, link)),
        unfinished(audit, link),
    )


def _looks(audit: Audit, refs: Mapping[int, WalkRef], link: Link) -> Markup:
    if not audit.looks:
        return element("p", "Nothing stands out.")
    items = [_look(audit, look, refs, link) for look in audit.looks[:_MOST_LOOKS]]
    rest = len(audit.looks) - len(items)
    more = element("p", f"{rest} more are in the exported tables.") if rest else ""
    return joined(element("ol", *items, class_="looks"), more)


def _look(audit: Audit, look: Look, refs: Mapping[int, WalkRef], link: Link) -> Markup:
    whose = ", ".join(name for name in (look.who, look.vehicle) if name) or "several"
    chance = ""
    if look.adjusted is not None:
        told = f"By chance: {chance_text(look.adjusted)}, all tests of this audit counted."
        chance = element("p", told)
    return element(
        "li",
        element(
            "p", element("strong", whose), " ", element("span", look.topic.value, class_="topic")
        ),
        element("p", f"{audit.title(look.step)}: {look.says}" if look.step else look.says),
        element("p", look.why),
        chance,
        element("p", "Records: ", *_links(look, refs, link), class_="records"),
    )


def _links(look: Look, refs: Mapping[int, WalkRef], link: Link) -> list[Markup]:
    known = [refs[walk] for walk in look.walks if walk in refs]
    return [
        element("a", f"{day(ref.began_ms)}, {ref.vehicle or ref.id}", href=link(ref))
        for ref in known
    ]


def _files(files: Files) -> Markup:
    counts = table(
        "Files by what they are",
        ("standing", "files"),
        [(standing, str(count)) for standing, count in files.counts.items()],
    )
    if not files.listed:
        return section("files", "Files", counts)
    rows = [(path, f"{size}", standing, why) for path, size, standing, why in files.listed]
    headings = ("file", "bytes", "standing", "why")
    shown = table("Files that were not taken (up to 200 of each)", headings, rows)
    return section("files", "Files", counts, shown)


def _how(audits: Sequence[Audit]) -> Markup:
    tests = sum(audit.tests for audit in audits)
    unplanned = sum(audit.evidence.unplanned for audit in audits)
    untimed = sum(audit.evidence.untimed for audit in audits)
    told = [
        f"{tests} comparisons were made against chance. What is shown of them remains after "
        f"Holm's correction for all of them: one false look in {round(1 / ALPHA)} audits.",
        "Order is judged by states and never by position: a step is faulted when it was begun in "
        "a state that makes it a hazard or its value worth nothing.",
        f"The script of {unplanned} walks was not found: their order and times were not judged.",
        f"The journal of {untimed} walks was not read: the times of their steps are not known.",
        f"Topics: {', '.join(topic.value for topic in Topic)}.",
    ]
    return section(
        "how",
        "How it was judged",
        listed(told),
        element("h3", "What it cannot see"),
        listed(_CANNOT),
    )
