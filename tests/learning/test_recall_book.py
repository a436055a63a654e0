"""The recall book as shipped: enough ways for everything, and none that means two things."""

from __future__ import annotations

import pytest

from tests.learning.recall_books import RECALL, book, content, matcher
from tests.procedure.shipped import script
from walkaround.errors import PhraseError, ScriptError
from walkaround.learning.book import LEAST_WAYS, Phrase, is_state, load_recall
from walkaround.learning.course import card_of
from walkaround.learning.drill import Stage
from walkaround.learning.parts import load_parts
from walkaround.learning.says import KEYS, load_says
from walkaround.simulated.faults import FAULTS
from walkaround.speech.phrases import load_phrases

SCRIPTS = ("straight-truck", "tractor-trailer", "bus")
CARDS = sorted({place.card.id for name in SCRIPTS for place in script(name).order})
PHRASES = [phrase for phrase in book().phrases if not is_state(phrase.of[0])]


def _ways(name: str) -> set[frozenset[str]]:
    return {frozenset(book().words.of(p.text)) for p in book().phrases if p.of[0] == name}


@pytest.mark.parametrize("card", CARDS)
def test_every_step_of_every_script_has_three_ways_that_differ(card: str) -> None:
    assert len(_ways(card)) >= LEAST_WAYS


@pytest.mark.parametrize("card", CARDS)
def test_every_step_says_what_it_does_what_is_bad_and_what_could_hurt(card: str) -> None:
    why = book().why[card]
    for text in (why.does, why.bad, why.hurt):
        assert text.endswith(".")
        assert len(text.split()) <= 30, text


@pytest.mark.parametrize("phrase", PHRASES, ids=lambda phrase: phrase.text)
def test_a_phrasing_is_made_out_as_its_own_and_nothing_else(phrase: Phrase) -> None:
    found = matcher().mentions(phrase.text)
    assert found
    assert {mention.of for mention in found} == {phrase.of}
    assert not any(mention.rivals for mention in found)


def test_no_phrasing_of_a_step_is_another_steps_too() -> None:
    owners: dict[frozenset[str], set[str]] = {}
    for phrase in PHRASES:
        if phrase.loose:
            key = frozenset(book().words.of(phrase.text))
            owners.setdefault(key, set()).add(phrase.of[0])
    assert [names for names in owners.values() if len(names) > 1] == []


def test_every_state_of_the_scripts_has_words_and_a_reason() -> None:
    states = script("straight-truck").states.values
    for variable, values in states.items():
        for value in values:
            assert book().state_words[f"{variable}: {value}"]
            assert book().needs[f"{variable}: {value}"].says


def test_every_need_of_every_step_has_a_reason() -> None:
    for name in SCRIPTS:
        for place in script(name).order:
            for need in place.card.needs:
                variable, values = need.clause.any_of[0]
                card = card_of(place.name, book().why)
                assert book().reason(card, variable, values[0]) is not None, (place.name, variable)


def test_every_fault_of_the_truck_has_a_name_in_the_trades_words() -> None:
    named = {fault for name in book().faults for fault in name.of}
    assert named == set(FAULTS)


def test_no_phrasing_is_a_command_of_the_walk() -> None:
    """A learner who names a step must not stop or correct anything by it."""
    path = RECALL.parent / "phrases" / "en.yaml"
    phrases = load_phrases(path.read_bytes(), path.name)
    commands = {said for group in phrases.commands.values() for said in group}
    assert not commands & {phrase.text for phrase in book().phrases}


def test_every_stage_has_its_greeting() -> None:
    assert {f"stage.{stage}" for stage in Stage} <= set(KEYS)


def _edited(name: str, old: bytes, new: bytes) -> tuple[bytes, str]:
    text, file = content(name)
    assert old in text
    return text.replace(old, new, 1), file


BROKEN = {
    "two ways only": ("en", b"[park on level ground, ", b"[park level]\n#", "at least 3"),
    "one way for two steps": ("en", b"[cut in, governor", b"[breakaway, governor", "names both"),
    "no such step": ("en", b"like: engine-start", b"like: engine-stop", "no step here"),
    "a word that counts as two": ("en", b"- [tug, ", b"- [tank, ", "counts as two words"),
    "only words passed over": ("en", b"[cut in, governor", b"[and then, governor", "passed over"),
    "no reason for a state": ("en-why", b"  helper:\n", b"  helpers:\n", "helper: no"),
    "neither hazard nor worthless": ("en-why", b"{worthless: ", b"{because: ", "one line"),
    "a why for nothing": ("en-why", b"  sum-up:\n", b"  sum-upp:\n", "is no step"),
}  # fmt: skip


@pytest.mark.parametrize("case", BROKEN)
def test_a_broken_book_is_refused_in_one_sentence_with_its_line(case: str) -> None:
    name, old, new, says = BROKEN[case]
    files = {each: content(each) for each in ("en", "en-why", "en-faults")}
    files[name] = _edited(name, old, new)
    with pytest.raises(ScriptError) as refused:
        load_recall(files["en"], files["en-why"], files["en-faults"])
    assert says in str(refused.value)
    assert f"{name}.yaml, line" in str(refused.value)


def test_broken_sayings_and_parts_are_refused() -> None:
    with pytest.raises(PhraseError, match="not a place of 'right'"):
        load_says(*_edited("en-says", b'right: "Yes: {title}."', b'right: "Yes: {name}."'))
    with pytest.raises(PhraseError, match="'noted' is missing"):
        load_says(*_edited("en-says", b"  noted:", b"  noticed:"))
    with pytest.raises(ScriptError, match="lists no answer"):
        load_parts(*_edited("en-parts", b"right: [area, ", b"wrong: [area, "))
