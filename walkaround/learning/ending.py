"""The end of a drill: the fault is named, and it is said what went well and what comes next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from walkaround.learning.book import FaultName
from walkaround.learning.course import LAST
from walkaround.learning.drill import (
    Ask,
    Drill,
    Effect,
    End,
    Kit,
    Listen,
    Mark,
    Move,
    Note,
    Stage,
)
from walkaround.learning.match import fault_named
from walkaround.learning.says import listed, shortened

FAULT_STEP = "fault"
"""The step of the record under which the fault is named."""
SOUND = "sound"
_MOST_TRIES = 3


def at_the_end(kit: Kit, drill: Drill) -> Move:
    """Ask for the fault; then say how it went."""
    drill = replace(drill, ask=Ask.FAULT)
    return drill, (kit.say("ask.fault"), Listen(Ask.FAULT))


def fault_answered(kit: Kit, drill: Drill, words: str) -> Move:
    """What the learner takes to be wrong with the truck."""
    names = {fault.name: fault for fault in kit.book.faults}
    said = fault_named(kit.fault_names, words, names)
    tries = drill.fault_tries + 1
    if not said and tries < _MOST_TRIES:
        note = Note(FAULT_STEP, "name", "not made out", words)
        drill = replace(drill, fault_tries=tries)
        return drill, (note, kit.say("fault.unclear"), Listen(Ask.FAULT))
    right = _is_right(kit, names.get(said))
    mark = Mark.RIGHT if right else Mark.WRONG
    note = Note(FAULT_STEP, "name", mark, words)
    drill = replace(drill, ended=True, ask=Ask.NOTHING, fault_said=said)
    drill = _left_out_marked(kit, drill)
    told = _of_the_fault(kit, drill, names.get(said), words, right)
    return drill, (note, *told, *_how_it_went(kit, drill), End(complete=True))


def _is_right(kit: Kit, said: FaultName | None) -> bool:
    if said is None:
        return False
    if not kit.faults:
        return said.name == SOUND
    return any(fault in said.of for fault in kit.faults)


def _of_the_fault(
    kit: Kit, drill: Drill, said: FaultName | None, words: str, right: bool
) -> tuple[Effect, ...]:
    if not kit.faults:
        key = "fault.right-sound" if right else "fault.was-sound"
        return (kit.say(key, said=words) if key == "fault.was-sound" else kit.say(key),)
    true = [name for name in kit.book.faults if set(name.of) & set(kit.faults)]
    named = listed([name.say[0] for name in true])
    tells = " ".join(name.tells for name in true)
    told: list[Effect] = []
    if right:
        told.append(kit.say("fault.right", name=named, tells=tells))
    else:
        told.append(
            kit.say("fault.other", said=said.say[0] if said else words, name=named, tells=tells)
        )
    if drill.findings:
        titles = listed([kit.title(name) for name in drill.findings])
        told.append(kit.say("fault.where", titles=titles))
    return tuple(told)


# ---------------------------------------------------------------- how it went


def forgotten(kit: Kit, drill: Drill) -> tuple[str, ...]:
    """Steps that could have been reached and were not named; none in a short session."""
    if kit.stage is Stage.TOLD or kit.most is not None:
        return ()
    return tuple(
        step.id
        for step in drill.course.left()
        if step.id != LAST and drill.course.acts_for(step) is not None
    )


def _left_out_marked(kit: Kit, drill: Drill) -> Drill:
    for name in forgotten(kit, drill):
        drill = drill.marked(name, Mark.FORGOTTEN)
    for name in drill.findings:
        if name in drill.marks and name not in drill.called:
            drill = drill.marked(name, Mark.WRONG)
    return drill


def _how_it_went(kit: Kit, drill: Drill) -> tuple[Effect, ...]:
    if kit.stage is Stage.TOLD:
        return (kit.say("end.disclaimer"),)
    said: list[Effect] = []
    if kit.stage is Stage.EXAMINED:
        said += [
            kit.say("end.slip", title=kit.title(name), says=text) for name, text in drill.slips
        ]
        said += _missed_findings(kit, drill)
    gone = forgotten(kit, drill)
    if gone:
        said.append(kit.say("end.forgotten", titles=shortened(kit.says, _titles(kit, gone))))
    said += _counts(kit, drill)
    if (
        not gone
        and kit.most is None
        and kit.only is None
        and all(m is Mark.RIGHT for m in drill.marks.values())
    ):
        said.append(kit.say("end.well"))
    return (*said, kit.say("end.disclaimer"))


def _missed_findings(kit: Kit, drill: Drill) -> list[Effect]:
    missed = [name for name in drill.findings if name not in drill.called]
    if not missed:
        return []
    return [kit.say("end.findings-missed", titles=listed([kit.title(name) for name in missed]))]


def _counts(kit: Kit, drill: Drill) -> list[Effect]:
    marks = list(drill.marks.values())
    if not marks:
        return []
    again = [name for name, mark in drill.marks.items() if _again(mark)]
    told: list[Effect] = [
        kit.say(
            "end.counts",
            right=str(marks.count(Mark.RIGHT)),
            all=str(len(marks)),
            helped=str(marks.count(Mark.HELPED)),
            again=str(len(again)),
        )
    ]
    if again:
        told.append(kit.say("end.next", titles=shortened(kit.says, _titles(kit, again))))
    return told


def _again(mark: Mark) -> bool:
    return mark in (Mark.WRONG, Mark.FORGOTTEN)


def _titles(kit: Kit, names: Sequence[str]) -> list[str]:
    return [kit.title(name) for name in names]
