"""How near a value is: JCGM 106:2012 and ILAC-G8:09/2019 by their published numbers.

The ball-bearing example of JCGM 106, clause 9.5.4 (as worked with these numbers in the
public notebook "Risk - Ball Bearing" of sandialabs/suncal): a process of gamma shape 4 and
rate 4, an upper limit of 2 µm and u = 0.25 µm give P(nonconforming) 0.04238, a global
consumer's risk of 0.008019 when readings up to the limit are accepted, and for a risk of
0.1 % an acceptance limit of 1.67183 µm, a guard band of 0.32817 µm.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize, stats

from tests.rules.book_of_rules import the_book
from walkaround.air.measured import Measured
from walkaround.exchange import Outcome
from walkaround.quantity import quantity
from walkaround.rules.judge import judge
from walkaround.rules.model import Comparison, Vehicle
from walkaround.rules.nearness import Statement, conformity, in_words, nearness, normal, repeats

PROCESS = stats.gamma(4, scale=1 / 4)
LIMIT, DEVIATION = 2.0, 0.25
UP, DOWN, BETWEEN = Comparison.AT_MOST, Comparison.AT_LEAST, Comparison.BETWEEN
TRUCK = Vehicle("truck", 1, date(2016, 5, 31), 2)


def _consumers_risk(acceptance: float) -> float:
    """The chance that a bearing is over the limit and its reading is accepted: our chance that
    a value conforms, the other way round, over everything the process makes beyond the limit."""

    def density(true: float) -> float:
        return float(PROCESS.pdf(true)) * conformity(UP, true, [acceptance], DEVIATION)

    return float(integrate.quad(density, LIMIT, 10, epsabs=1e-12)[0])


def test_the_ball_bearing_of_jcgm_106() -> None:
    assert PROCESS.sf(LIMIT) == pytest.approx(0.04238, abs=5e-6)
    assert _consumers_risk(LIMIT) == pytest.approx(0.008019, abs=5e-7)
    acceptance = optimize.brentq(lambda limit: _consumers_risk(limit) - 0.001, 1, 2, xtol=1e-9)
    assert acceptance == pytest.approx(1.67183, abs=5e-6)
    assert LIMIT - acceptance == pytest.approx(0.32817, abs=5e-6)


@pytest.mark.parametrize(
    ("chance", "deviations"),
    [(0.80, "0.84"), (0.90, "1.28"), (0.95, "1.64"), (0.99, "2.33"), (0.999, "3.09")],
)
def test_one_sided_chances_of_the_guides_table(chance: float, deviations: str) -> None:
    """JCGM 106, table 1, from memory; they are the quantiles of the standard normal."""
    z = float(stats.norm.ppf(chance))
    assert f"{z:.2f}" == deviations
    assert conformity(UP, 10 - z, [10], 1) == pytest.approx(chance)
    assert conformity(DOWN, 10 + z, [10], 1) == pytest.approx(chance)


@pytest.mark.parametrize(
    ("r", "false_accept"), [(0.83, 0.0485), (1, 0.0228), (1.5, 0.00135), (3, 9.9e-10)]
)
def test_guard_bands_in_use(r: float, false_accept: float) -> None:
    """w = r U with U = 2 u: under 5 % (ISO 14253-1), 2.5 % (ILAC-G8), 0.16 %, 1 ppm, as a
    metrology trainer quotes the table of ILAC-G8:09/2019."""
    at_the_acceptance_limit = 1 - conformity(UP, 10 - 2 * r, [10], 1)
    assert at_the_acceptance_limit == pytest.approx(false_accept, rel=0.01)


@pytest.mark.parametrize("z", [-9.0, -3.0, -0.5, 0.0, 1.0, 6.0])
def test_the_normal_distribution_agrees_with_scipy(z: float) -> None:
    assert normal(z) == pytest.approx(float(stats.norm.cdf(z)), rel=1e-12)


@pytest.mark.parametrize("value", [4.0, 5.0, 6.0, 7.9, 8.0, 11.0, 12.0])
def test_between_two_edges(value: float) -> None:
    expected = stats.norm.cdf(8, value, 1.5) - stats.norm.cdf(5, value, 1.5)
    assert conformity(BETWEEN, value, [5, 8], 1.5) == pytest.approx(float(expected), rel=1e-9)


@pytest.mark.parametrize(
    ("value", "statement"),
    [
        ("117.9 s", Statement.PASS),
        ("118 s", Statement.CONDITIONAL_PASS),
        ("120 s", Statement.CONDITIONAL_PASS),
        ("120.1 s", Statement.CONDITIONAL_FAIL),
        ("122 s", Statement.CONDITIONAL_FAIL),
        ("122.1 s", Statement.FAIL),
    ],
)
def test_the_four_way_statement(value: str, statement: Statement) -> None:
    """ILAC-G8:09/2019 4.2.3, w = U = 2 s at 120 s; its closed intervals put a value at the edge
    into both middle classes, and the rule as worded ("equal to or less than") chooses."""
    rule = the_book().rule("ca-on.build-up")
    verdict = judge(rule, Measured(quantity(value), quantity("2 s")), TRUCK)
    passes = statement in (Statement.PASS, Statement.CONDITIONAL_PASS)
    assert (verdict.outcome is Outcome.MET) is passes
    assert verdict.guard == (statement.value if "conditional" in statement else "")


def test_at_the_edge_a_strict_rule_chooses_the_other_class() -> None:
    """C-24.2, r. 32, s. 38(1): less than 3 minutes."""
    rule = the_book().rule("ca-qc.build-up")
    verdict = judge(rule, Measured(quantity("180 s"), quantity("2 s")), TRUCK)
    assert (verdict.outcome, verdict.guard) == (Outcome.NOT_MET, "conditional fail")
    assert (verdict.conformity, verdict.repeats) == ("50.0 %", 0)


@pytest.mark.parametrize(
    ("distance", "guard", "shared", "wanted"),
    [
        ("1", "1", "0", 2),  # just inside: two bring the band to 0.71
        ("0.5", "1", "0", 5),  # four would bring it to the distance itself, which is inside
        ("0.6", "1", "0", 3),
        ("0.1", "1", "0", 101),
        ("0", "1", "0", 0),
        ("0.5", "1", "0.5", 0),
        ("0.5", "1", "0.3", 6),
    ],
)
def test_how_many_measurements_would_settle_it(
    distance: str, guard: str, shared: str, wanted: int
) -> None:
    assert repeats(Fraction(distance), Fraction(guard), Fraction(shared)) == wanted


@settings(max_examples=200, deadline=None)
@given(
    away=st.fractions(0, 3, max_denominator=1000),
    guard=st.fractions("1/100", 2, max_denominator=1000),
    part=st.fractions(0, 1, max_denominator=10),
)
def test_nearness_is_the_same_on_both_sides(
    away: Fraction, guard: Fraction, part: Fraction
) -> None:
    edge, shared = Fraction(50), guard * part
    inside = nearness(UP, edge - away, [edge], guard, met=True, shared=shared)
    outside = nearness(UP, edge + away, [edge], guard, met=False, shared=shared)
    assert inside.near is outside.near
    assert inside.repeats == outside.repeats
    assert inside.probability + outside.probability == pytest.approx(1)


@settings(max_examples=200, deadline=None)
@given(
    distance=st.fractions("1/1000", 1, max_denominator=1000),
    part=st.fractions(0, 1, max_denominator=10),
)
def test_so_many_settle_it_and_one_fewer_does_not(distance: Fraction, part: Fraction) -> None:
    guard, shared = Fraction(1), part
    count = repeats(distance, guard, shared)
    if count == 0:
        assert distance <= shared
        return

    def band_squared(n: int) -> Fraction:
        return shared**2 + (guard**2 - shared**2) / n

    assert distance**2 > band_squared(count)
    assert count == 1 or distance**2 <= band_squared(count - 1)


def test_no_chance_is_called_certain() -> None:
    assert [in_words(p) for p in (0, 0.0004, 0.0006, 0.5, 0.9994, 1)] == [
        "under 0.1 %",
        "under 0.1 %",
        "0.1 %",
        "50.0 %",
        "99.9 %",
        "over 99.9 %",
    ]


def test_a_text_read_two_ways_is_as_near_as_its_nearer_reading() -> None:
    """49 CFR 570.57(a)(6) does not say whether the first fall counts: 1 psi without it and 2.5 psi
    with it both pass, and the second lies within the guard band of 1 psi of the limit, 3 psi."""
    rule = the_book().rule("us-federal.loss-applied-single")
    read = Measured(quantity("1 psi/min"), quantity("1 psi/min"), other=quantity("2.5 psi/min"))
    verdict = judge(rule, read, TRUCK)
    assert (verdict.outcome, verdict.near, verdict.guard) == (Outcome.MET, True, "conditional pass")
    assert verdict.conformity == "84.1 %"  # the normal distribution, one deviation of 0.5 psi
    alone = judge(rule, replace(read, other=None), TRUCK)
    assert (alone.outcome, alone.near) == (Outcome.MET, False)
