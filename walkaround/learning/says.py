"""What the drill says, and the short answers it takes besides steps. From YAML bytes."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from walkaround.errors import PhraseError
from walkaround.sheet import Reader, Scalar, read_sheet

_HOLE = re.compile(r"\{([a-z]+)\}")
_PLACES = ("cab", "left", "right", "front", "rear", "under", "engine", "around")
ANSWERS = ("next", "yes", "no", "finding", "help", "explain", "repeat", "stop", "finish")

_KEYS = """
    welcome stage.told stage.asked stage.recalled stage.examined
    ask.next-and-first ask.next ask.first ask.look ask.go-on ask.fault
    truths.none noted go-on.nothing not-yet.go-on already not-here nothing explain.none
    look.nothing look.right-sound finding.none finding.kept fault.right-sound fault.unclear
    end.stopped end.well end.disclaimer
    quiz.welcome quiz.right quiz.unit quiz.two quiz.unclear quiz.none
    truck: vehicle
    short: count
    step: number total title where
    caution: caution
    first: acts
    act: title
    act.failed: title
    i-do: title
    right: title
    right.other: title
    truths: needs named all
    brought: acts
    not-yet.hazard: title needs why
    not-yet.worthless: title needs why
    rivals: rivals
    mean: title
    slip: needs why
    more: titles count
    too-early: count where
    hint: where does
    told-it: title
    hint.fault: titles
    hint.look: bad
    explain: does bad hurt
    look.right-finding: finding
    look.missed: finding
    look.too-strict: why
    finding.called: finding
    finding.uncalled: title finding
    finding.told: finding
    fault.right: name tells
    fault.other: said name tells
    fault.was-sound: said
    fault.where: titles
    end.counts: right all helped again
    end.slip: title says
    end.forgotten: titles
    end.findings-missed: titles
    end.next: titles
    quiz.number: number total place question
    quiz.wrong: answer
    quiz.rule: statement limit source standing
    quiz.part: tells source
    quiz.end: right all
"""


def _table(text: str) -> dict[str, frozenset[str]]:
    keys: dict[str, frozenset[str]] = {}
    for line in text.strip().splitlines():
        head, colon, places = line.strip().partition(":")
        if colon:
            keys[head] = frozenset(places.split())
        else:
            keys |= {key: frozenset() for key in head.split()}
    return keys


KEYS: Mapping[str, frozenset[str]] = _table(_KEYS)
"""What is said, by key -> the places that its text may fill."""


@dataclass(frozen=True, slots=True)
class Says:
    """Texts by key; `answers` are whole answers, in lower case, by what they mean."""

    texts: Mapping[str, str]
    where: Mapping[str, str]
    answers: Mapping[str, tuple[str, ...]]

    def text(self, key: str, **values: str) -> str:
        """The text with its places filled. Raises KeyError."""
        return " ".join(_HOLE.sub(lambda hole: values[hole[1]], self.texts[key]).split())

    def meant(self, answer: str, among: Sequence[str]) -> str:
        """Which of these short answers the whole answer is; "" for none."""
        plain = " ".join(re.findall(r"[a-z']+", answer.lower().replace("’", "'")))
        return next((name for name in among if plain in self.answers[name]), "")


def load_says(content: bytes, file: str) -> Says:
    """Raises PhraseError with file, line and key."""
    top = Reader(read_sheet(content, file, PhraseError), PhraseError)
    top.text("language")
    said, where, answers = (_part(top, key) for key in ("says", "where", "answers"))
    texts = {key: _text(said, key, places) for key, places in KEYS.items()}
    found = Says(
        texts=texts,
        where={place: where.text(place) for place in _PLACES},
        answers={name: answers.texts(name) for name in ANSWERS},
    )
    for reader in (said, where, answers, top):
        reader.done()
    for name, ways in found.answers.items():
        if not ways:
            raise answers.fail(f"'{name}' has no way to be said; give at least one", name)
    return found


def _part(top: Reader, key: str) -> Reader:
    table = top.table_at(key)
    if table is None:
        raise top.fail(f"'{key}' is missing; restore it", key)
    return Reader(table, PhraseError, key)


def _text(reader: Reader, key: str, places: frozenset[str]) -> str:
    text = reader.text(key)
    node = reader.node(key)
    for place in _HOLE.findall(text):
        if place not in places:
            may = ", ".join(sorted(places)) or "none"
            raise reader.fail(f"{{{place}}} is not a place of '{key}'; it may fill {may}", key)
    if "{" in _HOLE.sub("", text) or not isinstance(node, Scalar):
        raise reader.fail(f"'{key}' has a brace that fills no place", key)
    return text


def shortened(says: Says, items: Sequence[str], most: int = 6) -> str:
    """The first few, and how many more there are: a long list is not kept in mind."""
    if len(items) <= most:
        return listed(items)
    return says.text("more", titles=", ".join(items[:most]), count=str(len(items) - most))


def listed(items: Sequence[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"
