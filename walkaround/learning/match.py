"""Finds which steps, acts and states an answer in free words names, in the order named.

The answer is cut into runs of words; each run may be one of the phrasings.  A run gains by
the weight of the words it shares with the phrasing and loses by what is missing from it and
by what is said besides.  The cutting with the greatest sum is taken (dynamic programming).
Where no phrasing fits, the words are held against all words of each step together: one that
stands out far enough is taken.  The matcher is never told which answer is expected.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from walkaround.learning.book import Phrase, RecallBook, is_state
from walkaround.learning.course import card_of
from walkaround.learning.words import Vocabulary, Words, vocabulary
from walkaround.procedure.model import Plan

_MISSING = 0.65  # a missing word costs this share of its weight
_BESIDE = 0.3  # and a word said besides
_EACH = 1.6  # every mention costs a little, so that one long reading beats two short ones
_LONGEST = 9  # words of a run
_LEAST_SHARE = 0.6  # of a phrasing's weight that must have been said
_LEAST_OF_ACT = 0.9  # the same, of an act's or a state's: they move the truck, or excuse it
_LEAST_OF_ONE = 0.8  # the same, where only one of its words was
_SURE_OF_PHRASING, _SURE_OF_ANSWER = 0.85, 0.7  # shares of the weight that both must have
_SURE_OF_CLAUSE = 0.6  # of the whole clause's weight
_LEAST_MASS = 4.0  # of words held against a whole step: one rare word, or two usual ones
_STANDS_OUT = 1.4  # times what the next step has
_RIVAL = 0.93  # so near the best, another meaning is a rival


@dataclass(frozen=True, slots=True)
class Mention:
    """One thing named: what it can mean, in the recall book's order. `rivals` fit as well.
    `sure`: it was nearly said as a phrasing has it, with little besides."""

    of: tuple[str, ...]
    words: str
    gain: float
    rivals: tuple[tuple[str, ...], ...] = ()
    sure: bool = True


@dataclass(frozen=True, slots=True)
class _Known:
    of: tuple[str, ...]
    words: frozenset[str]
    mass: float
    loose: bool


class Matcher:
    """Made once from a recall book; `mentions` is a pure function of the answer."""

    def __init__(self, phrases: Sequence[Phrase], words: Words) -> None:
        self._words = words
        sets = [(phrase, frozenset(words.of(phrase.text))) for phrase in phrases]
        owners = {p.of[0] for p in phrases if not is_state(p.of[0]) and p.loose}
        self._vocabulary: Vocabulary = vocabulary(
            [(phrase.of[0], each) for phrase, each in sets], words.same
        )
        self._known = [
            _Known(phrase.of, each, self._vocabulary.mass(each), phrase.loose)
            for phrase, each in sets
        ]
        self._by_word: dict[str, list[_Known]] = {}
        for known in self._known:
            for word in known.words:
                self._by_word.setdefault(word, []).append(known)
        self._bags: dict[tuple[str, ...], set[str]] = {}
        for known in self._known:
            if known.of[0] in owners:
                self._bags.setdefault(known.of, set()).update(known.words)

    def mentions(self, answer: str) -> tuple[Mention, ...]:
        """Everything that the answer names, in order; empty when nothing was made out."""
        found: list[Mention] = []
        for clause in self._words.clauses(answer):
            row = [self._vocabulary.known(word) for word in clause]
            found += self._in_clause(row) or self._loosely(row)
        return tuple(found)

    def best(self, answer: str) -> Mention | None:
        """The one thing that the answer as a whole names; None when there is none."""
        row = [self._vocabulary.known(word) for word in self._words.of(answer)]
        return self._run(row) if row else None

    def _in_clause(self, row: list[str]) -> list[Mention]:
        best: list[tuple[float, list[Mention]]] = [(0.0, [])]
        for end in range(1, len(row) + 1):
            choice = best[end - 1]
            for begin in range(max(0, end - _LONGEST), end):
                run = self._run(row[begin:end])
                if run is not None and best[begin][0] + run.gain > choice[0]:
                    choice = (best[begin][0] + run.gain, [*best[begin][1], run])
            best.append(choice)
        return self._weighed(row, best[-1][1])

    def _weighed(self, row: Sequence[str], found: list[Mention]) -> list[Mention]:
        """Where much of the clause was passed over, nothing in it is sure."""
        covered = {word for mention in found for word in mention.words.split()}
        mass = self._vocabulary.mass(frozenset(row))
        if self._vocabulary.mass(covered) >= mass * _SURE_OF_CLAUSE:
            return found
        return [replace(mention, sure=False) for mention in found]

    def _loosely(self, row: Sequence[str]) -> list[Mention]:
        """The step whose words altogether fit far better than any other's; else nothing."""
        said = frozenset(row)
        masses: dict[str, tuple[float, tuple[str, ...]]] = {}
        for of, bag in self._bags.items():
            mass = self._vocabulary.mass(said & bag)
            if mass > masses.get(of[0], (0.0, of))[0]:
                masses[of[0]] = (mass, of)
        ordered = sorted(masses.values(), key=lambda item: -item[0])[:2]
        if not ordered or ordered[0][0] < max(_LEAST_MASS, self._vocabulary.mass(said) / 2):
            return []
        if len(ordered) > 1 and ordered[0][0] < _STANDS_OUT * ordered[1][0]:
            return []
        return [Mention(ordered[0][1], " ".join(row), ordered[0][0], sure=False)]

    def _run(self, row: Sequence[str]) -> Mention | None:
        said = frozenset(row)
        gains: dict[tuple[str, ...], float] = {}
        sure: dict[tuple[str, ...], bool] = {}
        for known in {id(k): k for word in said for k in self._by_word.get(word, ())}.values():
            gain = self._gain(said, known)
            if gain > gains.get(known.of, 0.0):
                gains[known.of], sure[known.of] = gain, self._is_sure(said, known)
        if not gains:
            return None
        ordered = sorted(gains.items(), key=lambda item: -item[1])
        of, gain = ordered[0]
        rivals = tuple(other for other, near in ordered[1:] if near >= gain * _RIVAL)
        return Mention(of, " ".join(row), gain, _apart(of, rivals), sure[of])

    def _is_sure(self, said: frozenset[str], known: _Known) -> bool:
        shared = self._vocabulary.mass(said & known.words)
        mass = self._vocabulary.mass(said)
        return shared >= known.mass * _SURE_OF_PHRASING and shared >= mass * _SURE_OF_ANSWER

    def _gain(self, said: frozenset[str], known: _Known) -> float:
        both = said & known.words
        shared = self._vocabulary.mass(both)
        least = _LEAST_OF_ONE if len(both) == 1 else _LEAST_SHARE
        if not known.loose:
            least = _LEAST_OF_ACT
        if shared < known.mass * least:
            return 0.0
        missing = known.mass - shared
        beside = self._vocabulary.mass(said - known.words)
        return shared - _MISSING * missing - _BESIDE * beside - _EACH


def _apart(of: tuple[str, ...], rivals: tuple[tuple[str, ...], ...]) -> tuple[tuple[str, ...], ...]:
    """A rival that means one of the same things is none."""
    return tuple(rival for rival in rivals if not set(rival) & set(of))


def matcher_for(book: RecallBook, plan: Plan) -> Matcher:
    """For the plan's steps and acts, and for states. What the book has no phrasing for goes by
    its title, so that a step somebody added can be named at once."""
    found = {frozenset(book.words.of(phrase.text)): phrase for phrase in book.phrases}
    known = {name for phrase in book.phrases for name in phrase.of}
    for step in (*plan.steps, *plan.acts):
        if card_of(step.id, known) in known:
            continue
        key = frozenset(book.words.of(step.title))
        before = found.get(key, Phrase(step.title, (), loose=True))
        found[key] = replace(before, of=(*before.of, step.id))
    return Matcher(tuple(found.values()), book.words)


def fault_matcher(book: RecallBook) -> Matcher:
    """For the names of faults."""
    phrases = [Phrase(text, (fault.name,), True) for fault in book.faults for text in fault.say]
    return Matcher(phrases, book.words)


def fault_named(matcher: Matcher, answer: str, names: Mapping[str, object]) -> str:
    """The fault that the answer names, or "" when none was made out."""
    found = matcher.best(answer)
    return found.of[0] if found is not None and found.of[0] in names else ""
