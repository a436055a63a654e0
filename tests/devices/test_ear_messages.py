"""The pipe's messages: what goes in comes out; what is cut off is the end and not a crash."""

from __future__ import annotations

import io
import string
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from walkaround.devices.ear.messages import (
    question_from_json,
    question_to_json,
    read_message,
    transcript_from_json,
    transcript_to_json,
    write_message,
)
from walkaround.exchange import AskKind, Question, Stake
from walkaround.quantity import Kind, Unit
from walkaround.speech.ports import Alternative, Transcript, Word

_texts = st.text(string.ascii_letters + " é", max_size=20)


@settings(max_examples=50)
@given(st.lists(st.tuples(st.dictionaries(_texts, _texts), st.binary(max_size=50)), max_size=4))
def test_messages_come_out_as_they_went_in(sent: list[tuple[dict[str, str], bytes]]) -> None:
    pipe = io.BytesIO()
    for message, blob in sent:
        write_message(pipe, message, blob)
    pipe.seek(0)
    got = []
    while (one := read_message(pipe)) is not None:
        got.append(one)
    assert got == sent


def test_a_message_cut_anywhere_is_the_end() -> None:
    pipe = io.BytesIO()
    write_message(pipe, {"do": "hear"}, b"sound")
    whole = pipe.getvalue()
    assert [read_message(io.BytesIO(whole[:kept])) for kept in range(len(whole))] == [None] * len(
        whole
    )


def test_a_length_out_of_all_measure_is_the_end() -> None:
    assert read_message(io.BytesIO(b"\xff" * 100)) is None


@pytest.mark.parametrize(
    "question",
    [
        Question("a.b", AskKind.YES_NO),
        Question("a.b@axle-2-left", AskKind.CHOICE, options=("gear", "belt"), armed=True),
        Question(
            "a.c",
            AskKind.PAIR,
            Stake.READING,
            Kind.PRESSURE,
            Unit.KPA,
            Decimal("0.5"),
            Decimal("1200"),
        ),
    ],
)
def test_a_question_survives_the_pipe(question: Question) -> None:
    assert question_from_json(question_to_json(question)) == question


def test_a_transcript_survives_the_pipe_and_is_moved_in_time() -> None:
    heard = Transcript(
        "a.b",
        (Word("yes", 100, 400, 0.5),),
        (Alternative("yes", 101.25),),
        Alternative("guess", 99.5),
        100,
        400,
        620,
        over_prompt=True,
        free_others=(Alternative("guests", 97.0),),
        sound=bytes(range(256)),
        sound_from_ms=90,
    )
    again = transcript_from_json(transcript_to_json(heard))
    assert again == heard
    assert (again.sound, again.sound_from_ms) == (heard.sound, 90)
    moved = transcript_from_json(transcript_to_json(heard), 1000)
    assert (moved.onset_ms, moved.end_ms, moved.arrived_ms) == (1100, 1400, 1620)
    assert moved.sound_from_ms == 1090
    assert moved.words[0] == Word("yes", 1100, 1400, 0.5)
