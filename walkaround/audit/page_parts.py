"""The sections of the audit's page: people, steps, changes over time, papers."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence

from walkaround.audit.conclude import Audit
from walkaround.audit.drift import Drift
from walkaround.audit.evidence import LeftOut, WalkRef
from walkaround.audit.picture import Plot, bars, scatter
from walkaround.audit.timing import clock
from walkaround.audit.wording import day, in_words, percent
from walkaround.records.markup import Markup, element, joined, table

Link = Callable[[WalkRef], str]
_DAY_MS = 86_400_000
_MOST_PEOPLE, _MOST_ROWS, _MOST_BARS = 1000, 400, 15
_MOST_POINTS, _MOST_POINTS_LISTED = 300, 12
_MOST_PICTURES = 12


def section(name: str, title: str, *content: str) -> Markup:
    """A part of the page that can be linked to, named by its heading."""
    heading = element("h2", title, id=f"{name}-title")
    return element("section", heading, *content, id=name, aria_labelledby=f"{name}-title")


def facts(pairs: Sequence[tuple[str, str]]) -> Markup:
    """Names with their values."""
    return element(
        "dl", *(joined(element("dt", name), element("dd", text)) for name, text in pairs)
    )


def record(ref: WalkRef, link: Link) -> Markup:
    """A link to a walk's record, called by its day."""
    return element("a", day(ref.began_ms), href=link(ref))


def people(audit: Audit) -> Markup:
    """Everybody with their walks and looks, those with most looks first."""
    looks: dict[str, int] = defaultdict(int)
    for look in audit.looks:
        looks[look.who] += 1
    rows = [
        (
            person.who,
            str(looks[person.who]),
            str(person.walks),
            clock(person.usual_s),
            day(person.last_ms),
            day(person.first_ms),
            str(person.unfinished),
        )
        for person in sorted(audit.evidence.people, key=lambda one: (-looks[one.who], one.who))[
            :_MOST_PEOPLE
        ]
    ]
    headings = ("who", "looks", "walks", "usual time, min:s", "latest", "first", "stopped early")
    return table(f"People ({audit.kind}), by the name of the key that signed", headings, rows)


# ---------------------------------------------------------------- steps


def steps(audit: Audit, refs: Mapping[int, WalkRef], link: Link) -> Markup:
    """Which steps are gone without, by whom."""
    rows = sorted(
        (row for row in audit.evidence.left_out if row.left),
        key=lambda row: (-row.left / row.due, row.step, row.who),
    )
    if not rows:
        none = element("p", "Every finished walk has every step that its script asks for.")
        return joined(none, _elsewhere(audit, refs, link))
    told = [
        (
            audit.title(row.step),
            row.who,
            f"{row.left} of {row.due}",
            joined(*(joined(record(refs[w], link), " ") for w in row.walks if w in refs)),
        )
        for row in rows[:_MOST_ROWS]
    ]
    headings = ("step", "who", "left out", "latest records")
    return joined(
        _bars(audit, rows),
        table(f"Steps left out ({audit.kind}), most often first", headings, told),
        _elsewhere(audit, refs, link),
    )


def _elsewhere(audit: Audit, refs: Mapping[int, WalkRef], link: Link) -> Markup:
    """Walks laid beside their script: another order, and what came again."""
    if not audit.evidence.elsewhere:
        return element("p", "Every walk goes in the order of its script.")
    rows = [
        (
            audit.title(row.step),
            row.how,
            row.who,
            str(row.times),
            joined(*(joined(record(refs[w], link), " ") for w in row.walks if w in refs)),
        )
        for row in audit.evidence.elsewhere
    ]
    headings = ("step", "how", "who", "walks", "latest records")
    caption = f"In another order than the script ({audit.kind}): no fault by itself"
    return table(caption, headings, rows)


def _bars(audit: Audit, rows: Sequence[LeftOut]) -> Markup:
    left: dict[str, int] = defaultdict(int)
    due: dict[str, int] = defaultdict(int)
    for row in audit.evidence.left_out:
        left[row.step] += row.left
        due[row.step] += row.due
    ranked = sorted({row.step for row in rows}, key=lambda step: -left[step] / due[step])
    shown = [
        (audit.title(step), left[step] / due[step], percent(left[step] / due[step]))
        for step in ranked[:_MOST_BARS]
    ]
    title = f"Steps left out, as a share of all walks ({audit.kind})"
    told = "; ".join(f"{step} {text}" for step, _, text in shown)
    caption = element("figcaption", f"{title}: the table follows.")
    return element("figure", bars(title, told, shown, f"{audit.kind}-bars"), caption)


# ---------------------------------------------------------------- changes


def changes(audit: Audit, refs: Mapping[int, WalkRef], link: Link) -> Markup:
    """What climbs, with its picture, its numbers and where it is going."""
    if not audit.drifts:
        return element("p", "No vehicle's build-up, leakage or stroke climbs beyond chance.")
    shown = [
        _change(drift, f"{audit.kind}-drift-{at}", refs, link)
        for at, drift in enumerate(audit.drifts[:_MOST_PICTURES])
    ]
    rest = len(audit.drifts) - len(shown)
    more = element("p", f"{rest} more are in the list at the top.") if rest else ""
    return joined(*shown, more)


def _change(drift: Drift, name: str, refs: Mapping[int, WalkRef], link: Link) -> Markup:
    one, line = drift.series, drift.line
    title = f"{one.vehicle}: {in_words(one.measure)}"
    points = list(zip(one.days, one.values, strict=True))[-_MOST_POINTS:]
    ends = (points[0][0], points[-1][0])
    first, last = (day(one.first_ms + end * _DAY_MS) for end in ends)
    level = [line.level + line.slope * end for end in ends]
    told = f"From {first} to {last} the line goes from {level[0]:.2f} to {level[1]:.2f} {one.unit}."
    plot = Plot(
        title,
        told,
        one.unit,
        points,
        ((ends[0], level[0]), (ends[1], level[1])),
        drift.limit,
        (first, last),
    )
    caption = element("figcaption", f"{title}. {told} {_ahead(drift)} The table follows.")
    return joined(
        element("h3", title),
        element("figure", scatter(plot, name), caption),
        _numbers(drift, refs, link),
    )


def _ahead(drift: Drift) -> str:
    ahead, first = drift.forecast, drift.series.first_ms
    if ahead is None:
        return ""
    early, best = (day(first + at * _DAY_MS) for at in (ahead.earliest, ahead.day))
    late = "later" if not math.isfinite(ahead.latest) else day(first + ahead.latest * _DAY_MS)
    return f"Going on like this it reaches the limit about {best} (between {early} and {late})."


def _numbers(drift: Drift, refs: Mapping[int, WalkRef], link: Link) -> Markup:
    one = drift.series
    rows = [
        (
            record(refs[walk], link) if walk in refs else day(one.first_ms + at * _DAY_MS),
            f"{value:g} {one.unit}",
            f"{drift.line.level + drift.line.slope * at:.2f} {one.unit}",
        )
        for at, value, walk in zip(one.days, one.values, one.walks, strict=True)
    ]
    shown = rows[-_MOST_POINTS_LISTED:]
    caption = f"{one.vehicle}: {in_words(one.measure)}, the latest {len(shown)} of {len(rows)}"
    return table(caption, ("record", "measured", "on the line"), shown)


# ---------------------------------------------------------------- papers


def countersigned(audit: Audit, refs: Mapping[int, WalkRef], link: Link) -> Markup:
    """Who countersigned what; the rest is a gap."""
    signed = audit.shown.countersigned
    gap = audit.evidence.walks - audit.shown.borne_out
    told = element("p", f"{gap} of {audit.evidence.walks} walks have no countersignature.")
    if not signed:
        return told
    rows = [
        (record(refs[walk], link), refs[walk].who, by, when, remarks)
        for walk, by, when, remarks in signed
        if walk in refs
    ]
    headings = ("record", "of", "countersigned by", "when", "remarks")
    return joined(told, table(f"Countersignatures ({audit.kind}), the latest 200", headings, rows))


def unfinished(audit: Audit, link: Link) -> Markup:
    """Journals without a record: begun, and never brought to an end."""
    if not audit.shown.unfinished:
        return joined()
    rows = [(record(ref, link), ref.who, ref.vehicle, ref.id) for ref in audit.shown.unfinished]
    return section(
        f"{audit.kind}-unfinished",
        "Begun and not finished",
        element("p", "These have a journal and no record: nothing is concluded from them."),
        table(
            f"Journals without a record ({audit.kind})",
            ("began", "device", "vehicle", "number"),
            rows,
        ),
    )
