"""What is said of a judged step: "within every limit" only where no answer was a bad one."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.engine.tea import TEA, Puppet
from walkaround.exchange import Meaning, No, Yes
from walkaround.procedure.model import JudgeSpec, Plan

ALL_MET = "phrase:verdict.all-met"


def _judged_look() -> Plan:
    """The tea with its first step judged by a rule that says nothing about the answer given."""
    look = replace(TEA.steps[0], judges=(JudgeSpec("seen", (("answer", "look.clean"),)),))
    return replace(TEA, steps=(look, *TEA.steps[1:]))


@pytest.mark.parametrize(("answer", "said"), [(Yes(), True), (No(), False)])
def test_within_every_limit_is_not_said_after_a_bad_answer(answer: Meaning, said: bool) -> None:
    puppet = Puppet(_judged_look()).start().until("look.clean").hear(answer)
    assert "look" in puppet.state.verdicts
    assert (ALL_MET in puppet.said) is said
