"""Standing still, going on, coming to an end."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.engine.tea import TEA, Puppet, finished, prompt_ids
from walkaround.engine.state import Phase
from walkaround.exchange import (
    Command,
    MicrophoneBack,
    MicrophoneLost,
    No,
    NotDone,
    Say,
    SittingOpened,
    Wording,
)
from walkaround.procedure.model import Plan


@pytest.mark.parametrize("command", [Command.WAIT, Command.STOP])
def test_a_returning_microphone_lifts_no_pause_of_the_drivers(command: Command) -> None:
    puppet = Puppet().start().until("pour.caution").say(command)
    standing = puppet.state.phase
    puppet.send(MicrophoneLost("gone", 1, 1)).send(MicrophoneBack(2, 2))
    assert puppet.state.phase is standing
    assert puppet.say(Command.CONTINUE).asked() == "pour.caution"


def test_a_correction_to_a_bad_answer_withdraws_what_was_vouched_for() -> None:
    puppet = Puppet().start().until("pour.poured").yes()
    assert puppet.asked() == "cooling.calls"
    puppet.say(Command.WAIT).say(Command.CONTINUE)
    puppet = Puppet().start().until("boil.boiling").yes().say(Command.CORRECTION)
    # An act that was crossed out comes anew where it is needed, with its caution.
    assert puppet.asked() == "boil.caution"
    assert "phrase:withdrawn" in puppet.said
    assert puppet.until("pour.poured").state.conditions["kettle"] == "boiled"


def test_an_earlier_step_done_again_lets_the_open_one_look_at_its_needs_again() -> None:
    """What comes in front may change what the open step relied on."""
    puppet = Puppet().start().until("pour.caution").yes()
    assert puppet.asked() == "pour.poured"
    puppet.say(Command.REDO).until("pour.caution")
    assert puppet.state.queue[0].cautioned is False


def test_a_correction_asks_for_the_answer_and_gives_no_order() -> None:
    puppet = Puppet().start().until("look.clean").yes().say(Command.CORRECTION)
    said = [p for e in puppet.effects if isinstance(e, Say) for p in e.prompts]
    assert said[-1].wording is Wording.CUE


def test_a_walk_ended_unfinished_is_taken_up_again() -> None:
    puppet = Puppet().start().until("pour.caution").say(Command.STOP).say(Command.FINISH)
    puppet.send(SittingOpened(2, "", "", 0))
    assert puppet.state.phase is not Phase.DONE
    assert puppet.to_the_end().state.not_done == {}


def test_standing_still_makes_a_caution_count_no_longer() -> None:
    puppet = Puppet().start().until("pour.poured").say(Command.WAIT).say(Command.CONTINUE)
    assert puppet.asked() == "pour.caution"


def test_a_walk_that_was_not_signed_off_is_not_complete() -> None:
    puppet = Puppet().start().until("taste.good").say(Command.UNABLE)
    assert finished(puppet) == "stopped"
    assert "phrase:finish.stopped" in puppet.said


def _wary_of_dirt() -> Puppet:
    look = TEA.steps[0]
    wary = replace(look, asks=tuple(replace(asked, halt="pressure") for asked in look.asks))
    return Puppet(replace(TEA, steps=(wary, *TEA.steps[1:]))).start().until("look.clean")


def test_a_finding_that_may_hurt_somebody_stands_still_until_the_driver_decides() -> None:
    puppet = _wary_of_dirt().hear(No())
    assert puppet.state.phase is Phase.STOPPED
    assert "phrase:halted.pressure" in puppet.said
    assert puppet.state.given["look.clean"].answer == No()
    assert puppet.say(Command.CONTINUE).asked() == "boil.caution"
    assert _wary_of_dirt().yes().state.phase is not Phase.STOPPED


def test_a_walk_that_was_killed_at_a_halt_goes_on_with_the_finding_kept() -> None:
    puppet = _wary_of_dirt().hear(No()).send(SittingOpened(2, "", "", 0))
    assert puppet.state.given["look.clean"].answer == No()
    assert puppet.asked() == "boil.caution"


def test_what_a_finding_would_have_stopped_at_is_not_passed_over_in_silence() -> None:
    """A look that cannot be done stands still as a bad one does: the driver decides."""
    puppet = _wary_of_dirt().say(Command.UNABLE)
    assert puppet.state.phase is Phase.STOPPED
    assert puppet.said[-3:] == [
        "phrase:unable-taken",
        "phrase:unseen.pressure",
        "phrase:stopped-ask",
    ]
    assert puppet.state.not_done == {"look": "unable-taken"}
    assert puppet.say(Command.CONTINUE).asked() == "boil.caution"


def _gated() -> Puppet:
    """Nothing is tasted with findings before somebody decided."""
    last = replace(TEA.steps[-1], gate="findings")
    return Puppet(replace(TEA, steps=(*TEA.steps[:-1], last))).start()


def test_a_gate_stands_still_with_findings_and_opens_when_the_driver_decided() -> None:
    puppet = _gated().until("look.clean").hear(No()).until("commands")
    assert puppet.state.phase is Phase.STOPPED
    assert puppet.said[-2:] == ["phrase:halted.findings", "phrase:stopped-ask"]
    assert puppet.say(Command.CONTINUE).asked() == "taste.good"


def test_a_gate_is_open_where_nothing_was_found() -> None:
    puppet = _gated().until("taste.good")
    assert "phrase:halted.findings" not in puppet.said


def test_help_while_standing_still_says_what_may_be_said() -> None:
    puppet = Puppet().start().until("look.clean").say(Command.STOP).say(Command.HELP)
    assert prompt_ids(puppet.effects) == ["phrase:stopped-ask"]
    puppet = Puppet().start().until("look.clean").say(Command.WAIT).say(Command.HELP)
    assert prompt_ids(puppet.effects) == ["phrase:paused"]


def test_an_answer_that_was_crossed_out_and_not_given_again_does_not_come_back() -> None:
    puppet = Puppet().start().until("look.clean").yes().say(Command.CORRECTION)
    puppet.say(Command.UNABLE)
    assert puppet.state.given["look.clean"].answer == NotDone("unable-taken")
    assert "look" in puppet.state.done
    assert puppet.to_the_end().state.given["look.clean"].answer == NotDone("unable-taken")


def _vouching() -> Puppet:
    """What is left in the cup hangs on the pouring alone, not on the biscuit."""
    pour = TEA.steps[2]
    biscuit = replace(pour.asks[0], id="biscuit")
    told = replace(pour, asks=(replace(pour.asks[0], vouches=("cup",)), biscuit))
    return Puppet(replace(TEA, steps=(*TEA.steps[:2], told, *TEA.steps[3:]))).start()


def test_an_answer_vouches_for_what_it_names_alone() -> None:
    puppet = _vouching().until("pour.biscuit").hear(No())
    assert puppet.state.conditions["cup"] == "full"
    puppet = _vouching().until("pour.poured").hear(No()).until("pour.biscuit").yes()
    assert puppet.state.conditions["cup"] != "full"


def test_a_correction_in_the_midst_of_a_step_leaves_the_step_where_it_is() -> None:
    """It goes on as if it had been answered so at once: nothing is restored, nothing judged."""
    puppet = _vouching().until("pour.biscuit").say(Command.CORRECTION).hear(No())
    assert puppet.asked() == "pour.biscuit"


def test_an_answer_corrected_to_a_good_one_gives_back_what_hung_on_it() -> None:
    """A step that was left out for want of it is asked after all."""
    puppet = Puppet(_without_refill()).start().until("pour.poured").hear(No())
    assert puppet.state.not_done == {"cooling": "need-not-met"}
    puppet.say(Command.CORRECTION).yes()
    assert puppet.state.conditions["cup"] == "full"
    assert puppet.state.not_done == {}
    assert puppet.asked() == "cooling.calls"


def _without_refill() -> Plan:
    return replace(TEA, acts=tuple(act for act in TEA.acts if act.id != "refill"))


def test_what_only_a_step_can_show_is_shown_again_after_a_break() -> None:
    puppet = Puppet(_without_refill()).start().until("cooling.calls")
    puppet.send(SittingOpened(2, "", "", 0))
    assert "pour" not in puppet.state.done
    assert puppet.to_the_end().state.not_done == {}


def test_a_halt_can_be_corrected() -> None:
    puppet = _wary_of_dirt().hear(No()).say(Command.CORRECTION)
    assert puppet.asked() == "look.clean"
