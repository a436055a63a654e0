"""After a verdict: what fails one place and passes another, how near, and what explain says."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.engine.tea import TEA, Puppet
from walkaround.engine.explaining import explained, source_said
from walkaround.engine.outside import verdict_prompts
from walkaround.exchange import Command, Outcome, Prompt, Say, Verdict, Wording

FAILS = Verdict("gb.r", "GB", "cooling", Outcome.NOT_MET, "9 °C", "at most 5 °C", "Tea Act", "p")
PASSES = replace(FAILS, rule="nz.r", place="NZ", outcome=Outcome.MET, limit="at most 10 °C")
OPEN = replace(FAILS, rule="us.r", place="US", outcome=Outcome.UNDETERMINED, why="no line")
NEAR = replace(PASSES, near=True, conformity="80.1 %", guard="conditional pass", repeats=3)


def _ids(prompts: tuple[Prompt, ...]) -> list[tuple[str, object]]:
    return [(p.id.removeprefix("phrase:verdict."), p.values.get("place")) for p in prompts]


def test_a_split_verdict_is_said_of_both_places() -> None:
    told = verdict_prompts((PASSES, FAILS, OPEN), Wording.SHORT)
    assert _ids(told) == [("not-met", "GB"), ("met", "NZ")]


def test_places_that_all_pass_are_not_named_one_by_one() -> None:
    told = verdict_prompts((PASSES, replace(PASSES, place="AU")), Wording.FULL)
    assert _ids(told) == [("all-met", None)]


def test_within_every_limit_is_not_said_where_one_stays_open() -> None:
    assert _ids(verdict_prompts((PASSES, OPEN), Wording.FULL)) == [("some-met", None)]


def test_a_place_that_fails_by_one_rule_is_not_said_to_pass_by_another() -> None:
    told = verdict_prompts((FAILS, replace(PASSES, place="GB")), Wording.SHORT)
    assert _ids(told) == [("not-met", "GB")]


@pytest.mark.parametrize(
    ("repeats", "phrase"), [(3, "near-repeat"), (4, "near-repeat"), (5, "near"), (0, "near")]
)
def test_repeats_are_offered_only_where_somebody_would_do_them(repeats: int, phrase: str) -> None:
    told = verdict_prompts((replace(NEAR, repeats=repeats),), Wording.SHORT)
    assert _ids(told) == [(phrase, None)]


def test_what_fails_is_explained_first_and_how_near_is_said() -> None:
    assert _ids(explained((OPEN, NEAR, FAILS))) == [
        ("explained", "GB"),
        ("explained", "NZ"),
        ("explained-near", None),
        ("explained-open", "US"),
    ]


def test_no_more_than_a_breath_of_it() -> None:
    many = tuple(replace(FAILS, place=place) for place in ("GB", "NZ", "US", "CA", "AU"))
    assert len(explained(many)) == 3


def test_what_no_rule_judged_is_not_explained() -> None:
    assert explained((replace(OPEN, rule=""),)) == ()


@pytest.mark.parametrize(
    ("citation", "said"),
    [
        ("49 CFR 570.57, (a)(4), as amended 1 April 1976 (41 FR 13924)", "49 CFR 570.57"),
        ("Tea Act (Great Britain, C-24.2, r. 32), s. 38(2), French text", "Tea Act"),
        ("trade practice, no source, kettles, undated", "trade practice"),
        ("", ""),
    ],
)
def test_only_a_documents_name_is_said_aloud(citation: str, said: str) -> None:
    assert source_said(citation) == said
    (told,) = verdict_prompts((replace(FAILS, citation=citation),), Wording.FULL)
    assert told.values["citation"] == said


def _said(puppet: Puppet) -> list[str]:
    return [p.id for e in puppet.effects if isinstance(e, Say) for p in e.prompts]


def test_explain_means_the_verdict_once_and_then_the_step() -> None:
    puppet = Puppet(TEA, judge=lambda _step: (FAILS,)).start().until("warmth.second").degrees(70)
    assert puppet.asked() == "pour.caution"
    puppet.say(Command.EXPLAIN)
    assert _said(puppet)[0] == "phrase:verdict.explained"
    assert puppet.asked() == "pour.caution"
    puppet.say(Command.EXPLAIN)
    assert _said(puppet)[0] == "step:pour.explain"


def test_after_another_answer_explain_means_the_step() -> None:
    puppet = Puppet(TEA, judge=lambda _step: (FAILS,)).start().until("warmth.second").degrees(70)
    puppet.yes().yes()
    assert puppet.asked() == "cooling.calls"
    puppet.say(Command.EXPLAIN)
    assert "phrase:verdict.explained" not in _said(puppet)
