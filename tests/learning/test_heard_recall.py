"""Spoken answers: what is listened for, which reading is taken, and a few through the ear."""

from __future__ import annotations

import pytest

from tests.learning.recall_books import book, matcher, says
from tests.walks.stories import library
from walkaround.devices.ear.child import EarSetup
from walkaround.devices.ear.fed import FedEar
from walkaround.devices.model import decoding_folder, ensure_model
from walkaround.devices.voice import Pyttsx3Voice
from walkaround.learning.drill import Ask
from walkaround.learning.hearing import grammar_of, question_of, words_heard
from walkaround.speech.grammar import UNKNOWN
from walkaround.speech.ports import Alternative, Transcript, Word

SILENCE = b"\0\0" * 8000


def heard(ours: str, free: str, ratio: float) -> Transcript:
    words = tuple(Word(word, 0, 1, 1.0) for word in ours.split())
    return Transcript("q", words, (Alternative(ours, ratio),), Alternative(free, 0.0), 0, 1, 1)


def test_our_words_are_taken_unless_the_free_ones_are_much_likelier() -> None:
    near = heard("chock the wheels", "shock the wheels", -3.0)
    assert words_heard(near, matcher()) == "chock the wheels"
    far = heard("chock the wheels", "i am so very cold today", -40.0)
    assert words_heard(far, matcher()) == "i am so very cold today"
    same = heard("chock the wheels", "the chock wheels", -40.0)
    assert words_heard(same, matcher()) == "chock the wheels"
    assert words_heard(heard(UNKNOWN, "drain the tanks", -9.0), matcher()) == "drain the tanks"


def test_every_way_to_say_a_step_is_listened_for() -> None:
    grammar = grammar_of(book(), says(), Ask.NEXT)
    assert grammar[-1] == UNKNOWN
    for phrase in book().phrases:
        assert matcher().mentions(phrase.text)
    assert "drain the tanks" in grammar
    assert "put the chock in" in grammar  # the model has no "chocks"
    assert "loose belt" in grammar_of(book(), says(), Ask.FAULT)
    assert "drain the tanks" not in grammar_of(book(), says(), Ask.LOOK)


@pytest.mark.model
@pytest.mark.voice
def test_spoken_answers_are_made_out_by_the_real_ear() -> None:
    """Synthetic speech without noise: it shows the path, not a person in a cab."""
    ear = FedEar(EarSetup.of(library(), decoding_folder(ensure_model())))
    voice = Pyttsx3Voice(voice="gmw/en-us", rate=150)
    grammar = grammar_of(book(), says(), Ask.NEXT)
    wanted = {
        "chock the wheels": "wheels-chocked",
        "drain the tanks": "tanks-drained",
        "leak test with the brakes applied": "leak-applied",
        "measure the pushrod stroke": "stroke-applied",
        "pump until the yellow knob pops out": "park-valve-closes",
        "tractor protection": "service-coupling-closed",
    }
    try:
        assert ear.unknown_words({w for p in grammar[:-1] for w in p.split()}) == ()
        for said, name in wanted.items():
            sound = SILENCE + voice.sound_of(said) + SILENCE * 2
            transcripts = ear.hear(question_of(Ask.NEXT), grammar, sound, 0)
            words = " ".join(words_heard(each, matcher()) for each in transcripts)
            found = matcher().mentions(words)
            assert found and found[-1].of[0] == name, (said, words)
    finally:
        ear.close()
