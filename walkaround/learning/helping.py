"""Help in small steps, and the why of the step at hand."""

from __future__ import annotations

from dataclasses import replace

from walkaround.learning.drill import Ask, Drill, Kit, Listen, Mark, Move, Note
from walkaround.learning.says import listed
from walkaround.procedure.model import Step


def help_asked(kit: Kit, drill: Drill, words: str) -> Move:
    """First where it is done and what it is for, then its name. About a reading: what a bad
    one would mean. About the fault: where to look again."""
    if drill.ask is Ask.FAULT:
        titles = [kit.title(name) for name in drill.findings] or [kit.plan.steps[-1].title]
        return drill, (kit.say("hint.fault", titles=listed(titles)), Listen(drill.ask))
    if drill.ask in (Ask.LOOK, Ask.GO_ON):
        return _about_what_was_shown(kit, drill, words)
    due = drill.course.due()
    if due is None:
        return drill, (kit.say("nothing"), Listen(drill.ask))
    why = kit.why(due)
    hints = drill.hints + 1
    mark = Mark.HELPED if hints == 1 else Mark.WRONG
    drill = replace(drill, hints=hints).marked(due.id, mark)
    where = kit.says.where[due.where]
    hint = kit.say("hint", where=where, does=why.does if why is not None else "")
    if hints > 1:
        hint = kit.say("told-it", title=due.title)
    return drill, (Note(due.id, "help", mark, words), hint, Listen(drill.ask))


def explain(kit: Kit, drill: Drill, words: str) -> Move:
    """Why: of what was shown last; while a step is asked for, of the step that is due would
    give it away, so the last one is meant there too."""
    step = _last(drill)
    why = kit.why(step) if step is not None else None
    if step is None or why is None:
        return drill, (kit.say("explain.none"), Listen(drill.ask))
    told = kit.say("explain", does=why.does, bad=why.bad, hurt=why.hurt)
    if step.id in drill.marks:
        drill = drill.marked(step.id, Mark.HELPED)
    return drill, (Note(step.id, "explain", Mark.HELPED, words), told, Listen(drill.ask))


def _about_what_was_shown(kit: Kit, drill: Drill, words: str) -> Move:
    step = _last(drill)
    why = kit.why(step) if step is not None else None
    if step is None or why is None:
        return drill, (kit.say("explain.none"), Listen(drill.ask))
    if step.id in drill.marks:
        drill = drill.marked(step.id, Mark.HELPED)
    note = Note(step.id, "help", Mark.HELPED, words)
    return drill, (note, kit.say("hint.look", bad=why.bad), Listen(drill.ask))


def _last(drill: Drill) -> Step | None:
    return drill.course.step(drill.latest.name) if drill.latest is not None else None
