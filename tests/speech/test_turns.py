"""Where a turn begins and ends, by the question and by what was heard so far."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.speech.books import english, gauge, inches, thresholds
from walkaround.exchange import AskKind, Question
from walkaround.speech.completeness import Completeness, completeness
from walkaround.speech.turns import FRAME, Began, Edge, Ended, Framer, Paused, TurnTaker, Why

MS_PER_FRAME = FRAME / 16
YES_NO = Question("s.q", AskKind.YES_NO)


def taker(kind: AskKind = AskKind.NUMBER) -> TurnTaker:
    return TurnTaker(gauge(kind), thresholds().turns)


def run(turns: TurnTaker, probabilities: list[float]) -> list[Edge]:
    return [edge for p in probabilities for edge in turns.feed(p)]


@given(st.binary(max_size=20_000), st.data())
def test_blocks_of_any_size_give_the_same_frames(sound: bytes, data: st.DataObject) -> None:
    cuts = sorted(data.draw(st.lists(st.integers(0, len(sound)), max_size=12)))
    blocks = [sound[a:b] for a, b in zip([0, *cuts], [*cuts, len(sound)], strict=True)]
    framer = Framer()
    assert [f for block in blocks for f in framer.cut(block)] == Framer().cut(sound)
    assert all(len(f) == 2 * FRAME for f in Framer().cut(sound))


def test_a_turn_has_a_beginning_and_an_end_in_samples() -> None:
    edges = run(taker(), [0.0] * 10 + [0.9] * 20 + [0.0] * 60)
    began, ended = edges
    assert began == Began(10 * FRAME)
    assert isinstance(ended, Ended) and ended.why is Why.SILENCE
    assert (ended.begin, ended.end) == (10 * FRAME, 30 * FRAME)


@pytest.mark.parametrize(
    ("so_far", "wanted_ms"),
    [
        (Completeness.COMPLETE, thresholds().turns.complete_ms),
        (Completeness.COULD_GROW, thresholds().turns.could_grow_ms),
        (Completeness.NOTHING, thresholds().turns.nothing_ms),
    ],
)
def test_the_silence_wanted_depends_on_what_was_heard(so_far: Completeness, wanted_ms: int) -> None:
    turns = taker()
    run(turns, [0.9] * 20)
    turns.note(so_far)
    ended = run(turns, [0.0] * 60)[-1]
    assert isinstance(ended, Ended)
    waited_ms = (ended.decided - ended.end) / 16
    assert wanted_ms <= waited_ms < wanted_ms + MS_PER_FRAME


def test_a_pause_inside_an_answer_that_may_grow_does_not_end_it() -> None:
    turns = taker()
    pause = int(thresholds().turns.could_grow_ms / MS_PER_FRAME) - 1
    run(turns, [0.9] * 20)
    turns.note(Completeness.COULD_GROW)
    edges = run(turns, [0.0] * pause + [0.9] * 10)
    assert [type(edge) for edge in edges] == [Paused]


def test_a_tone_is_due_early_and_once_and_closes_nothing() -> None:
    turns = taker()
    run(turns, [0.9] * 20)
    turns.note(Completeness.COULD_GROW)
    quiet = [0.0] * (thresholds().turns.tone_ms // 32 + 3)
    (paused,) = run(turns, quiet)
    assert isinstance(paused, Paused)
    waited_ms = paused.decided / 16 - 20 * MS_PER_FRAME
    assert 0 <= waited_ms - thresholds().turns.tone_ms < MS_PER_FRAME
    assert turns.in_turn
    assert run(turns, [0.9] * 20 + quiet) == []
    (ended,) = run(turns, [0.0] * 60)
    assert isinstance(ended, Ended) and ended.begin == 0


def test_no_tone_for_what_is_no_answer_yet() -> None:
    edges = run(taker(), [0.9] * 20 + [0.0] * 60)
    assert [type(edge) for edge in edges] == [Began, Ended]


def test_a_click_is_no_voice() -> None:
    assert run(taker(), [0.0, 0.9, 0.0, 0.0, 0.0, 0.0] * 5) == []


def test_noise_that_never_stops_does_not_keep_a_turn_open() -> None:
    edges = run(taker(), [0.9] * 500)
    capped = [e for e in edges if isinstance(e, Ended)]
    assert capped and all(e.why is Why.CAP for e in capped)
    cap = thresholds().turns.cap_ms
    assert capped[0].decided / 16 <= cap + MS_PER_FRAME


def test_a_pair_may_take_longer() -> None:
    frames = int(thresholds().turns.cap_ms / MS_PER_FRAME) + 5
    assert not any(isinstance(e, Ended) for e in run(taker(AskKind.PAIR), [0.9] * frames))


def test_a_turn_open_at_the_end_of_the_sound_is_closed() -> None:
    turns = taker()
    run(turns, [0.9] * 20)
    (ended,) = turns.finish()
    assert isinstance(ended, Ended) and ended.end == 20 * FRAME
    assert turns.finish() == ()


def test_what_was_heard_before_does_not_shorten_the_next_turn() -> None:
    turns = taker()
    run(turns, [0.9] * 20)
    turns.note(Completeness.COMPLETE)
    run(turns, [0.0] * 60)
    assert turns.silence_wanted_ms == thresholds().turns.nothing_ms


@given(st.lists(st.floats(0, 1), max_size=300))
def test_edges_alternate_and_never_overlap(probabilities: list[float]) -> None:
    turns = taker()
    edges = [*run(turns, probabilities), *turns.finish()]
    assert [type(e) for e in edges] == [Began, Ended] * (len(edges) // 2)
    ends = [e for e in edges if isinstance(e, Ended)]
    for one, other in itertools.pairwise(ends):
        assert one.begin < one.end <= one.decided <= other.begin
    for began, ended in zip(edges[::2], ends, strict=True):
        assert isinstance(began, Began) and began.sample == ended.begin


def so_far(text: str, question: Question) -> Completeness:
    return completeness(text.split(), question, english())


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", Completeness.NOTHING),
        ("[unk]", Completeness.NOTHING),
        ("one", Completeness.COULD_GROW),
        ("one hundred", Completeness.COULD_GROW),
        ("one hundred and", Completeness.COULD_GROW),
        ("one hundred and five", Completeness.COMPLETE),
        ("one oh five", Completeness.COMPLETE),
        ("one ten", Completeness.COMPLETE),
        ("one twenty", Completeness.COULD_GROW),
        ("one twenty five", Completeness.COMPLETE),
        ("ninety", Completeness.COULD_GROW),
        ("fifteen", Completeness.COMPLETE),
        ("stop", Completeness.COMPLETE),
        ("stand", Completeness.COULD_GROW),
        ("stand by", Completeness.COMPLETE),
    ],
)
def test_completeness_of_a_number(text: str, expected: Completeness) -> None:
    assert so_far(text, gauge()) is expected


def test_completeness_depends_on_the_range() -> None:
    assert so_far("one ten", gauge(AskKind.PAIR)) is Completeness.COULD_GROW
    assert so_far("primary one ten secondary ninety five", gauge(AskKind.PAIR)) is (
        Completeness.COMPLETE
    )
    assert so_far("seven", gauge(high="9")) is Completeness.COMPLETE
    assert so_far("seven", gauge(high="90")) is Completeness.COULD_GROW
    assert so_far("two", inches()) is Completeness.COULD_GROW
    assert so_far("two and a", inches()) is Completeness.COULD_GROW
    assert so_far("two and three quarters", inches()) is Completeness.COMPLETE


def test_completeness_of_other_answers() -> None:
    assert so_far("yes", YES_NO) is Completeness.COMPLETE
    assert so_far("one", YES_NO) is Completeness.NOTHING
    assert so_far("mark", Question("s.q", AskKind.MARK)) is Completeness.COMPLETE
    assert so_far("once", YES_NO) is Completeness.COULD_GROW
