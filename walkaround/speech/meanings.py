"""From words to what they can mean under a question. No likelihood enters here."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from walkaround.exchange import (
    AskKind,
    Because,
    Choice,
    Command,
    Count,
    Mark,
    Meaning,
    No,
    Number,
    Pair,
    Question,
    Said,
    Yes,
)
from walkaround.quantity import Quantity
from walkaround.speech import typed
from walkaround.speech.grammar import UNKNOWN
from walkaround.speech.numbers import SAID_UNITS, Readings, pair_readings, readings
from walkaround.speech.phrases import Phrasebook
from walkaround.speech.saying import separating

_SINGLE = (AskKind.NUMBER, AskKind.RISE, AskKind.COUNT)


@dataclass(frozen=True, slots=True)
class Meant:
    """All that the words can mean. One `meaning` is an answer; several are rivals.
    `refused` says why there is none although something was understood."""

    meanings: tuple[Meaning, ...] = ()
    refused: Because | None = None
    rivals: tuple[str, ...] = ()


NOTHING = Meant()


def meant_by(
    words: Sequence[str], question: Question, phrases: Phrasebook, by_hand: bool = False
) -> Meant:
    """What the words can mean. `by_hand` accepts digits and y / n as well."""
    row = tuple(words)
    command = command_in(row, phrases)
    if command is not None:
        return Meant((Said(command),))
    if not row or UNKNOWN in row:
        return NOTHING
    plain = _plain_answer(" ".join(row), question, phrases, by_hand)
    if plain is not None:
        return Meant((plain,))
    if question.kind is AskKind.PAIR:
        found = typed.pair_readings(row, question) if by_hand else pair_readings(row, question)
        return _from_readings(found, question)
    if question.kind in _SINGLE:
        found = typed.readings(row, question) if by_hand else readings(row, question)
        return _from_readings(found, question)
    return NOTHING


def command_in(row: tuple[str, ...], phrases: Phrasebook) -> Command | None:
    """The command that the words are, said once or several times over.

    "stop" counts beside any other word: to miss it is worse than to have stopped for nothing.
    """
    if any(word in phrases.commands[Command.STOP] for word in row):
        return Command.STOP
    text = " ".join(row)
    for command, said in phrases.commands.items():
        for phrase in said:
            if text and re.fullmatch(f"{phrase}( {phrase})*", text):
                return command
    return None


def is_only_a_unit(words: Sequence[str]) -> bool:
    """A unit said after its number was already taken: no answer, and no mistake either."""
    return " ".join(words) in SAID_UNITS


def _plain_answer(
    text: str, question: Question, phrases: Phrasebook, by_hand: bool
) -> Meaning | None:
    if question.kind is AskKind.YES_NO:
        if text in phrases.yes or (by_hand and text == "y"):
            return Yes()
        if text in phrases.no or (by_hand and text == "n"):
            return No()
    if question.kind is AskKind.MARK and text in phrases.marks:
        return Mark()
    if question.kind is AskKind.CHOICE:
        for option in question.options:
            if text in phrases.said_for(option) or (by_hand and text == option.lower()):
                return Choice(option)
    return None


def _from_readings(found: Readings, question: Question) -> Meant:
    if found.bare:
        return Meant(refused=Because.NO_UNIT)
    if found.single:
        return Meant(refused=Because.AMBIGUOUS)
    inside = tuple(dict.fromkeys(_as_meaning(item, question) for item in found.inside))
    if inside:
        return Meant(inside, rivals=tuple(map(_apart, found.inside)))
    if found.outside:
        return Meant(refused=Because.OUT_OF_RANGE, rivals=tuple(map(_apart, found.outside)))
    return NOTHING


def _as_meaning(item: tuple[Quantity, ...], question: Question) -> Meaning:
    if question.kind is AskKind.PAIR:
        return Pair(item[0], item[1])
    if question.kind is AskKind.COUNT:
        return Count(int(item[0].value))
    return Number(item[0])


def _apart(item: tuple[Quantity, ...]) -> str:
    """A meaning in the form that cannot be taken for its rival."""
    return " and ".join(separating(amount) for amount in item)


def name_of(meaning: Meaning, phrases: Phrasebook) -> str:
    """A meaning as it is offered in "was it this or that?"."""
    if isinstance(meaning, Number):
        return separating(meaning.value)
    if isinstance(meaning, Pair):
        return _apart((meaning.primary, meaning.secondary))
    if isinstance(meaning, Count):
        return str(meaning.number)
    if isinstance(meaning, Said):
        return phrases.commands[meaning.command][0]
    if isinstance(meaning, Choice):
        return meaning.option
    plain = {Yes: phrases.yes, No: phrases.no, Mark: phrases.marks}
    return plain[type(meaning)][0]
