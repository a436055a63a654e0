"""What the recogniser is given to listen for."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

import pytest

from tests.speech.books import english, gauge, inches
from walkaround.exchange import AskKind, Question
from walkaround.quantity import Kind, Unit
from walkaround.speech import cardinals
from walkaround.speech.grammar import UNKNOWN, every_word, grammar_for, words_of


def asked(kind: AskKind, options: tuple[str, ...] = ()) -> Question:
    return Question("s.q", kind, options=options)


@pytest.mark.parametrize("kind", list(AskKind))
def test_every_command_can_be_said_at_every_question(kind: AskKind) -> None:
    grammar = grammar_for(asked(kind), english())
    for said in english().commands.values():
        assert set(said) <= set(grammar)
    assert grammar[-1] == UNKNOWN


def test_where_only_commands_are_understood_nothing_else_is_listened_for() -> None:
    commands = {phrase for said in english().commands.values() for phrase in said}
    assert set(grammar_for(asked(AskKind.COMMAND), english())) == commands | {UNKNOWN}


def test_half_is_listened_for_with_lengths_only() -> None:
    # white noise, and an air leak, are heard as "half"
    assert "half" in words_of(grammar_for(inches(), english()))
    for kind in AskKind:
        assert "half" not in words_of(grammar_for(gauge(kind), english()))


def test_oh_is_never_listened_for_where_no_is_an_answer() -> None:
    words = words_of(grammar_for(asked(AskKind.YES_NO), english()))
    assert "no" in words and "oh" not in words


def test_a_lone_oh_is_in_no_grammar() -> None:
    assert "oh" not in grammar_for(gauge(), english())


def test_every_form_of_every_value_in_range_can_be_chained_from_what_is_listed() -> None:
    # the recogniser knows which word may follow which, and no more
    grammar = grammar_for(gauge(low="50", high="150"), english())
    follows = {pair for phrase in grammar for pair in pairwise(["<", *phrase.split(), ">"])}
    for number in range(50, 151):
        for form in cardinals.forms(number):
            assert follows.issuperset(pairwise(["<", *form.split(), ">"])), form
    assert "two hundred" not in grammar


def test_the_pair_is_listened_for_by_its_names() -> None:
    assert {"primary", "secondary"} <= words_of(grammar_for(gauge(AskKind.PAIR), english()))


def test_options_are_listened_for() -> None:
    grammar = grammar_for(asked(AskKind.CHOICE, options=("belt", "gear-driven")), english())
    assert {"belt", "gear driven"} <= set(grammar)


def test_every_word_covers_every_grammar() -> None:
    words = every_word(english())
    for question in (
        gauge(),
        gauge(AskKind.PAIR, high="1050", unit=Unit.KPA),
        inches(),
        asked(AskKind.YES_NO),
        asked(AskKind.MARK),
        gauge(high="12", unit=Unit.BAR),
        Question("q", AskKind.COUNT, low=Decimal(0), high=Decimal(12)),
        gauge(unit=Unit.CELSIUS, quantity=Kind.TEMPERATURE),
    ):
        assert words_of(grammar_for(question, english())) <= words
