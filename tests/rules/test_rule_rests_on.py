"""A part that may be cut off passes every test unseen: what rests on air at the last unit."""

from __future__ import annotations

import pytest

from tests.rules.book_of_rules import the_book
from walkaround.exchange import Answer, Given, Held, No, NotDone, Number, Outcome, Wanted, Yes
from walkaround.procedure.judging import judge_all
from walkaround.procedure.measuring import gauge_facts
from walkaround.quantity import quantity
from walkaround.rules.model import Vehicle

DOUBLES = Vehicle("tractor", 3, None, 2)


def _lost(psi: int, shown: Answer | None) -> tuple[Outcome, str]:
    answers: tuple[tuple[str, Answer], ...] = (
        ("before", Number(quantity("120 psi"))),
        ("start", Number(quantity("120 psi"))),
        ("hold", Held(0, 60_000)),
        ("end", Number(quantity(f"{120 - psi} psi"))),
    )
    inputs = tuple((name, Given(f"s.{name}", answer, 1, 0)) for name, answer in answers)
    rests_on = (Given("rear.blows", shown, 1, 0) if shown else None,)
    book = the_book()
    found = judge_all(
        [Wanted("loss-applied", inputs, rests_on)], book, ["US"], DOUBLES, gauge_facts(book)
    )
    judged = [verdict for verdict in found if verdict.rule]
    assert judged
    return judged[0].outcome, judged[0].why


def test_a_small_loss_is_met_where_the_last_unit_was_shown_to_have_air() -> None:
    assert _lost(2, Yes())[0] is Outcome.MET


@pytest.mark.parametrize("shown", [No(), NotDone("unable"), None])
def test_it_stays_open_where_that_was_not_shown(shown: Answer | None) -> None:
    outcome, why = _lost(2, shown)
    assert outcome is Outcome.UNDETERMINED
    assert "a pass shows nothing" in why


@pytest.mark.parametrize("shown", [Yes(), No(), None])
def test_too_large_a_loss_is_one_whatever_was_joined(shown: Answer | None) -> None:
    assert _lost(30, shown)[0] is Outcome.NOT_MET
