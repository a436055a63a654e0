"""How near a verdict was, and where places differ, in the words of the page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from walkaround.exchange import Outcome
from walkaround.records.view import StepView, VerdictView

_IN_WORDS: Mapping[Outcome, str] = {
    Outcome.MET: "within its limit",
    Outcome.NOT_MET: "outside its limit",
    Outcome.UNDETERMINED: "left open",
}


def how_near(verdict: VerdictView) -> str:
    """One line for a verdict within the guard band, empty for any other."""
    if not verdict.near:
        return ""
    parts = ["near the limit"]
    if verdict.uncertainty:
        parts.append(f"guard band {verdict.uncertainty}")
    if verdict.conformity:
        parts.append(f"{verdict.conformity} likely within it")
    if verdict.guard:
        parts.append(verdict.guard)
    line = ", ".join(parts)
    if verdict.repeats:
        return (
            f"{line}: too near to call; {verdict.repeats} measurements, averaged, would settle it"
        )
    if verdict.conformity:
        return f"{line}: too near to call, and no number of repeats would settle it"
    return line


def where_places_differ(steps: Sequence[StepView]) -> list[tuple[str, tuple[str, ...]]]:
    """(what and where, a line for each place) wherever one reading is within the limits of one
    place and not within those of another.  A place with several rules counts by its worst."""
    found = []
    for step in steps:
        for measure in dict.fromkeys(verdict.measure for verdict in step.verdicts):
            mine = [v for v in step.verdicts if v.measure == measure and v.rule]
            worst = {place: _worst(mine, place) for place in dict.fromkeys(v.place for v in mine)}
            if (
                Outcome.NOT_MET in {v.outcome for v in worst.values()}
                and len({v.outcome for v in worst.values()}) > 1
            ):
                title = f"{step.title}, {measure}: {_in_short(tuple(worst.values()))}"
                found.append((title, tuple(map(_line, worst.values()))))
    return found


def _in_short(worst: Sequence[VerdictView]) -> str:
    """`within the limit of CA-ON, outside the limit of CA-QC and US-NC`."""
    places = {
        outcome: [v.place for v in worst if v.outcome is outcome]
        for outcome in (Outcome.MET, Outcome.NOT_MET, Outcome.UNDETERMINED)
    }
    said = ("within the limit of", "outside the limit of", "left open in")
    parts = zip(said, places.values(), strict=True)
    return ", ".join(f"{words} {' and '.join(here)}" for words, here in parts if here)


def _worst(verdicts: Sequence[VerdictView], place: str) -> VerdictView:
    order = (Outcome.NOT_MET, Outcome.MET, Outcome.UNDETERMINED)
    return min((v for v in verdicts if v.place == place), key=lambda v: order.index(v.outcome))


def _line(verdict: VerdictView) -> str:
    what = " ".join((verdict.value, _IN_WORDS[verdict.outcome])).strip()
    return f"{verdict.place}: {what} ({verdict.limit}; {verdict.citation})"
