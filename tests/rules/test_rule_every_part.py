"""Every part of a rule file is read into its place, and what overlaps is what a vehicle can be.

Written against small changes of the code that no other test noticed (tests/mutation).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from walkaround.errors import RuleError
from walkaround.quantity import Unit, quantity
from walkaround.rules.limits import alternatives, read_limit
from walkaround.rules.load import load_rules
from walkaround.rules.model import (
    Comparison,
    HoldsFor,
    Limit,
    Rule,
    Standing,
    Vehicle,
    holds,
)
from walkaround.rules.overlap import refuse_overlaps
from walkaround.rules.speed import one_speed_serves

WHOLE = b"""
authority: xx
name: Somewhere
places: [CA-ON, US-*]
place_names:
  CA-ON: Ontario
  US: United States
chamber_volumes:
  clamp 16: 20 in3
  clamp 30: 0.5 L
documents:
  - id: book
    title: A Book
    edition: second, 2020
    read: 2026-11-24
    standing: published
    source: a library
  - id: talk
    title: A Talk
    edition: undated
    read: 2026-11-25
    standing: common practice
constants:
  - id: needle-step
    value: 0.5 psi
    document: talk
    section: the needle
    quote: half a pound
    standing: from memory
rules:
  - id: stroke
    statement: No longer than the table says.
    measure: stroke
    holds_for: {kinds: [truck, bus], built_from: 1990-01-01, built_before: 2001-02-03, circuits: 2}
    comparison: not more than
    by_chamber:
      clamp 16: 1.75 in / 44 mm
      clamp 30 long: 2.5 in
    document: book
    section: table 3
    standing: published
    severity: major
    note: adjusted strokes
  - id: leak
    statement: At most 3 in a minute.
    measure: loss-released
    procedure: {hold_s: 60, settling: excluded, rpm: 600-900, from: 85 psi / 587 kPa}
    holds_for: {units: [2, 4+]}
    comparison: not more than
    limit: 3 psi/min
    document: talk
    section: second part
    quote: three in a minute
    standing: from memory
    one_way: a shorter hold shows nothing
    replaces: [yy.leak]
  - id: leak-single
    statement: At most 2 in a minute.
    measure: loss-released
    holds_for: {units: [1]}
    comparison: less than
    limit: 2 psi/min
    document: book
    section: first part
    standing: published
    severity: minor
  - id: lamp
    statement: The lamp is on.
    measure: works-warning-lamp
    comparison: is
    limit: light, both
    fails: [none, buzzer]
    document: book
    section: lamps
    standing: published
"""


def test_every_part_is_in_its_place() -> None:
    book = load_rules({"xx.yaml": WHOLE})
    assert book.place_names == {"CA-ON": "Ontario", "US": "United States"}
    assert book.chamber_volumes == {"clamp 16": quantity("20 in3"), "clamp 30": quantity("0.5 L")}
    (authority,) = book.authorities
    assert (authority.id, authority.name) == ("xx", "Somewhere")
    assert authority.places == ("CA-ON", "US-*")
    first, second = authority.documents
    assert (first.id, first.title, first.edition) == ("book", "A Book", "second, 2020")
    assert (first.read, first.standing, first.source) == (
        date(2026, 11, 24), Standing.PUBLISHED, "a library",
    )  # fmt: skip
    assert (second.read, second.standing, second.source) == (
        date(2026, 11, 25), Standing.COMMON_PRACTICE, "",
    )  # fmt: skip
    constant = book.constants["needle-step"]
    assert (constant.id, constant.value) == ("needle-step", quantity("0.5 psi"))
    assert constant.citation.document is second
    assert (constant.citation.section, constant.citation.quote) == ("the needle", "half a pound")
    assert constant.standing is Standing.FROM_MEMORY
    assert {m: tuple(r.id for r in rules) for m, rules in authority.by_measure.items()} == {
        "stroke": ("xx.stroke-clamp-16", "xx.stroke-clamp-30-long"),
        "loss-released": ("xx.leak", "xx.leak-single"),
        "works-warning-lamp": ("xx.lamp",),
    }


def test_a_rule_for_each_chamber() -> None:
    short, long = load_rules({"xx.yaml": WHOLE}).authorities[0].by_measure["stroke"]
    assert (short.holds_for.chamber, long.holds_for.chamber) == ("clamp 16", "clamp 30 long")
    for rule, limit in ((short, "1.75 in / 44 mm"), (long, "2.5 in")):
        assert rule.limit == read_limit("not more than", limit)
        assert rule.holds_for.kinds == ("truck", "bus")
        assert rule.holds_for.built_from == date(1990, 1, 1)
        assert rule.holds_for.built_before == date(2001, 2, 3)
        assert rule.holds_for.circuits == 2
        assert (rule.holds_for.units, rule.holds_for.units_from) == ((), None)
        assert (rule.statement, rule.measure) == ("No longer than the table says.", "stroke")
        assert (rule.severity, rule.note) == ("major", "adjusted strokes")
        assert (rule.one_way, rule.beside, rule.replaces, rule.procedure) == ("", "", (), {})
        assert (rule.file, rule.authority, rule.standing) == ("xx.yaml", "xx", Standing.PUBLISHED)
        assert rule.citation.section == "table 3"


def test_a_rule_with_one_limit() -> None:
    rule = load_rules({"xx.yaml": WHOLE}).rule("xx.leak")
    assert rule.holds_for == HoldsFor(units=(2,), units_from=4)
    assert rule.procedure == {
        "hold_s": "60", "settling": "excluded", "rpm": "600-900", "from": "85 psi / 587 kPa",
    }  # fmt: skip
    assert (rule.one_way, rule.replaces) == ("a shorter hold shows nothing", ("yy.leak",))
    assert (rule.severity, rule.note, rule.beside) == ("", "", "")
    assert (rule.standing, rule.citation.quote) == (Standing.FROM_MEMORY, "three in a minute")
    lamp = load_rules({"xx.yaml": WHOLE}).rule("xx.lamp")
    assert lamp.limit == Limit(
        "is", Comparison.IS, words=("light", "both"), fails=("none", "buzzer")
    )
    assert lamp.holds_for == HoldsFor()


TWO_FILES = b"authority: yy\nname: Elsewhere\nplaces: [CA-QC]\nplace_names: {CA-QC: Quebec}\n"


def test_files_add_to_each_other() -> None:
    book = load_rules({"xx.yaml": WHOLE.replace(b"replaces: [yy.leak]", b"note: x"),
                       "yy.yaml": TWO_FILES})  # fmt: skip
    assert set(book.place_names) == {"CA-ON", "US", "CA-QC"}
    assert [authority.id for authority in book.authorities] == ["xx", "yy"]
    assert len(book.constants) == 1


BROKEN: tuple[tuple[bytes, bytes, str], ...] = (
    (b"  CA-ON: Ontario", b"  Ontario: Ontario",
     "xx.yaml, line 6: place_names: 'Ontario' is not an ISO 3166 code such as US or CA-ON"),
    (b"  US: United States", b"  US-*: United States",
     "'US-*' is not an ISO 3166 code such as US or CA-ON"),
    (b"20 in3", b"20 in", "'20 in' is not a volume"),
    (b"20 in3", b"[20]", "'' is not a number and a unit"),
    (b"value: 0.5 psi", b"value: half",
     "'half' is not a number and a unit such as '105 psi'"),
    (b"document: talk\n    section: the needle", b"document: song\n    section: the needle",
     "'song' is not one of this file's documents; add it under 'documents'"),
    (b"      clamp 16: 1.75 in / 44 mm\n      clamp 30 long: 2.5 in\n", b"      {}\n",
     "'by_chamber' is empty; list chambers and limits"),
    (b"clamp 30 long: 2.5 in", b"clamp 30 long: two", "'two' is not a number and a unit"),
    (b"circuits: 2", b"circuits: two", "'circuits: two' must be a whole number"),
    (b"built_before: 2001-02-03", b"built_before: 2001",
     "'built_before: 2001' is not a date such as 1975-03-01"),
    (b"limit: 2 psi/min", b"limit: 2 psi/min and 3 psi/min",
     "'less than' takes 1 limit, not '2 psi/min and 3 psi/min'"),
    (b"replaces: [yy.leak]", b"replaces: [xx.nothing]",
     "rule 'xx.leak' replaces 'xx.nothing', which does not exist; correct the id"),
    (b"units: [1]", b"units: [2]",
     "rule 'xx.leak-single' and rule 'xx.leak' judge 'loss-released' for the same vehicle; narrow "
     "'holds_for', or say 'beside' if both are to be shown"),
)  # fmt: skip


@pytest.mark.parametrize("number", range(len(BROKEN)))
def test_what_is_broken_is_said(number: int) -> None:
    old, new, said = BROKEN[number]
    assert WHOLE.count(old) == 1
    with pytest.raises(RuleError) as refused:
        load_rules({"xx.yaml": WHOLE.replace(old, new)})
    assert said in str(refused.value)
    assert refused.value.file == "xx.yaml"
    assert refused.value.line > 0
    assert refused.value.key


def test_two_rules_may_stand_beside_each_other() -> None:
    beside = WHOLE.replace(b"units: [1]", b"units: [2]")
    for rule, other in ((b"severity: minor", b"leak"), (b"one_way: a", b"leak-single")):
        marked = beside.replace(rule, b"beside: " + other + b"\n    " + rule)
        assert len(load_rules({"xx.yaml": marked}).rules) == 5


# ---------------------------------------------------------------- limits


LIMITS: tuple[tuple[str, str, str], ...] = (
    ("no more", "2 psi", "'no more' is not a comparison I know; known are about, above, approx"),
    ("not more than", "2 psi and 3 psi", "takes 1 limit, not '2 psi and 3 psi'"),
    ("between", "2 psi", "'between' takes 2 limits, not '2 psi'"),
    ("between", "2 psi and 3 in", "'2 psi and 3 in' mixes kinds of size; give one kind"),
    ("not more than", "2 psi / 3 in", "mixes kinds of size; give one kind"),
    ("at least", "the lesser of 2 psi and 3 in", "mixes kinds of size; give one kind"),
    ("at least", "50 % x hope", "'hope' is not a fact that a limit can be a share of; known are"),
    ("at least", "2 psi x cut-out", "multiplies two sizes; a share is a percentage of a fact"),
    ("is", "light,", "'light,' must be answers with a comma between them"),
)


@pytest.mark.parametrize(("worded", "text", "said"), LIMITS)
def test_a_limit_that_cannot_be_read(worded: str, text: str, said: str) -> None:
    with pytest.raises(ValueError) as refused:
        read_limit(worded, text)
    assert said in str(refused.value)


def test_words_that_fail() -> None:
    with pytest.raises(ValueError, match="'fails' belongs to a comparison in words"):
        read_limit("at least", "2 psi", ("no",))
    with pytest.raises(ValueError, match="'light' both meets the rule and fails it; keep one"):
        read_limit("is", "light", ("light",))
    assert read_limit("is", "yes").fails == ("no",)
    assert read_limit("is", "no, unsure").fails == ("yes",)
    assert read_limit("is", "yes", ("seldom",)).fails == ("seldom",)
    assert read_limit("is", "yes").worded == "is"


def test_about_takes_any_number_of_edges() -> None:
    for count in (1, 2, 3):
        limit = read_limit("about", " and ".join(["20 psi"] * count))
        assert (limit.worded, limit.comparison, len(limit.bounds)) == (
            "about", Comparison.ABOUT, count,
        )  # fmt: skip


def test_the_lesser_of_two_is_one_bound() -> None:
    (bound,) = read_limit("at least", "the lesser of 379 kPa / 55 psi and 50 % x cut-out").bounds
    assert [[str(amount) for amount in amounts] for amounts in bound.lesser] == [
        ["379 kPa", "55 psi"], ["50 % x cut-out"],
    ]  # fmt: skip
    assert [amount.printed.unit for amount in alternatives("379 kPa / 55 psi")] == [
        Unit.KPA, Unit.PSI,
    ]  # fmt: skip


# ---------------------------------------------------------------- overlaps, by brute force

DATES = (date(1990, 1, 1), date(2000, 1, 1), date(2010, 1, 1))
CHAMBERS = ("", "clamp 16", "clamp 30")

asks = st.builds(
    HoldsFor,
    units=st.lists(st.integers(1, 4), max_size=2, unique=True).map(tuple),
    units_from=st.none() | st.integers(1, 4),
    kinds=st.lists(st.sampled_from(["truck", "bus"]), max_size=2, unique=True).map(tuple),
    built_from=st.none() | st.sampled_from(DATES),
    built_before=st.none() | st.sampled_from(DATES),
    circuits=st.none() | st.sampled_from([1, 2]),
    chamber=st.sampled_from(CHAMBERS),
)


def _rule(name: str, holds_for: HoldsFor, **more: object) -> Rule:
    plain = load_rules({"xx.yaml": WHOLE}).rule("xx.leak-single")
    changed: dict[str, Any] = {"id": name, "measure": "stroke", "holds_for": holds_for, **more}
    return replace(plain, **changed)


def _vehicles() -> Iterator[Vehicle]:
    built = (date(1980, 1, 1), *DATES, date(2020, 1, 1))
    for kind, units, when, circuits in product(("truck", "bus"), range(1, 7), built, (1, 2)):
        yield Vehicle(kind, units, when, circuits)


def _possible(one: HoldsFor) -> bool:
    """A rule that no vehicle at all can meet is a mistake of another kind."""
    return not (one.built_from and one.built_before and one.built_from >= one.built_before)


@settings(max_examples=150, deadline=None)
@given(asks.filter(_possible), asks.filter(_possible))
def test_two_rules_overlap_when_some_vehicle_has_both(one: HoldsFor, two: HoldsFor) -> None:
    first, second = _rule("xx.one", one), _rule("xx.two", two)
    both = one.chamber == two.chamber and any(
        holds(first, vehicle) and holds(second, vehicle) for vehicle in _vehicles()
    )
    for pair in ((first, second), (second, first)):
        refused = False
        try:
            refuse_overlaps(pair)
        except RuleError:
            refused = True
        assert refused is both


def test_rules_beside_each_other_or_of_other_measures_never_overlap() -> None:
    one, two = _rule("xx.one", HoldsFor()), _rule("xx.two", HoldsFor(), beside="xx.one")
    refuse_overlaps((one, two))
    refuse_overlaps((two, one))
    refuse_overlaps((one, _rule("xx.three", HoldsFor(), measure="cut-in")))
    with pytest.raises(RuleError) as refused:
        refuse_overlaps((one, _rule("xx.two", HoldsFor(), beside="xx.three")))
    assert (refused.value.file, refused.value.key) == ("xx.yaml", "holds_for")
    assert refused.value.line == one.line


# ---------------------------------------------------------------- engine speeds


def _at_speed(speed: str, rpm: str = "", one_way: str = "") -> Rule:
    said = {"engine_speed": speed, **({"rpm": rpm} if rpm else {})} if speed else {}
    return _rule("xx.r", HoldsFor(), procedure=said, one_way=one_way)


@pytest.mark.parametrize(
    ("speeds", "serves"),
    [
        ([("fast idle", "600-900"), ("as marked", "900-1200")], True),
        ([("fast idle", "600-900"), ("as marked", "901-1200")], False),
        ([("fast idle", "600-900"), ("as marked", "-600")], True),
        ([("fast idle", "600-900"), ("as marked", "-599")], False),
        ([("fast idle", "600-"), ("as marked", "1200-")], True),
        ([("fast idle", "600-900"), ("operating speed", "")], False),
        ([("operating speed", ""), ("operating speed", "")], True),
        ([("operating speed", ""), ("governed speed", "")], False),
        ([("operating speed", ""), ("", "")], True),
        ([("a", "600-1000"), ("b", "700-800"), ("c", "750-900")], True),
        ([("a", "600-1000"), ("b", "700-800"), ("c", "850-900")], False),
        ([], True),
    ],
)
def test_one_climb_serves_several_rules(speeds: list[tuple[str, str]], serves: bool) -> None:
    rules = [_at_speed(*speed) for speed in speeds]
    assert one_speed_serves(rules) is serves
    assert one_speed_serves([*rules, _at_speed("another", "", "shows nothing")]) is serves
