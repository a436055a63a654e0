"""The phrase book: what it refuses, and what the shipped one must hold."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.speech.books import PHRASES, english
from walkaround.errors import PhraseError
from walkaround.exchange import Command, Wording
from walkaround.speech.phrase_keys import PLACES
from walkaround.speech.phrases import load_phrases
from walkaround.speech.phrasing import answer_word_at_end

TEXT = PHRASES.read_text(encoding="utf-8")


def refused(change: Callable[[str], str]) -> PhraseError:
    changed = change(TEXT)
    assert changed != TEXT
    with pytest.raises(PhraseError) as caught:
        load_phrases(changed.encode(), "en.yaml")
    assert caught.value.file == "en.yaml"
    return caught.value


def line_of(text: str, start: str) -> int:
    return next(n for n, line in enumerate(text.splitlines(), 1) if line.startswith(start))


def test_the_shipped_book_has_every_command_and_prompt() -> None:
    book = english()
    assert set(book.commands) == set(Command)
    assert set(book.prompts) == set(PLACES)
    assert "yes" in book.yes and "no" in book.no  # text, not a truth value


def test_an_unknown_key_is_refused_with_its_line() -> None:
    error = refused(lambda t: t.replace("  readback:", "  reedback: x\n  readback:"))
    assert "reedback" in str(error) and error.key == "reedback"
    assert error.line == line_of(TEXT, "  readback:")


def test_a_missing_prompt_is_refused() -> None:
    assert refused(lambda t: t.replace("  stopped-ask:", "  x-ask:")).key == "stopped-ask"


def test_a_phrase_with_two_meanings_is_refused() -> None:
    error = refused(lambda t: t.replace("  wait: [wait, stand by]", "  wait: [wait, negative]"))
    assert "negative" in str(error) and "no" in str(error) and "wait" in str(error)
    assert error.line == line_of(TEXT, "  wait:")


def test_a_choice_may_not_use_an_answer_word() -> None:
    error = refused(lambda t: t.replace("choices: {}", "choices:\n  belt: [belt, skip]"))
    assert "skip" in str(error)


def test_a_number_is_no_phrase() -> None:
    refused(lambda t: t.replace("mark: [mark, time]", "mark: [mark, one]"))


def test_a_place_that_nothing_fills_is_refused() -> None:
    error = refused(lambda t: t.replace('"{option}, noted."', '"{pressure}."'))
    assert "{pressure}" in str(error) and "option" in str(error)
    refused(lambda t: t.replace('"{option}, noted."', '"{option, noted."'))


def test_a_phrase_with_capitals_is_refused() -> None:
    refused(lambda t: t.replace("help: [help,", "help: [Help,"))


def test_a_file_that_is_no_phrase_file() -> None:
    for content in (b"", b"- a", b"language: en", b"\xff\xfe", b"a: [1"):
        with pytest.raises(PhraseError):
            load_phrases(content, "broken.yaml")


def test_no_prompt_ends_on_an_answer_word() -> None:
    # a prompt's echo is heard: "say yes or no" gave yes and no at full confidence
    ends = {
        (key, wording): answer_word_at_end(text, english())
        for key, texts in english().prompts.items()
        for wording, text in texts.items()
    }
    unguarded = {where: word for where, word in ends.items() if word}
    assert unguarded == {}


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("Say yes or no.", "no"),
        ("Is it one hundred?", "hundred"),
        ("It was {value}.", "value"),
        ("Up to 60.", "sixty"),
        ("Now stand by!", "stand by"),
        ("Set the parking brake.", ""),
    ],
)
def test_the_helper_finds_what_a_prompt_ends_on(text: str, word: str) -> None:
    assert answer_word_at_end(text, english()) == word


def test_a_missing_wording_falls_back_on_the_longer_one() -> None:
    book = english()
    assert book.text("greeting", Wording.CUE) == book.text("greeting", Wording.SHORT)
    assert book.text("stopped", Wording.CUE) == book.text("stopped", Wording.FULL)


def test_places_are_named() -> None:
    named = english().place_name
    assert (named("CA-ON"), named("US-NC"), named("NZ")) == (
        "Ontario",
        "North Carolina",
        "New Zealand",
    )
    assert named("XX-YY") == "XX-YY"


def test_an_options_own_words_and_synonyms_are_understood() -> None:
    book = load_phrases(
        TEXT.replace("choices: {}", "choices:\n  air-cooled: [cooled by air]").encode(), "en"
    )
    assert book.said_for("air-cooled") == ("air cooled", "cooled by air")
    assert book.said_for("belt") == ("belt",)
