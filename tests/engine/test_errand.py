"""Out of the headset's reach: told what to look at, asked on the return, missed by nobody."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.engine.tea import TEA, Puppet
from walkaround.engine.state import Phase
from walkaround.exchange import Because as Why
from walkaround.exchange import (
    Command,
    MicrophoneBack,
    MicrophoneLost,
    SittingOpened,
    Stake,
    Unclear,
    Yes,
)

LOOK = TEA.steps[0]
MANY = replace(
    LOOK,
    where="shed",
    asks=tuple(replace(LOOK.asks[0], id=name) for name in ("one", "two", "three", "four")),
)
SHED = replace(TEA, steps=(MANY, *TEA.steps[1:]))


def sent_out() -> Puppet:
    puppet = Puppet(SHED)
    puppet.send(SittingOpened(1, "", "", 0, reach=("kitchen", "table")))
    return puppet


def test_at_most_three_things_are_told_and_asked_on_the_return() -> None:
    puppet = sent_out()
    assert puppet.state.phase is Phase.ERRAND
    told = [said for said in puppet.said if said.startswith("step:look.")]
    assert told[-3:] == ["step:look.one", "step:look.two", "step:look.three"]
    assert "step:look.four" not in told
    for ask in ("one", "two", "three"):
        puppet.say(Command.CONTINUE) if ask == "one" else None
        assert puppet.asked() == f"look.{ask}"
        puppet.yes()
    assert puppet.state.phase is Phase.ERRAND  # the fourth is another trip
    assert puppet.say(Command.CONTINUE).asked() == "look.four"
    assert puppet.yes().asked() == "boil.caution"


def test_a_microphone_out_of_reach_is_no_lost_one() -> None:
    puppet = sent_out()
    puppet.send(MicrophoneLost("out of reach", 1, 1))
    assert puppet.state.phase is Phase.ERRAND
    assert "phrase:microphone-lost" not in puppet.said
    puppet.send(MicrophoneBack(2, 2))
    assert puppet.state.phase is Phase.ERRAND
    assert puppet.say(Command.CONTINUE).asked() == "look.one"


@pytest.mark.parametrize("meaning", [Yes(), Unclear(Why.NOT_AN_ANSWER)])
def test_what_is_said_on_the_way_is_no_answer(meaning: Yes | Unclear) -> None:
    puppet = sent_out()
    puppet.hear(meaning)
    assert puppet.state.phase is Phase.ERRAND
    assert puppet.state.given == {}


def test_stop_counts_and_the_things_are_told_again() -> None:
    puppet = sent_out().say(Command.STOP)
    assert puppet.state.phase is Phase.STOPPED
    assert puppet.say(Command.CONTINUE).asked() == "commands"
    puppet.say(Command.UNABLE)
    assert puppet.state.not_done == {"look": "unable-taken"}


def test_a_new_sitting_tells_everything_anew_and_may_reach_farther() -> None:
    puppet = sent_out().say(Command.CONTINUE)
    puppet.send(SittingOpened(2, "", "", 0, reach=("kitchen",)))
    assert puppet.state.phase is Phase.ERRAND
    puppet.send(SittingOpened(3, "", "", 0))
    assert puppet.asked() == "look.one"


def test_what_is_timed_by_the_voice_is_asked_as_ever() -> None:
    puppet = Puppet(TEA).send(SittingOpened(1, "", "", 0, reach=("nowhere",)))
    while puppet.state.phase is not Phase.DONE and puppet.state.queue[0].step != "warmth":
        puppet.say(Command.CONTINUE) if puppet.state.phase is Phase.ERRAND else puppet.yes()
    assert puppet.asked() == "warmth.first"


def test_an_errand_ends_at_an_ask_that_the_next_rely_on() -> None:
    first = replace(MANY.asks[0], stake=Stake.CAUTION)
    gated = replace(MANY, asks=(first, *MANY.asks[1:]))
    puppet = Puppet(replace(SHED, steps=(gated, *SHED.steps[1:])))
    puppet.send(SittingOpened(1, "", "", 0, reach=("kitchen", "table")))
    assert puppet.said.count("step:look.one") == 1
    assert "step:look.two" not in puppet.said
    assert puppet.say(Command.CONTINUE).asked() == "look.one"
    puppet.yes()
    assert puppet.state.phase is Phase.ERRAND
