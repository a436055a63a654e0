"""Stories of the engine, told with tea."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from tests.engine.tea import TEA, Puppet, finished, kinds, prompt_ids, tones
from walkaround.engine.advance import advance
from walkaround.engine.state import Phase, State
from walkaround.errors import IllegalMoveError
from walkaround.exchange import (
    Because,
    Command,
    Held,
    Judge,
    Judged,
    Listen,
    MicrophoneBack,
    MicrophoneLost,
    No,
    Outcome,
    Rise,
    SamplesLost,
    SittingOpened,
    StayedQuiet,
    TimeReached,
    Unclear,
    Verdict,
    Wording,
)


def test_a_plain_walk_ends_complete() -> None:
    puppet = Puppet().start().to_the_end()
    assert finished(puppet) == "complete"
    assert puppet.state.done == ("look", "warmth", "pour", "cooling", "taste")
    assert puppet.state.not_done == {}


def test_the_missing_need_is_restored_with_its_own_caution_first() -> None:
    puppet = Puppet().start().yes()
    assert puppet.asked() == "boil.caution"
    puppet.yes()
    assert puppet.asked() == "boil.boiling"
    puppet.yes()
    assert puppet.asked() == "warmth.first"


def test_a_caution_refused_waits_and_a_later_yes_goes_on() -> None:
    puppet = Puppet().start().until("pour.caution").hear(No())
    assert puppet.asked() == "pour.caution"
    assert "phrase:not-yet" in puppet.said
    assert puppet.yes().asked() == "pour.poured"


def test_write_comes_before_say_and_say_before_listen() -> None:
    puppet = Puppet().start().yes()
    assert kinds(puppet.effects)[0] == "Write"
    puppet.yes()
    assert kinds(puppet.effects) == ["Write", "Say", "Listen"]


def test_a_number_is_read_back_inside_the_next_prompt() -> None:
    puppet = Puppet().start().until("warmth.second").degrees(88)
    judged_then = [e for e in puppet.effects if isinstance(e, Judge)]
    assert judged_then or "phrase:readback" in puppet.said


def test_a_hold_is_counted_from_the_reading_that_opened_it() -> None:
    puppet = Puppet().start().until("warmth.first").degrees(95, at=50_000)
    assert puppet.state.phase is Phase.HOLDING
    assert puppet.timers == {"hold:warmth.minute": 110_000}
    assert "hold begins" in tones(puppet.effects)
    assert prompt_ids(puppet.effects) == []  # silence inside a timed interval
    puppet.ring()
    assert puppet.state.given["warmth.minute"].answer == Held(50_000, 110_000)


def test_the_reading_after_a_hold_is_asked_before_anything_else_is_said() -> None:
    puppet = Puppet().start().until("warmth.first").degrees(95).ring()
    assert prompt_ids(puppet.effects) == ["step:warmth.second"]
    puppet.degrees(90)
    assert puppet.said.count("phrase:readback") == 2


def test_a_stale_timer_changes_nothing() -> None:
    puppet = Puppet().start().until("warmth.first").degrees(95)
    before = puppet.state
    puppet.send(TimeReached("hold:other", 5, 5))
    assert puppet.state == before


def test_lost_samples_in_a_hold_measure_it_again() -> None:
    puppet = Puppet().start().until("warmth.first").degrees(95)
    puppet.send(SamplesLost(40, puppet.now, puppet.now))
    assert "phrase:samples-lost" in puppet.said
    assert puppet.state.given.keys() == {"look.clean", "boil.boiling"}
    assert puppet.asked() == "boil.caution"  # the heat is no longer vouched for


def test_lost_samples_outside_a_timed_interval_change_nothing() -> None:
    puppet = Puppet().start()
    before = puppet.state
    assert puppet.send(SamplesLost(40, 1, 1)).state == before


def test_called_values_are_points_and_the_last_one_ends_the_rise() -> None:
    puppet = Puppet().start().until("cooling.calls")
    puppet.degrees(40, at=200_000)
    assert tones(puppet.effects) == ["taken"]
    assert prompt_ids(puppet.effects) == []
    puppet.hear(Unclear(Because.NOT_AN_ANSWER), at=210_000)
    puppet.degrees(60, at=220_000)
    rise = puppet.state.given["cooling.calls"].answer
    assert isinstance(rise, Rise)
    assert [point.at_ms for point in rise.points] == [200_000, 220_000]
    assert rise.candidates_ms == (210_000,)


def test_correction_asks_again_amends_and_is_judged_again() -> None:
    puppet = Puppet().start().until("warmth.second").degrees(70)
    assert puppet.state.phase is Phase.CAUTION
    puppet.say(Command.CORRECTION)
    assert puppet.asked() == "warmth.second"
    first_time = puppet.state.given["warmth.second"].occurred_ms
    puppet.degrees(78)
    given = puppet.state.given["warmth.second"]
    assert given.occurred_ms == first_time
    assert str(getattr(given.answer, "value", "")) == "78 °C"
    judged = [e for e in puppet.events if isinstance(e, Judged) and e.step == "warmth"]
    assert len(judged) == 2
    assert puppet.asked() == "pour.caution"


def test_correction_of_something_timed_measures_it_again() -> None:
    puppet = Puppet().start().until("cooling.calls").degrees(40).degrees(60)
    assert puppet.asked() == "taste.good"
    puppet.say(Command.CORRECTION)
    assert puppet.asked() == "cooling.calls"


def test_redo_goes_back_one_step_and_its_answers_go_stale() -> None:
    puppet = Puppet().start().until("taste.good")
    puppet.say(Command.REDO)
    assert puppet.asked() == "cooling.calls"
    assert "cooling.calls" not in puppet.state.given


def test_previous_tells_the_last_value_and_asks_on() -> None:
    puppet = Puppet().start().until("warmth.first")
    puppet.say(Command.PREVIOUS)
    assert "phrase:previous" in puppet.said
    assert puppet.asked() == "warmth.first"


def test_unable_is_written_and_the_walk_goes_on() -> None:
    puppet = Puppet().start().until("pour.caution").say(Command.UNABLE)
    assert puppet.state.not_done == {"pour": "unable-taken"}
    # the cup is not vouched for, but there is an act that fills it
    assert puppet.asked() == "refill.filled"


def test_a_need_that_nothing_restores_skips_the_step() -> None:
    puppet = Puppet().start().until("pour.caution").say(Command.UNABLE)
    puppet.say(Command.UNABLE)  # the refill as well
    assert puppet.state.not_done == {"pour": "unable-taken", "cooling": "need-not-met"}
    assert puppet.asked() == "taste.good"


def test_wait_then_continue_goes_on_where_it_was() -> None:
    puppet = Puppet().start().until("taste.good").say(Command.WAIT)
    assert puppet.state.phase is Phase.PAUSED
    puppet.say(Command.REPEAT)
    assert puppet.state.phase is Phase.PAUSED
    assert puppet.say(Command.CONTINUE).asked() == "taste.good"


def test_wait_inside_a_hold_breaks_it_off() -> None:
    puppet = Puppet().start().until("warmth.first").degrees(95).say(Command.WAIT)
    assert "CancelWake" in kinds(puppet.effects)
    assert "phrase:hold-broken" in puppet.said
    puppet.say(Command.CONTINUE)
    assert puppet.asked() == "boil.caution"


@pytest.mark.parametrize("question", ["boil.caution", "warmth.first", "cooling.calls"])
def test_stop_counts_everywhere_and_continue_repeats_the_caution(question: str) -> None:
    puppet = Puppet().start().until(question).say(Command.STOP)
    assert puppet.state.phase is Phase.STOPPED
    puppet.say(Command.CONTINUE)
    assert puppet.state.phase in (Phase.CAUTION, Phase.ASKING, Phase.CALLING)


def test_stop_then_finish_ends_the_walk_unfinished() -> None:
    puppet = Puppet().start().say(Command.STOP).say(Command.FINISH)
    assert finished(puppet) == "stopped"


def test_unclear_answers_escalate_and_then_wait_quietly() -> None:
    puppet = Puppet().start()
    puppet.hear(Unclear(Because.NOT_AN_ANSWER))
    assert prompt_ids(puppet.effects) == ["phrase:unclear.again"]
    puppet.hear(Unclear(Because.NOT_AN_ANSWER))
    assert prompt_ids(puppet.effects) == ["phrase:help.yes-no"]
    puppet.hear(Unclear(Because.NOT_AN_ANSWER))
    assert prompt_ids(puppet.effects) == ["phrase:waiting-quietly"]
    puppet.hear(Unclear(Because.NOT_AN_ANSWER))
    assert prompt_ids(puppet.effects) == []
    assert puppet.yes().asked() == "boil.caution"


def test_noise_does_not_count_towards_escalation() -> None:
    puppet = Puppet().start()
    for _ in range(10):
        puppet.hear(Unclear(Because.NOISE))
    assert puppet.state.misses == 0


def test_rivals_are_said_in_the_form_that_separates_them() -> None:
    puppet = Puppet().start().until("warmth.first")
    puppet.hear(Unclear(Because.AMBIGUOUS, ("fifteen, one five", "fifty, five zero")))
    assert prompt_ids(puppet.effects) == ["phrase:unclear.rivals"]


def test_silence_repeats_then_helps_then_waits() -> None:
    puppet = Puppet().start()
    said = []
    for _ in range(3):
        puppet.send(StayedQuiet("look.clean", 1, 1))
        said.append(prompt_ids(puppet.effects)[0])
    assert said == ["step:look.clean", "phrase:help.yes-no", "phrase:waiting-quietly"]
    assert [e.quiet_after_ms for e in puppet.effects if isinstance(e, Listen)] == [None]


def test_wording_changes_by_voice_and_cautions_stay() -> None:
    puppet = Puppet().start().say(Command.SHORTER).say(Command.SHORTER).say(Command.SHORTER)
    assert puppet.state.wording is Wording.CUE
    puppet.yes()
    assert "step:boil.caution" in prompt_ids(puppet.effects)
    assert puppet.say(Command.LONGER).state.wording is Wording.SHORT


def test_a_new_sitting_vouches_for_nothing() -> None:
    puppet = Puppet().start().until("pour.poured")
    puppet.send(SittingOpened(2, "2026-01-01T01:00:00Z", "boot", 5))
    assert set(puppet.state.conditions.values()) <= {"unknown"}
    assert "phrase:interrupted" in puppet.said
    assert puppet.asked() == "boil.caution"
    assert puppet.to_the_end().state.not_done == {}


def test_a_new_sitting_measures_a_broken_hold_again() -> None:
    puppet = Puppet().start().until("warmth.first").degrees(95)
    puppet.send(SittingOpened(2, "2026-01-01T01:00:00Z", "boot", 5))
    assert "warmth.first" not in puppet.state.given
    puppet.to_the_end()
    given = puppet.state.given
    assert given["warmth.first"].sitting == given["warmth.second"].sitting == 2


def test_a_lost_microphone_waits_and_greets_on_return() -> None:
    puppet = Puppet().start().until("warmth.first")
    puppet.send(MicrophoneLost("unplugged", 1, 1))
    assert puppet.state.phase is Phase.PAUSED
    puppet.send(MicrophoneBack(2, 2))
    assert "phrase:microphone-back" in puppet.said
    assert puppet.asked() == "warmth.first"


def test_a_failed_verdict_is_said_before_the_next_prompt() -> None:
    failed = Verdict("tea.hot", "GB", "cooling", Outcome.NOT_MET, "9 °C", "8 °C", "me", "published")
    puppet = Puppet(judge=lambda _: (failed,)).start().until("warmth.second").degrees(70)
    assert "phrase:verdict.not-met" in puppet.said
    assert puppet.said.index("phrase:verdict.not-met") < puppet.said.index("step:pour.caution")


def test_an_answer_to_a_closed_question_is_written_and_not_taken() -> None:
    puppet = Puppet().start()
    puppet.open = replace(puppet.open, id="elsewhere.ask") if puppet.open else None
    before = puppet.state
    assert puppet.yes().state == before


def test_an_impossible_event_raises_and_changes_nothing() -> None:
    with pytest.raises(IllegalMoveError, match="no move for"):
        advance(TEA, State(), MicrophoneBack(0, 0))


def test_a_reading_bands_its_state_variable() -> None:
    puppet = Puppet().start().until("warmth.second").degrees(70)
    assert puppet.state.conditions["heat"] == "cool"
    assert TEA.bands["heat"].below == ((Decimal(80), "cool"),)


def test_an_act_that_is_not_done_holds_the_walk_until_it_is() -> None:
    puppet = Puppet().start().until("boil.boiling").hear(No())
    assert puppet.asked() == "boil.boiling"
    assert puppet.state.conditions["kettle"] == "cold"
    assert puppet.yes().state.conditions["kettle"] == "boiled"


def test_what_a_step_leaves_is_not_vouched_for_after_a_bad_answer() -> None:
    puppet = Puppet().start().until("pour.poured").hear(No())
    assert puppet.state.conditions["cup"] == "unknown"
    assert puppet.asked() == "refill.filled"
