"""The phrase book: what is said, and the words an answer may use. Read from YAML bytes."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from walkaround.errors import PhraseError
from walkaround.exchange import Command, Wording
from walkaround.sheet import Reader, Scalar, Table, read_sheet
from walkaround.speech import cardinals
from walkaround.speech.phrase_keys import PLACES

_PLACE = re.compile(r"\{([a-z_]+)\}")
_SAYABLE = re.compile(r"[a-z']+( [a-z']+)*\Z")
_MEANINGS = ("yes", "no", "mark")


@dataclass(frozen=True, slots=True)
class Phrasebook:
    """Everything one language needs. Phrases are lower case words with single blanks."""

    language: str
    yes: tuple[str, ...]
    no: tuple[str, ...]
    marks: tuple[str, ...]
    commands: Mapping[Command, tuple[str, ...]]
    choices: Mapping[str, tuple[str, ...]]  # an option -> further ways to say it
    prompts: Mapping[str, Mapping[Wording, str]]
    places: Mapping[str, str]  # ISO 3166 code -> name

    def text(self, key: str, wording: Wording) -> str:
        """A prompt in the wanted wording, or the next longer one. Raises KeyError."""
        return pick(self.prompts[key], wording)

    def place_name(self, code: str) -> str:
        """The name to be spoken; an unknown code is returned as it is."""
        return self.places.get(code, code)

    def said_for(self, option: str) -> tuple[str, ...]:
        """The ways to say a choice's option: as written, and those listed for it."""
        plain = " ".join(re.findall(r"[a-z']+", option.lower()))
        return tuple(dict.fromkeys((plain, *self.choices.get(option, ()))))

    def answer_words(self) -> Iterator[str]:
        """Every phrase that means something by itself, numbers and choices aside."""
        yield from (*self.yes, *self.no, *self.marks)
        for said in self.commands.values():
            yield from said


def pick(texts: Mapping[Wording, str], wording: Wording) -> str:
    """The text in that wording, else in the next longer one."""
    order = tuple(Wording)
    for longer in reversed(order[: order.index(wording) + 1]):
        if longer in texts:
            return texts[longer]
    return texts[Wording.FULL]


def load_phrases(content: bytes, file: str) -> Phrasebook:
    """Read a phrase file. Raises PhraseError with file, line and key."""
    top = Reader(read_sheet(content, file, PhraseError), PhraseError)
    language = top.text("language")
    answers = _phrases(top, "answers", _MEANINGS)
    commands = _phrases(top, "commands", tuple(Command))
    choices = _choices(top)
    prompts = _prompts(top)
    places = _places(top)
    top.done()
    _refuse_shared(top, {**answers, **commands, **choices})
    return Phrasebook(
        language,
        answers["yes"],
        answers["no"],
        answers["mark"],
        MappingProxyType({Command(key): said for key, said in commands.items()}),
        MappingProxyType(choices),
        MappingProxyType(prompts),
        MappingProxyType(places),
    )


def _section(top: Reader, key: str) -> Reader:
    table = top.table_at(key)
    if table is None:
        raise top.fail(f"'{key}' is missing; add it", key)
    return Reader(table, PhraseError, key)


def _phrases(top: Reader, key: str, meanings: tuple[str, ...]) -> dict[str, tuple[str, ...]]:
    part = _section(top, key)
    found = {meaning: _said(part, meaning) for meaning in meanings}
    part.done()
    return found


def _said(part: Reader, meaning: str) -> tuple[str, ...]:
    said = part.texts(meaning)
    if not said:
        raise part.fail(f"'{meaning}' has no phrase; give at least one", meaning)
    for phrase in said:
        if not _SAYABLE.match(phrase):
            raise part.fail(f"'{phrase}' must be lower case words with single blanks", meaning)
        if cardinals.WORDS.issuperset(phrase.split()):
            raise part.fail(f"'{phrase}' is a number; choose another phrase", meaning)
    return said


def _choices(top: Reader) -> dict[str, tuple[str, ...]]:
    part = _section(top, "choices")
    return {option: _said(part, option) for option in part.table.items}


def _refuse_shared(top: Reader, meanings: Mapping[str, tuple[str, ...]]) -> None:
    owner: dict[str, str] = {}
    for meaning, said in meanings.items():
        for phrase in said:
            if phrase in owner:
                section = "commands" if meaning in tuple(Command) else "answers"
                table = top.table_at("choices" if meaning not in _known() else section)
                raise PhraseError(
                    f"'{phrase}' means both '{owner[phrase]}' and '{meaning}'; keep one of them",
                    file=top.table.file,
                    line=table.line_of(meaning) if table else 0,
                    key=meaning,
                )
            owner[phrase] = meaning


def _known() -> tuple[str, ...]:
    return (*_MEANINGS, *Command)


def _prompts(top: Reader) -> dict[str, Mapping[Wording, str]]:
    part = _section(top, "prompts")
    found = {key: _wordings(part, key, allowed) for key, allowed in PLACES.items()}
    part.done()
    return found


def _wordings(part: Reader, key: str, allowed: frozenset[str]) -> Mapping[Wording, str]:
    node = part.node(key)
    if isinstance(node, Table):
        inner = Reader(node, PhraseError, key)
        texts = {Wording.FULL: inner.text("full")}
        texts |= {w: inner.text(w) for w in (Wording.SHORT, Wording.CUE) if w in node.items}
        inner.done()
    else:
        texts = {Wording.FULL: part.text(key)}
    for text in texts.values():
        for place in _PLACE.findall(text):
            if place not in allowed:
                may = ", ".join(sorted(allowed)) or "none"
                raise part.fail(f"{{{place}}} is not a place of '{key}'; it may fill {may}", key)
        if "{" in _PLACE.sub("", text) or "}" in _PLACE.sub("", text):
            raise part.fail(f"'{key}' has a brace that fills no place", key)
    return MappingProxyType(texts)


def _places(top: Reader) -> dict[str, str]:
    table = _section(top, "places").table
    for code, name in table.items.items():
        if not isinstance(name, Scalar) or not name.text.strip():
            raise PhraseError(
                f"'{code}' needs a name", file=table.file, line=table.line_of(code), key=code
            )
    return {code: name.text for code, name in table.items.items() if isinstance(name, Scalar)}
