"""From prompt ids to sentences."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.speech.books import english
from walkaround.exchange import AskKind, Prompt, Wording
from walkaround.procedure.model import Asked, Plan, Step
from walkaround.quantity import Quantity, Unit
from walkaround.speech.phrase_keys import PLACES
from walkaround.speech.phrasing import render, sentences_of

TEA = Step(
    id="boil",
    title="Boil the water",
    where="cab",
    caution="Steam burns. Keep your hands clear of the spout.",
    explain="Tea wants water at 98 °C.",
    asks=(
        Asked(
            "settled@kettle-2",
            AskKind.NUMBER,
            {
                Wording.FULL: "Read the kettle's gauge at 15 psi. What does it show?",
                Wording.SHORT: "What does the kettle show?",
            },
        ),
    ),
)
PLAN = Plan("tea", "Making tea", {}, (TEA,), (), {})


def said(id: str, wording: Wording = Wording.FULL, **values: str | Quantity) -> tuple[str, ...]:
    return render([Prompt(id, wording, values)], english(), PLAN)


def test_a_phrase_is_filled_and_a_quantity_read_digit_by_digit() -> None:
    assert said("phrase:readback", value=Quantity(Decimal(105), Unit.PSI)) == (
        "one, zero, five P S I, noted.",
    )


def test_a_read_back_takes_another_form_than_the_answer() -> None:
    reading = Quantity(Decimal(105), Unit.PSI)
    assert said("phrase:readback", Wording.SHORT, value=reading, heard="one oh five") == (
        "one hundred and five, noted.",
    )
    assert said(
        "phrase:readback-pair",
        heard="one zero five and one eighteen",
        primary=reading,
        secondary=Quantity(Decimal(118), Unit.PSI),
    ) == ("Primary one hundred and five P S I, secondary one, one, eight P S I, noted.",)


def test_sentences_come_one_at_a_time_in_order() -> None:
    sentences = render(
        [
            Prompt("phrase:caution-lead"),
            Prompt("step:boil.caution", Wording.CUE),
            Prompt("step:boil.settled@kettle-2", Wording.CUE),
        ],
        english(),
        PLAN,
    )
    assert sentences == (
        "Caution.",
        "Steam burns.",
        "Keep your hands clear of the spout.",  # never shortened
        "What does the kettle show?",
    )


def test_step_texts_are_spelled_for_the_ear() -> None:
    assert said("step:boil.settled@kettle-2") == (
        "Read the kettle's gauge at fifteen P S I.",
        "What does it show?",
    )
    assert said("step:boil.explain") == ("Tea wants water at ninety eight degrees Celsius.",)
    assert said("step:boil.title") == ("Boil the water",)


def test_a_places_code_is_said_as_its_name() -> None:
    (first, *_) = said("phrase:verdict.met", place="CA-ON", limit="at most 120 s")
    assert first == (
        "Ontario: within the limit, at most one hundred and twenty seconds, by the rule."
    )


@pytest.mark.parametrize("id", ["phrase:nothing", "step:boil.stir", "step:pour.title", "boil"])
def test_an_unknown_id_is_an_error(id: str) -> None:
    with pytest.raises(KeyError):
        said(id)


def test_a_place_without_a_value_is_an_error() -> None:
    with pytest.raises(KeyError):
        said("phrase:readback")


def test_every_prompt_can_be_said_in_every_wording() -> None:
    for key, places in PLACES.items():
        for wording in Wording:
            sentences = said(f"phrase:{key}", wording, **dict.fromkeys(places, "3 psi"))
            assert sentences
            for sentence in sentences:
                assert "{" not in sentence
                assert not any(sign.isdigit() for sign in sentence)


def test_every_sentence_is_short_enough_to_hold_in_mind() -> None:
    for key, texts in english().prompts.items():
        for text in texts.values():
            for sentence in sentences_of(text):
                assert len(sentence.split()) <= 30, key


def test_sentences_are_cut_at_their_ends_only() -> None:
    assert sentences_of("It is 3.5 psi. Ready? Go!  ") == ("It is 3.5 psi.", "Ready?", "Go!")
    assert sentences_of("") == ()
