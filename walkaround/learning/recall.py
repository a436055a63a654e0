"""An answer in free words against the course: right, not yet, done already, or not understood.

States are named for two reasons: as what must be true first, and as what is to be brought
about.  One that is not true yet is brought about by the script's own acts, before the step
that it was named with.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from walkaround.learning.book import is_state
from walkaround.learning.course import Course, done
from walkaround.learning.match import Mention
from walkaround.procedure.model import Clause
from walkaround.procedure.restore import unmet


class Verdict(StrEnum):
    """What became of one thing that was named."""

    RIGHT = "right"
    NOT_YET = "not yet"
    DONE = "done already"
    NOT_HERE = "not here"
    UNCLEAR = "unclear"


@dataclass(frozen=True, slots=True)
class Named:
    """One step or act that was named. `acts` are to be done before it; `missing` is what it
    still needs; `truths` are the states named with it; `rivals` what it could also have been;
    `sure`: it was said as a phrasing has it."""

    verdict: Verdict
    name: str
    acts: tuple[str, ...] = ()
    missing: tuple[Clause, ...] = ()
    truths: tuple[str, ...] = ()
    rivals: tuple[str, ...] = ()
    sure: bool = True


@dataclass(slots=True)
class _Group:
    """A doing with the states that were named with it."""

    mention: Mention | None
    states: list[str] = field(default_factory=list)


def recall(
    course: Course, mentions: Sequence[Mention], likes: Mapping[str, str] | None = None
) -> tuple[Named, ...]:
    """Everything named, in order, up to the first that is not right. Empty: nothing named.

    `likes` maps acts to the steps that are called like them: a state named alone is taken for
    such a step while it is left.
    """
    found: list[Named] = []
    for group in _groups(course, mentions):
        if group.mention is None:
            found += _states_alone(course, group.states, likes or {})
        else:
            found.append(_named(course, group.mention, group.states))
        if not found or found[-1].verdict is not Verdict.RIGHT:
            break
        for act in found[-1].acts:
            course = done(course, act)
        course = done(course, found[-1].name)
    return tuple(found)


# ---------------------------------------------------------------- what belongs together


def _groups(course: Course, mentions: Sequence[Mention]) -> list[_Group]:
    """Doings in order, each with the states named after it, or before the first one."""
    merged = _without_repeats(mentions)
    firm = [place for place, mention in enumerate(merged) if not _states_of(mention)]
    groups: list[_Group] = []
    early: list[str] = []
    for place, mention in enumerate(merged):
        states = _states_of(mention)
        if groups and not states:
            first = _brought_about(course, mention, groups[-1])
            groups[-1].states += first
            if first:
                continue
        if not states or _is_doing(course, mention, groups, ahead=firm and place < firm[-1]):
            groups.append(_Group(mention, early))
            early = []
        elif groups and _is_step(course, groups[-1]):
            groups[-1].states.append(states[0])
        elif firm and place < firm[-1]:
            early.append(states[0])
        else:
            groups.append(_Group(None, [states[0]]))
    return groups


def _is_doing(course: Course, mention: Mention, groups: Sequence[_Group], *, ahead: object) -> bool:
    """ "Chocks in" is something to do while nothing else is named that it could be true for."""
    if all(is_state(name) for name in mention.of):
        return False
    if ahead:
        return _to_be_done(course, mention)
    return not (groups and _is_step(course, groups[-1]))


def _is_step(course: Course, group: _Group) -> bool:
    names = _names(course, group.mention.of) if group.mention is not None else []
    return any(not course.is_act(name) for name in names)


def _brought_about(course: Course, mention: Mention, before: _Group) -> list[str]:
    """The states that an act leaves, where it was named after a step that needs one of them, or
    where they are true already: then it is no doing of its own ("leak test, engine stopped")."""
    names = _names(course, mention.of)
    if before.mention is None or not names or not all(course.is_act(name) for name in names):
        return []
    leaves = course.step(names[0]).leaves.items()
    if _idle(course, names[0]):
        return [f"{name}: {value}" for name, value in leaves]
    steps = [course.step(name) for name in _names(course, before.mention.of)]
    needed = {
        (name, value)
        for step in steps[:1]
        for clause in step.needs
        for name, values in clause.any_of
        for value in values
    }
    return [f"{name}: {value}" for name, value in leaves if (name, value) in needed]


def _without_repeats(mentions: Iterable[Mention]) -> list[Mention]:
    found: list[Mention] = []
    for mention in mentions:
        if not found or found[-1].of != mention.of:
            found.append(mention)
    return found


def _states_of(mention: Mention) -> tuple[str, ...]:
    return tuple(name for name in mention.of if is_state(name))


def _to_be_done(course: Course, mention: Mention) -> bool:
    """A state that a step brings about, not true yet, and the step is still left."""
    left = {step.id for step in course.left()}
    fresh = any(name in left for name in _names(course, mention.of))
    return fresh and not all(course.is_true(state) for state in _states_of(mention))


# ---------------------------------------------------------------- one thing named


def _names(course: Course, of: Iterable[str]) -> list[str]:
    """The plan's steps and acts that a mention can mean: cards under the names they go by."""
    names = []
    for card in (name for name in of if not is_state(name)):
        names += [s.id for s in course.plan.steps if course.card(s.id) == card]
        names += [a.id for a in course.plan.acts if a.id == card]
    return list(dict.fromkeys(names))


def _named(course: Course, mention: Mention, states: Sequence[str]) -> Named:
    if mention.rivals:
        rivals = [name for of in (mention.of, *mention.rivals) for name in _names(course, of)[:1]]
        if len(set(rivals)) > 1:
            return Named(Verdict.UNCLEAR, "", rivals=tuple(dict.fromkeys(rivals)))
    names = _names(course, mention.of)
    if not names:
        return Named(Verdict.NOT_HERE, mention.of[0])
    acts = course.acts_to(states) if states else ()
    ahead = course
    for act in acts or ():
        ahead = done(ahead, act)
    name = _meant(ahead, names)
    if name is None:
        return Named(Verdict.DONE, names[0], truths=tuple(states))
    missing = unmet(course.step(name).needs, ahead.conditions)
    if missing and course.is_act(name) and set(names) & set(course.done):
        return Named(Verdict.DONE, names[0], truths=tuple(states))
    verdict = Verdict.NOT_YET if missing else Verdict.RIGHT
    return Named(verdict, name, acts or (), missing, tuple(states), sure=mention.sure)


def _meant(course: Course, names: Sequence[str]) -> str | None:
    """The first that is left and in order; else an act that changes something; else the first
    that is left. None when there is nothing left to do."""
    left = [name for name in names if name in {step.id for step in course.left()}]
    acts = [name for name in names if course.is_act(name) and not _idle(course, name)]
    for name in (*left, *acts):
        if not course.missing(course.step(name)):
            return name
    return next(iter((*left, *acts)), None)


def _idle(course: Course, act: str) -> bool:
    """The act would change nothing."""
    leaves = course.step(act).leaves
    return all(course.conditions.get(name) == value for name, value in leaves.items())


def _states_alone(course: Course, states: Sequence[str], likes: Mapping[str, str]) -> list[Named]:
    """A state named by itself is to be brought about."""
    if all(course.is_true(state) for state in states):
        return [Named(Verdict.DONE, "", truths=tuple(states))]
    acts = course.acts_to(states)
    if not acts:
        return [Named(Verdict.NOT_HERE, "", truths=tuple(states))]
    last = _step_like(course, acts, likes)
    return [Named(Verdict.RIGHT, last, acts[:-1], truths=tuple(states))]


def _step_like(course: Course, acts: Sequence[str], likes: Mapping[str, str]) -> str:
    """The step that the last act is like, where it is left and in order; else the act."""
    for act in acts[:-1]:
        course = done(course, act)
    card = likes.get(acts[-1], "")
    for step in course.left():
        if card and course.card(step.id) == card and not course.missing(step):
            return step.id
    return acts[-1]
