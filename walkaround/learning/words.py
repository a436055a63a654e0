"""From an answer in free words to the words that count, and how much each of them weighs."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from rapidfuzz import fuzz, process

_WORD = re.compile(r"[a-z0-9']+")
_CLAUSE_END = re.compile(r"[,;:.!?\n]+|\bthen\b")
_LIKE_ENOUGH = 87.0  # of 100, by edit distance: one slip in a word of six letters
_LEAST_LETTERS = 5  # shorter words are too near each other ("on", "off", "cut", "out")
STRANGE_WEIGHT = 0.6
"""Of a word that no phrasing has: it says little, but it is not nothing."""


@dataclass(frozen=True, slots=True)
class Words:
    """Which words are passed over, which count as one (`same`: word -> the one it counts as)."""

    fillers: frozenset[str]
    same: Mapping[str, str]

    def of(self, text: str) -> tuple[str, ...]:
        """The words that count, in order, each in the form it is counted as."""
        plain = text.lower().replace("-", " ").replace("’", "'")
        found = (part for word in _WORD.findall(plain) for part in self._counted(word))
        return tuple(word for word in found if word not in self.fillers)

    def _counted(self, word: str) -> list[str]:
        """ "cutout" counts as two words."""
        return self.same.get(word, word).split()

    def clauses(self, text: str) -> tuple[tuple[str, ...], ...]:
        """The same, cut where a comma, a full stop or "then" stands."""
        cut = (self.of(part) for part in _CLAUSE_END.split(text.lower()))
        return tuple(words for words in cut if words)


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Every word of the phrasings, with its weight: rare words say more."""

    weights: Mapping[str, float] = field(default_factory=dict)
    spelled: Mapping[str, str] = field(default_factory=dict)  # another word -> what it counts as

    def weight(self, word: str) -> float:
        return self.weights.get(word, STRANGE_WEIGHT)

    def mass(self, words: Iterable[str]) -> float:
        """The weight of a set of words."""
        return sum(self.weight(word) for word in words)

    def known(self, word: str) -> str:
        """The word itself, or the phrasings' word that it is a slip of."""
        if word in self.weights or len(word) < _LEAST_LETTERS:
            return word
        every = (*self.weights, *self.spelled)
        found = process.extractOne(word, every, scorer=fuzz.ratio, score_cutoff=_LIKE_ENOUGH)
        return word if found is None else self.spelled.get(str(found[0]), str(found[0]))


def vocabulary(
    phrases: Sequence[tuple[str, frozenset[str]]], same: Mapping[str, str]
) -> Vocabulary:
    """Weights from (owner, words) pairs: the logarithm of owners over owners with the word."""
    owners: dict[str, set[str]] = {}
    for owner, words in phrases:
        for word in words:
            owners.setdefault(word, set()).add(owner)
    total = len({owner for owner, _ in phrases}) or 1
    return Vocabulary(
        {word: math.log1p(total / len(having)) for word, having in sorted(owners.items())},
        {word: counted for word, counted in same.items() if counted in owners},
    )
