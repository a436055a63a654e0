"""A drill's turns: open it, take an answer, take what the truck showed. Pure functions."""

from __future__ import annotations

from dataclasses import replace

from walkaround.learning.course import LAST, done, failed
from walkaround.learning.drill import (
    Ask,
    Do,
    Drill,
    Effect,
    End,
    Kit,
    Listen,
    Mark,
    Move,
    Note,
    Shown,
    Stage,
    Tell,
    new_drill,
)
from walkaround.learning.ending import at_the_end, fault_answered
from walkaround.learning.helping import explain, help_asked
from walkaround.learning.match import fault_named
from walkaround.learning.naming import named
from walkaround.learning.says import listed
from walkaround.procedure.model import Step

_SHORT = ("help", "explain", "repeat", "stop", "finish")


def open_drill(kit: Kit) -> Move:
    """The greeting and the first turn."""
    said: list[Effect] = [kit.say("welcome"), kit.say(f"stage.{kit.stage}")]
    said.append(kit.say("truck", vehicle=kit.vehicle))
    if kit.most is not None:
        said.append(kit.say("short", count=str(kit.most)))
    drill, turn = next_turn(kit, new_drill(kit))
    return drill, (*said, *turn)


def answered(kit: Kit, drill: Drill, words: str) -> Move:
    """The learner said or typed something."""
    if drill.ended or not words.strip():
        return drill, (Listen(drill.ask),)
    short = kit.says.meant(words, _SHORT)
    if short == "stop":
        return _stopped(kit, drill)
    if short == "repeat":
        return drill, (*_told_again(kit, drill), *_question(kit, drill))
    if short == "help":
        return _asked_anew(kit, help_asked(kit, drill, words))
    if short == "explain":
        return _asked_anew(kit, explain(kit, drill, words))
    if drill.ask is Ask.FAULT:
        return fault_answered(kit, drill, words)
    if drill.ask is Ask.LOOK:
        return _looked(kit, drill, words)
    if drill.ask is Ask.GO_ON:
        if kit.says.meant(words, ("next", "yes")):
            return next_turn(kit, drill)
        return drill, (kit.say("go-on.nothing"), Listen(drill.ask))
    if drill.doubt:
        return _doubt_answered(kit, drill, words)
    if short == "finish":
        return _finish(kit, drill, words)
    if kit.says.meant(words, ("finding",)) or _names_a_fault(kit, words):
        return _finding_called(kit, drill, words)
    drill, before = _uncalled(kit, drill)
    drill, effects = named(kit, drill, words)
    return _with_next_do(drill, (*before, *effects))


def _told_again(kit: Kit, drill: Drill) -> tuple[Effect, ...]:
    """The step that was read last, where every step is read."""
    if drill.ask is not Ask.GO_ON or drill.latest is None:
        return ()
    step = kit.plan.step(drill.latest.name)
    caution = (kit.say("caution", caution=step.caution),) if step.caution else ()
    texts = (f"{step.title}.", *_instructions(step), *drill.latest.lines)
    return (*caution, *(Tell(text) for text in texts))


def _asked_anew(kit: Kit, move: Move) -> Move:
    """After an aside the open question is put again."""
    drill, effects = move
    return drill, (*effects[:-1], *_question(kit, drill))


def _doubt_answered(kit: Kit, drill: Drill, words: str) -> Move:
    """ "Do you mean ...?" Yes, no, or something else altogether."""
    doubted, drill = drill.doubt, replace(drill, doubt="")
    meant = kit.says.meant(words, ("yes", "no"))
    if meant == "no":
        return drill, (kit.say("nothing"), Listen(drill.ask))
    if not meant:
        return answered(kit, drill, words)
    drill, effects = named(kit, drill, doubted, sure=True)
    return _with_next_do(drill, effects)


def shown(kit: Kit, drill: Drill, what: Shown) -> Move:
    """The truck's hands are done with the first of `to_do`."""
    drill = replace(drill, to_do=drill.to_do[1:])
    act = drill.course.is_act(what.name)
    if act and not what.worked:
        drill = replace(drill, course=failed(drill.course, what.name), to_do=(), after=())
        failing = kit.say("act.failed", title=kit.title(what.name))
        drill, turn = next_turn(kit, drill)
        return drill, (failing, *turn)
    drill = replace(drill, course=done(drill.course, what.name, what.read, what.worked))
    effects = [Tell(line) for line in what.lines]
    if not act:
        drill = replace(drill, latest=what)
        if what.finding:
            drill = replace(drill, findings={**drill.findings, what.name: what.finding})
    if drill.to_do:
        return drill, (*effects, Do(drill.to_do[0]))
    if drill.after:
        return replace(drill, after=()), (*effects, *drill.after)
    drill, turn = next_turn(kit, drill) if act else _after_step(kit, drill, what)
    return drill, (*effects, *turn)


def _with_next_do(drill: Drill, effects: tuple[Effect, ...]) -> Move:
    """What is to be done begins once everything was said."""
    if drill.to_do and not any(isinstance(effect, Do) for effect in effects):
        return drill, (*effects, Do(drill.to_do[0]))
    return drill, effects


# ---------------------------------------------------------------- a new turn


def next_turn(kit: Kit, drill: Drill) -> Move:
    """Tell or ask for the next step; or come to the end."""
    drill = replace(drill, hints=0, doubt="")
    due = drill.course.due()
    if due is None or LAST in drill.course.done or _enough(kit, drill):
        return at_the_end(kit, drill)
    if kit.stage is Stage.TOLD:
        return _told(kit, drill, due)
    if kit.only is not None and kit.card(due.id) not in kit.only:
        acts = drill.course.acts_for(due) or ()
        drill = replace(drill, to_do=(*acts, due.id), ask=Ask.NOTHING)
        return drill, (kit.say("i-do", title=due.title), Do(drill.to_do[0]))
    drill = replace(drill, ask=Ask.NEXT, turn=drill.turn + 1)
    return drill, _question(kit, drill)


def _enough(kit: Kit, drill: Drill) -> bool:
    asked = [name for name in drill.course.done if name in drill.marks or kit.only is None]
    return kit.most is not None and len(asked) >= kit.most


def _told(kit: Kit, drill: Drill, due: Step) -> Move:
    acts = drill.course.acts_for(due) or ()
    number, total = len(drill.course.done) + 1, len(kit.plan.steps)
    where = kit.says.where[due.where]
    said: list[Effect] = []
    if acts:
        said.append(kit.say("first", acts=listed([kit.title(act) for act in acts])))
    said.append(kit.say("step", number=str(number), total=str(total), title=due.title, where=where))
    if due.caution:
        said.append(kit.say("caution", caution=due.caution))
    said += [Tell(text) for text in _instructions(due)]
    drill = replace(drill, to_do=(*acts, due.id), ask=Ask.GO_ON, turn=drill.turn + 1)
    return drill, (*said, Do(drill.to_do[0]))


def _instructions(step: Step) -> list[str]:
    """Each question in its whole wording; one that is asked at every brake only once."""
    texts: dict[str, str] = {}
    for ask in step.asks:
        text = next(iter(ask.texts.values()), "")
        if text:
            texts.setdefault(ask.id.partition("@")[0], text)
    return list(texts.values())


def _question(kit: Kit, drill: Drill) -> tuple[Effect, ...]:
    key = {
        Ask.LOOK: "ask.look",
        Ask.GO_ON: "ask.go-on",
        Ask.FAULT: "ask.fault",
    }.get(drill.ask)
    if key is None:
        first = "ask.first" if not drill.course.done else "ask.next"
        key = "ask.next-and-first" if kit.stage is Stage.ASKED else first
    return kit.say(key), Listen(drill.ask)


# ---------------------------------------------------------------- after a step


def _after_step(kit: Kit, drill: Drill, what: Shown) -> Move:
    if kit.stage is Stage.TOLD:
        told: tuple[Effect, ...] = ()
        if what.finding:
            told = (kit.say("finding.told", finding=what.finding),)
            drill = replace(drill, called=drill.called | {what.name})
        return replace(drill, ask=Ask.GO_ON), (*told, kit.say("ask.go-on"), Listen(Ask.GO_ON))
    if kit.stage is Stage.ASKED and what.to_judge and what.name in drill.marks:
        drill = replace(drill, ask=Ask.LOOK)
        return drill, _question(kit, drill)
    return next_turn(kit, drill)


def _looked(kit: Kit, drill: Drill, words: str) -> Move:
    meant = kit.says.meant(words, ("yes", "no"))
    what = drill.latest
    if not meant or what is None:
        return drill, (kit.say("look.nothing"), Listen(Ask.LOOK))
    if what.finding:
        right = meant == "no"
        key = "look.right-finding" if right else "look.missed"
        said = kit.say(key, finding=what.finding)
        drill = replace(drill, called=drill.called | {what.name})
    else:
        right = meant == "yes"
        why = what.sound or kit.says.text("look.right-sound")
        said = kit.say("look.right-sound") if right else kit.say("look.too-strict", why=why)
    mark = Mark.RIGHT if right else Mark.WRONG
    drill, turn = next_turn(kit, drill.marked(what.name, mark))
    return drill, (Note(what.name, "look", mark, words), said, *turn)


def _finding_called(kit: Kit, drill: Drill, words: str) -> Move:
    """ "That is a finding": about what was shown last."""
    what = drill.latest
    if what is None:
        return drill, (kit.say("nothing"), Listen(drill.ask))
    right = bool(what.finding)
    if right:
        drill = replace(drill, called=drill.called | {what.name})
    mark = Mark.RIGHT if right else Mark.WRONG
    note = Note(what.name, "look", mark, words)
    question = _question(kit, drill)
    if kit.stage is Stage.EXAMINED:
        return drill, (note, kit.say("noted"), *question)
    if right:
        return drill, (note, kit.say("finding.called", finding=what.finding), *question)
    if drill.findings:
        return drill, (kit.say("finding.kept"), *question)
    return drill, (note, kit.say("finding.none"), *question)


def _names_a_fault(kit: Kit, words: str) -> bool:
    """A fault is named where a step is asked for: it is about what was shown."""
    if kit.steps.mentions(words):
        return False
    return bool(fault_named(kit.fault_names, words, {f.name: f for f in kit.book.faults}))


def _uncalled(kit: Kit, drill: Drill) -> Move:
    """A finding that the learner went past: said at once, but for the examination."""
    what = drill.latest
    if what is None or not what.finding or what.name in drill.called:
        return drill, ()
    if kit.stage is Stage.EXAMINED or what.name not in drill.marks:
        return drill, ()
    drill = replace(drill, called=drill.called | {what.name}).marked(what.name, Mark.WRONG)
    told = kit.say("finding.uncalled", title=kit.title(what.name), finding=what.finding)
    return drill, (Note(what.name, "look", Mark.WRONG, ""), told)


# ---------------------------------------------------------------- ends


def _stopped(kit: Kit, drill: Drill) -> Move:
    drill = replace(drill, ended=True, ask=Ask.NOTHING)
    return drill, (kit.say("end.stopped"), End(complete=False))


def _finish(kit: Kit, drill: Drill, words: str) -> Move:
    """Everything done, says the learner."""
    left = drill.course.left()
    if left and kit.stage is not Stage.EXAMINED:
        due = drill.course.due() or left[0]
        where = kit.says.where[due.where]
        drill = drill.marked(due.id, Mark.HELPED)
        note = Note(due.id, "help", Mark.HELPED, words)
        told = kit.say("too-early", count=str(len(left)), where=where)
        return drill, (note, told, Listen(drill.ask))
    return at_the_end(kit, drill)
