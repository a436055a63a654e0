"""The learner names what comes next: taken, put right, or asked for in other words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from walkaround.learning.course import LAST
from walkaround.learning.drill import (
    Drill,
    Effect,
    Kit,
    Listen,
    Mark,
    Move,
    Note,
    Stage,
)
from walkaround.learning.recall import Named, Verdict, recall
from walkaround.learning.says import listed
from walkaround.procedure.model import Step

_MADE_OUT = "not made out"


def named(kit: Kit, drill: Drill, words: str, *, sure: bool = False) -> Move:
    """Everything that the answer names, up to the first that is not right. `sure`: it has been
    confirmed that it was understood."""
    found = recall(drill.course, kit.steps.mentions(words), kit.book.likes)
    if not found:
        return _not_made_out(kit, drill, words)
    doubtful = next((each for each in found if not sure and _doubtful(kit, drill, each)), None)
    if doubtful is not None:
        asked = kit.say("mean", title=kit.title(doubtful.name))
        return replace(drill, doubt=words), (asked, Listen(drill.ask))
    right = [each for each in found if each.verdict is Verdict.RIGHT]
    effects: list[Effect] = []
    early = any(each.name == LAST for each in found)
    if early and _too_early(kit, drill, right):
        return _before_the_end(kit, drill, words)
    due = drill.course.due()
    for each in right:
        drill, said = _right(kit, drill, each, words, due)
        effects += said
    last = found[-1]
    if last.verdict is Verdict.RIGHT:
        return drill, tuple(effects)
    waiting = bool(drill.to_do)
    drill, said = _not_right(kit, drill, last, words)
    if waiting:
        # First what was right is done and shown; then what was not is talked about.
        return replace(drill, after=said), tuple(effects)
    return drill, (*effects, *said)


def _doubtful(kit: Kit, drill: Drill, each: Named) -> bool:
    """Not quite said, and it matters: nobody is to be put right for what he did not say. In the
    examination it is asked every time, so that the asking tells nothing."""
    if each.sure or each.verdict not in (Verdict.RIGHT, Verdict.NOT_YET):
        return False
    if each.verdict is Verdict.NOT_YET or kit.stage is Stage.EXAMINED:
        return True
    due = drill.course.due()
    return due is not None and kit.card(due.id) != kit.card(each.name)


def _not_made_out(kit: Kit, drill: Drill, words: str) -> Move:
    note = Note("", "recall", _MADE_OUT, words)
    return drill, (note, kit.say("nothing"), Listen(drill.ask))


def _right(kit: Kit, drill: Drill, each: Named, words: str, due: Step | None) -> Move:
    acts = [name for name in (*each.acts, each.name) if drill.course.is_act(name)]
    drill = replace(drill, to_do=(*drill.to_do, *each.acts, each.name))
    if drill.course.is_act(each.name):
        return drill, _said_of_acts(kit, acts)
    same = due is not None and kit.card(due.id) == kit.card(each.name)
    helped = (same and drill.hints) or _no_truths(kit, drill, each)
    mark = Mark.HELPED if helped else Mark.RIGHT
    drill = drill.marked(each.name, mark)
    note = Note(each.name, "recall", mark, words)
    if kit.stage is Stage.EXAMINED:
        return drill, (note, kit.say("noted"))
    said: list[Effect] = [note, *(_said_of_acts(kit, acts) if acts else ())]
    said.append(kit.say("right" if same else "right.other", title=kit.title(each.name)))
    if kit.stage is Stage.ASKED:
        said.append(_truths(kit, drill, each))
    return drill, tuple(said)


def _said_of_acts(kit: Kit, acts: Sequence[str]) -> tuple[Effect, ...]:
    if kit.stage is Stage.EXAMINED:
        return (kit.say("noted"),)
    return (kit.say("brought", acts=listed([kit.title(act) for act in acts])),)


def _truths(kit: Kit, drill: Drill, each: Named) -> Effect:
    step = drill.course.step(each.name)
    needs = kit.reasons.all_of(step)
    if not needs:
        return kit.say("truths.none")
    count = _named_needs(step, each.truths)
    return kit.say("truths", needs=listed(needs), named=str(count), all=str(len(needs)))


def _named_needs(step: Step, truths: Sequence[str]) -> int:
    pairs = {tuple(truth.split(": ", 1)) for truth in truths}
    return sum(
        any((name, value) in pairs for name, values in clause.any_of for value in values)
        for clause in step.needs
    )


def _no_truths(kit: Kit, drill: Drill, each: Named) -> bool:
    """Asked for what must be true first, and named nothing of it."""
    if kit.stage is not Stage.ASKED:
        return False
    step = drill.course.step(each.name)
    return bool(step.needs) and not _named_needs(step, each.truths)


# ---------------------------------------------------------------- not right


def _not_right(kit: Kit, drill: Drill, each: Named, words: str) -> Move:
    if each.verdict is Verdict.UNCLEAR:
        rivals = " or ".join(kit.title(name) for name in each.rivals)
        note = Note("", "recall", _MADE_OUT, words)
        return drill, (note, kit.say("rivals", rivals=rivals), Listen(drill.ask))
    if each.verdict is Verdict.NOT_YET:
        return _not_yet(kit, drill, each, words)
    if kit.stage is Stage.EXAMINED:
        return drill, (kit.say("noted"), Listen(drill.ask))
    key = "already" if each.verdict is Verdict.DONE else "not-here"
    return drill, (kit.say(key), Listen(drill.ask))


def _not_yet(kit: Kit, drill: Drill, each: Named, words: str) -> Move:
    step = drill.course.step(each.name)
    missing = kit.reasons.missing(step, each.missing)
    hazard = any(need.hazard for need in missing)
    needs = listed([need.needs for need in missing])
    why = " ".join(dict.fromkeys(need.why for need in missing[:2]))
    key = "not-yet.hazard" if hazard else "not-yet.worthless"
    told = kit.say(key, title=step.title, needs=needs, why=why)
    effects: list[Effect] = []
    if not drill.course.is_act(each.name):
        drill = drill.marked(each.name, Mark.WRONG)
        effects.append(Note(each.name, "recall", Mark.WRONG, words))
    if kit.stage is Stage.EXAMINED:
        slip = kit.say("slip", needs=needs, why=why).text
        return _in_silence(kit, drill, each, slip, effects)
    return drill, (*effects, told, kit.say("not-yet.go-on"), Listen(drill.ask))


def _in_silence(kit: Kit, drill: Drill, each: Named, told: str, effects: list[Effect]) -> Move:
    """Nothing is said; what was missing is brought about so that the drill can go on."""
    drill = replace(drill, slips=(*drill.slips, (each.name, told)))
    effects.append(kit.say("noted"))
    acts = drill.course.acts_for(drill.course.step(each.name))
    if acts is None or drill.to_do:
        return drill, (*effects, Listen(drill.ask))
    return replace(drill, to_do=(*acts, each.name)), tuple(effects)


# ---------------------------------------------------------------- too early


def _too_early(kit: Kit, drill: Drill, right: Sequence[Named]) -> bool:
    names = {each.name for each in right}
    others = [step for step in drill.course.left() if step.id not in {*names, LAST}]
    return bool(others) and kit.stage is not Stage.EXAMINED


def _before_the_end(kit: Kit, drill: Drill, words: str) -> Move:
    due = drill.course.due()
    left = [step for step in drill.course.left() if step.id != LAST]
    if due is None or due.id == LAST:
        due = left[0]
    drill = drill.marked(due.id, Mark.HELPED)
    note = Note(due.id, "help", Mark.HELPED, words)
    where = kit.says.where[due.where]
    return drill, (note, kit.say("too-early", count=str(len(left)), where=where), Listen(drill.ask))
