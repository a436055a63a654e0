"""One utterance, one meaning, or the reason why not."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.speech.books import english, gauge, inches, thresholds
from walkaround.exchange import (
    AskKind,
    Because,
    Choice,
    Command,
    Count,
    Heard,
    Mark,
    Meaning,
    No,
    Number,
    Pair,
    Question,
    Said,
    Stake,
    Unclear,
    Yes,
)
from walkaround.quantity import Quantity, Unit
from walkaround.speech.cardinals import cardinal
from walkaround.speech.meanings import meant_by
from walkaround.speech.ports import Alternative, Transcript, Word
from walkaround.speech.understand import understand

YES_NO = Question("s.q", AskKind.YES_NO)
CAUTION = Question("s.q", AskKind.YES_NO, stake=Stake.CAUTION)
MARK = Question("s.q", AskKind.MARK)
CHOICE = Question("s.q", AskKind.CHOICE, options=("belt", "gear-driven"))
COUNT = Question("s.q", AskKind.COUNT, low=Decimal(0), high=Decimal(12))


def said(
    text: str,
    ratio: float | None = 3.0,
    rivals: tuple[tuple[str, float], ...] = (),
    confidence: float = 1.0,
    free: str = "whatever",
) -> Transcript:
    """What a recogniser hands over: best likelihood 100, `rivals` so much behind."""
    words = tuple(Word(w, 300 * n, 300 * n + 250, confidence) for n, w in enumerate(text.split()))
    alternatives = (Alternative(text, 100.0), *(Alternative(w, 100.0 - d) for w, d in rivals))
    return Transcript(
        question="s.q",
        words=words,
        alternatives=alternatives,
        free=None if ratio is None else Alternative(free, 100.0 - ratio),
        onset_ms=40,
        end_ms=900,
        arrived_ms=1300,
    )


def typed(text: str) -> Transcript:
    words = tuple(Word(w, 0, 0, 1.0) for w in text.split())
    return Transcript("s.q", words, (), None, 5, 5, 5, typed=True)


def heard(transcript: Transcript, question: Question) -> Heard:
    return understand(transcript, question, english(), thresholds())


def meaning(transcript: Transcript, question: Question) -> Meaning:
    return heard(transcript, question).meaning


def psi(value: str) -> Quantity:
    return Quantity(Decimal(value), Unit.PSI)


@pytest.mark.parametrize(
    ("text", "question", "expected"),
    [
        ("yes", YES_NO, Yes()),
        ("affirmative", CAUTION, Yes()),
        ("no", YES_NO, No()),
        ("negative", CAUTION, No()),
        ("mark", MARK, Mark()),
        ("one oh five", gauge(), Number(psi("105"))),
        ("primary one ten secondary ninety five", gauge(AskKind.PAIR), Pair(psi("110"), psi("95"))),
        ("ninety", gauge(AskKind.RISE), Number(psi("90"))),
        ("gear driven", CHOICE, Choice("gear-driven")),
        ("four", COUNT, Count(4)),
    ],
)
def test_answers(text: str, question: Question, expected: Meaning) -> None:
    assert meaning(said(text), question) == expected


@pytest.mark.parametrize("command", list(Command))
@pytest.mark.parametrize("question", [YES_NO, MARK, gauge(), CHOICE, COUNT])
def test_commands_are_understood_at_every_question(command: Command, question: Question) -> None:
    for phrase in english().commands[command]:
        assert meaning(said(phrase), question) == Said(command)
        assert meaning(typed(phrase), question) == Said(command)


def test_stop_is_heard_among_other_sounds_and_repeated() -> None:
    for text in ("stop stop", "[unk] stop", "stop [unk]", "stop stop stop"):
        assert meaning(said(text), gauge()) == Said(Command.STOP)
    assert meaning(said("[unk] one ten"), gauge()) == Unclear(Because.NOT_AN_ANSWER)


def test_stop_needs_no_free_pass_and_a_number_does() -> None:
    assert meaning(said("stop", ratio=None), gauge()) == Said(Command.STOP)
    assert meaning(said("one ten", ratio=None), gauge()) == Unclear(Because.NOT_AN_ANSWER)


def test_where_nothing_else_is_taken_stop_may_be_a_little_behind() -> None:
    behind = thresholds().stop_behind
    misheard = said("five", ratio=-7, rivals=(("thirty", 0.5), ("stop", behind)))
    assert meaning(misheard, gauge()) == Said(Command.STOP)
    unit = said("bar", rivals=(("stop", 0.7),), free="that")
    assert meaning(unit, gauge()) == Said(Command.STOP)
    too_far = said("five", ratio=-7, rivals=(("stop", behind + 0.1),))
    assert meaning(too_far, gauge()) == Unclear(Because.NOT_AN_ANSWER)


def late(words: str, by_ms: int, *rivals: tuple[str, float]) -> Transcript:
    """The voice set in so long before the first word."""
    heard = said(words, rivals=rivals, free=words)
    moved = tuple(replace(w, start_ms=w.start_ms + heard.onset_ms + by_ms) for w in heard.words)
    return replace(heard, words=moved)


def test_a_number_may_be_the_end_of_a_longer_one_whose_first_word_was_lost() -> None:
    assert meaning(late("six", 250, ("eight six", 3.0)), gauge()) == Unclear(
        Because.AMBIGUOUS, ("six P S I", "eighty six, eight six P S I")
    )
    unit_too = late("six", 250, ("k six", 2.0), ("eight six", 3.0))
    assert isinstance(meaning(unit_too, gauge()), Unclear)
    assert meaning(late("six", 50, ("eight six", 3.0)), gauge()) == Number(psi("6"))
    assert meaning(late("six", 250, ("eight six", 5.0)), gauge()) == Number(psi("6"))
    assert meaning(late("six", 250, ("sixty", 3.0)), gauge()) == Number(psi("6"))


def test_a_clear_answer_is_not_turned_into_stop() -> None:
    clear = said("one ten", rivals=(("stop", 3.0),), free="one ten")
    assert meaning(clear, gauge()) == Number(psi("110"))


def test_what_the_pass_without_a_grammar_likes_better_is_no_answer() -> None:
    # "follow" was heard as "four" with full confidence, and a ratio of -12 to -20
    assert meaning(said("four", ratio=-12, free="follow"), gauge()) == Unclear(
        Because.NOT_AN_ANSWER
    )


def test_where_both_passes_agree_the_ratio_is_not_asked_for() -> None:
    assert meaning(said("seven", ratio=-0.4, free="seven"), gauge()) == Number(psi("7"))
    assert meaning(said("seven", ratio=-0.4, free="heaven"), gauge()) == Unclear(
        Because.NOT_AN_ANSWER
    )


def test_a_close_rival_with_another_meaning_is_asked_about_in_separating_form() -> None:
    found = meaning(said("fifteen", rivals=(("fifty", 0.2),)), gauge())
    assert found == Unclear(
        Because.AMBIGUOUS, ("fifteen, one five P S I", "fifty, five zero P S I")
    )


def test_a_close_rival_with_the_same_meaning_is_no_rival() -> None:
    found = meaning(said("one oh five", rivals=(("one zero five", 0.1),)), gauge())
    assert found == Number(psi("105"))


def test_a_form_of_two_values_is_asked_about() -> None:
    found = meaning(said("ninety one hundred"), gauge(AskKind.PAIR))
    assert isinstance(found, Unclear) and found.because is Because.AMBIGUOUS
    assert set(found.rivals) == {
        "ninety, nine zero P S I and one hundred, one zero zero P S I",
        "ninety one, nine one P S I and one hundred, one zero zero P S I",
    }


def test_the_repair_form_is_the_number_it_was_asked_for() -> None:
    assert meaning(said("one five"), gauge()) == Number(psi("15"))
    assert meaning(said("five zero"), gauge()) == Number(psi("50"))


def test_two_digits_with_a_nought_perhaps_lost_between_them_are_asked_about() -> None:
    found = meaning(said("one five", rivals=(("one oh five", 1.0),)), gauge())
    assert isinstance(found, Unclear) and found.because is Because.AMBIGUOUS


def test_out_of_range_is_asked_again() -> None:
    found = meaning(said("two fifty"), gauge())
    assert isinstance(found, Unclear) and found.because is Because.OUT_OF_RANGE


def test_a_number_without_any_unit() -> None:
    assert meaning(said("one ten"), gauge(unit=None)) == Unclear(Because.NO_UNIT)


def test_low_confidence_is_asked_again() -> None:
    found = meaning(said("one ten", confidence=0.2), gauge())
    assert found == Unclear(Because.AMBIGUOUS)


def test_nothing_made_out_is_noise() -> None:
    for text, free in (("", ""), ("[unk]", "the"), ("p s i", "psi")):
        assert meaning(said(text, free=free), gauge()) == Unclear(Because.NOISE)
    assert meaning(said("[unk]", free="where did"), gauge()) == Unclear(Because.NOT_AN_ANSWER)


def test_over_a_prompt_only_commands_count() -> None:
    assert meaning(replace(said("stop"), over_prompt=True), gauge()) == Said(Command.STOP)
    assert meaning(replace(said("wait"), over_prompt=True), YES_NO) == Said(Command.WAIT)
    for text, question in (("one ten", gauge()), ("yes", CAUTION), ("mark", MARK)):
        assert meaning(replace(said(text), over_prompt=True), question) == Unclear(
            Because.OVER_PROMPT
        )


def test_an_answer_to_another_question_is_none() -> None:
    for text, question in (("yes", gauge()), ("mark", YES_NO), ("one ten", YES_NO)):
        assert meaning(said(text), question) == Unclear(Because.NOT_AN_ANSWER)


@pytest.mark.parametrize(
    ("text", "question", "expected"),
    [
        ("105", gauge(), Number(psi("105"))),
        ("105 psi", gauge(), Number(psi("105"))),
        ("105psi", gauge(), Number(psi("105"))),
        ("725 kPa", gauge(), Number(Quantity(Decimal(725), Unit.KPA))),
        ("one oh five", gauge(), Number(psi("105"))),
        ("1 3/4", inches(), Number(Quantity(Decimal("1.75"), Unit.INCH))),
        ('1 3/4"', inches(), Number(Quantity(Decimal("1.75"), Unit.INCH))),
        ("3/8 in", inches(), Number(Quantity(Decimal("0.375"), Unit.INCH))),
        ("45 mm", inches(), Number(Quantity(Decimal(45), Unit.MILLIMETRE))),
        ("110 105", gauge(AskKind.PAIR), Pair(psi("110"), psi("105"))),
        ("110/105", gauge(AskKind.PAIR), Pair(psi("110"), psi("105"))),
        ("primary 110, secondary 105", gauge(AskKind.PAIR), Pair(psi("110"), psi("105"))),
        ("secondary 105 primary 110", gauge(AskKind.PAIR), Pair(psi("110"), psi("105"))),
        ("110 and 105.5 psi", gauge(AskKind.PAIR), Pair(psi("110"), psi("105.5"))),
        ("y", YES_NO, Yes()),
        ("NO", YES_NO, No()),
        ("7", COUNT, Count(7)),
        ("gear-driven", CHOICE, Choice("gear-driven")),
        (
            "251",
            gauge(),
            Unclear(Because.OUT_OF_RANGE, ("two hundred and fifty one, two five one P S I",)),
        ),
        ("1.5", COUNT, Unclear(Because.NOT_AN_ANSWER)),
        ("105 furlongs", gauge(), Unclear(Because.NOT_AN_ANSWER)),
        ("1/0", inches(), Unclear(Because.NOT_AN_ANSWER)),
        ("", gauge(), Unclear(Because.NOT_AN_ANSWER)),
    ],
)
def test_typed_answers(text: str, question: Question, expected: Meaning) -> None:
    assert meaning(typed(text), question) == expected


@pytest.mark.parametrize(
    ("text", "inch"),
    [
        ("two 1/2", "2.5"),
        ("one 1/2", "1.5"),
        ("1 three quarters", "1.75"),
        ("1 and three quarters", "1.75"),
        ("1 and 3/4", "1.75"),
        ("one and 3/4", "1.75"),
        ("1 point five", "1.5"),
        ("one point 5", "1.5"),
        ("1 point 05", "1.05"),
        ("1-3/4", "1.75"),
        ("1½", "1.5"),
        ("1 ½", "1.5"),
        ("½", "0.5"),
        ("two and 3 eighths", None),
        ("2 one", None),
        ("2 one half three", None),
        ("-one", None),
        ("one?", None),
        ("one +", None),
        ("-1 point five", None),
        ("1,75", None),
        ("1.", None),
        ("4.4 cm", None),
        ("not 2", None),
        ("one 2", None),
        ("one 3/0", None),
    ],
)
def test_a_typed_answer_is_never_taken_in_part(text: str, inch: str | None) -> None:
    """Letters and digits together: all of it counts, or it is asked again."""
    expected = (
        Unclear(Because.NOT_AN_ANSWER)
        if inch is None
        else Number(Quantity(Decimal(inch), Unit.INCH))
    )
    assert meaning(typed(text), inches()) == expected


@pytest.mark.parametrize(
    "text",
    [
        "primary ninety 5 secondary ninety 8",
        "9 one hundred eight one hundred 7",
        "-one ten -one oh five",
        "12 one ten one oh five",
        "one hundred ten? one hundred five?",
        "not one ten one oh five",
        "110 -105",
        "~110 ~105",
        "110 no 115 105",
    ],
)
def test_a_typed_pair_is_never_taken_in_part(text: str) -> None:
    assert isinstance(meaning(typed(text), gauge(AskKind.PAIR)), Unclear)


def test_written_out_pairs_may_have_commas_and_hyphens() -> None:
    pair = Pair(psi("95"), psi("98"))
    for text in ("Ninety-five, ninety-eight.", "primary ninety five; secondary ninety eight"):
        assert meaning(typed(text), gauge(AskKind.PAIR)) == pair


@pytest.mark.parametrize("text", ["four four", "one five", "4 chocks", "4 5", "-4", "not four"])
def test_a_typed_count_is_one_number(text: str) -> None:
    assert meaning(typed(text), COUNT) == Unclear(Because.NOT_AN_ANSWER)
    assert meaning(typed("twelve"), COUNT) == Count(12)


def test_a_typed_yes_may_end_its_sentence_and_nothing_else_is_one() -> None:
    for text in ("yes!", "Yes.", "yes"):
        assert meaning(typed(text), YES_NO) == Yes()
    assert meaning(typed("no!"), YES_NO) == No()
    for text in ("no problem", "yes?", "yes no", "not yes", "!", "yes but one is open"):
        assert meaning(typed(text), YES_NO) == Unclear(Because.NOT_AN_ANSWER)


@given(st.text(max_size=30), st.sampled_from([YES_NO, MARK, CHOICE, COUNT, gauge(), inches()]))
def test_any_typed_text_gets_a_meaning(text: str, question: Question) -> None:
    assert meaning(typed(text), question) is not None


def test_a_count_has_no_parts() -> None:
    assert meaning(said("one point five"), COUNT) == Unclear(Because.NOT_AN_ANSWER)


def test_times_and_scores_are_passed_on() -> None:
    found = heard(said("fifteen", ratio=2.5, rivals=(("fifty", 4.0),)), gauge())
    assert (found.occurred_ms, found.ended_ms, found.arrived_ms) == (40, 900, 1300)
    assert found.score == "ratio=+2.5 confidence=1.00 margin=4.0"
    assert found.question == "s.q" and found.words == "fifteen"


def test_a_yes_to_a_caution_needs_more_than_a_no() -> None:
    table = thresholds().strictness
    assert table["yes-to-caution"].ratio > table["no"].ratio >= table["stop"].ratio
    assert table["stop"].needs_free is False


@given(st.integers(0, 150), st.integers(0, 150), st.floats(-20, 20), st.floats(0, 20))
def test_no_value_is_preferred_to_another(a: int, b: int, ratio: float, behind: float) -> None:
    """The decision turns on the scores alone, whatever the two values are."""
    if a == b:
        return
    one = meaning(said(cardinal(a), ratio=ratio, rivals=((cardinal(b), behind),)), gauge())
    other = meaning(said(cardinal(b), ratio=ratio, rivals=((cardinal(a), behind),)), gauge())
    assert isinstance(one, Unclear) == isinstance(other, Unclear)


@pytest.mark.parametrize("text", ["112", "primary 112", "95", "105 psi", "one hundred"])
def test_one_typed_number_is_never_split_into_two_gauges(text: str) -> None:
    found = meant_by(tuple(text.split()), gauge(AskKind.PAIR), english(), by_hand=True)
    assert found.meanings == ()
