"""What "explain" says after a verdict: rule, numbers, how near. Once; then it means the step."""

from __future__ import annotations

import re
from collections.abc import Sequence

from walkaround.engine.moves import phrase
from walkaround.engine.state import State
from walkaround.exchange import Outcome, Prompt, Verdict

_BRACKETS = re.compile(r"\s*\([^()]*\)")
_MOST = 3
"""Verdicts explained in one breath; the rest stand in the record."""
SEEN = ("yes", "no")
"""The values of what was seen and not measured: no number is off a limit there."""
_WORST_FIRST = (Outcome.NOT_MET, Outcome.MET, Outcome.UNDETERMINED)


def source_said(citation: str) -> str:
    """The document's name alone: section, edition and what stands in brackets are for the page."""
    return _BRACKETS.sub("", citation).partition(",")[0]


def about(verdict: Verdict) -> str:
    """Which of several it is of, "axle 2 left: ", where it is of one of several."""
    at = verdict.measure.partition("@")[2].replace("-", " ")
    return f"{at}: " if at else ""


def just_judged(state: State) -> str:
    """The step whose verdicts were the last thing told, or "" once something else was said."""
    if not state.order:
        return ""
    step = state.order[-1].rpartition(".")[0]
    return step if step in state.verdicts and step != state.explained else ""


def explained(verdicts: Sequence[Verdict]) -> tuple[Prompt, ...]:
    """One sentence or two for each of the few that matter most: what fails, what is near, then
    the first of each place; nothing where no rule judged."""
    by_rule = [verdict for verdict in verdicts if verdict.rule]
    ordered = sorted(by_rule, key=lambda v: (_WORST_FIRST.index(v.outcome), not v.near))
    chosen: dict[tuple[str, str], Verdict] = {}
    for verdict in ordered:
        chosen.setdefault((verdict.place, verdict.measure), verdict)
    prompts: list[Prompt] = []
    for verdict in list(chosen.values())[:_MOST]:
        prompts += _one(verdict)
    return tuple(prompts)


def _one(verdict: Verdict) -> list[Prompt]:
    values = {
        "place": verdict.place,
        "about": about(verdict),
        "value": verdict.value or "nothing",
        "limit": verdict.limit.removeprefix("is "),
        "citation": source_said(verdict.citation),
        "why": verdict.why,
    }
    if verdict.outcome is Outcome.UNDETERMINED:
        return [phrase("verdict.explained-open", **values)]
    if verdict.value in SEEN:
        met = verdict.outcome is Outcome.MET
        return [phrase("verdict.explained-as" if met else "verdict.explained-not-as", **values)]
    told = [phrase("verdict.explained", **values)]
    if verdict.near and verdict.conformity:
        told.append(phrase("verdict.explained-near", chance=verdict.conformity))
    return told
