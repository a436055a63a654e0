"""`walkaround rules`: every limit with where it comes from, by place, step, measure or value."""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence
from decimal import Decimal

from rich.console import Console
from rich.table import Table

from walkaround.cli.material import naming_whole_paths, script_of
from walkaround.cli.screen import must_have_output, tell
from walkaround.devices.library import Library
from walkaround.errors import UsageError
from walkaround.exchange import Outcome
from walkaround.quantity import Kind, Quantity, Unit, kind_of
from walkaround.rules.book import RuleBook
from walkaround.rules.judge import judge_alone
from walkaround.rules.limits import KIND_OF
from walkaround.rules.load import load_rules
from walkaround.rules.model import Authority, Rule, Standing, Vehicle
from walkaround.rules.open import stays_open

_AMOUNT = re.compile(r"\s*(-?(?:[0-9]{1,9}(?:\.[0-9]{1,9})?|\.[0-9]{1,9}))\s*(\S+)\s*")
_UNITS = {unit.value.lower(): unit for unit in Unit}
_BUILD_UP, _STROKE, _STROKES = "build-up", "stroke", "strokes-beyond"


def add(parser: argparse.ArgumentParser) -> None:
    """The command's options."""
    parser.add_argument(
        "--place",
        action="append",
        metavar="CODE",
        default=[],
        help="ISO 3166 code such as CA-ON or US-NC; give it again to compare places",
    )
    parser.add_argument(
        "--measure",
        metavar="NAME",
        default="",
        help="only this measure, such as build-up; alone: in every place",
    )
    parser.add_argument(
        "--step",
        metavar="ID",
        default="",
        help="only what judges this step of the scripts, such as leak-applied",
    )
    parser.add_argument(
        "--value",
        metavar="VALUE",
        default=None,
        help="with --measure: what each rule says of it, such as '57 psi' or '2 psi/min'",
    )
    parser.add_argument(
        "--rule",
        metavar="ID",
        default="",
        help="one rule with its wording, by the id that stands in [brackets]",
    )


def run(arguments: argparse.Namespace) -> int:
    """Prints a list. Raises PlaceError with the nearest names, UsageError."""
    must_have_output()
    files = Library().read_all("rules")
    with naming_whole_paths({"rules": files}):
        book = load_rules({f"{name}.yaml": found.content for name, found in files.items()})
    if arguments.rule:
        _print_rule(Console(), _named(book, arguments.rule))
        return 0
    measures = _measures(book, arguments.measure, arguments.step)
    value = _value(arguments.value, arguments.measure)
    named = [book.place(place) and place.upper() for place in arguments.place]
    places = list(dict.fromkeys(named))  # one that is given twice is shown once
    if len(places) > 1:
        _compare(book, places, measures, value)
    elif places:
        _show_rules(book.place(places[0]), book.at(places[0]), measures, value)
    elif measures:
        for authority in book.authorities:
            _show_rules(authority.name, (authority,), measures, value)
    else:
        _print_places(Console(), book)
    return 0


def _measures(book: RuleBook, measure: str, step: str) -> tuple[str, ...]:
    """The measures asked for; none means all."""
    if measure:
        _known_measure(book, measure)
    if not step:
        return (measure,) if measure else ()
    judged = _judged_by_step()
    if step not in judged:
        raise UsageError(f"no step '{step}' is judged; there is: {', '.join(sorted(judged))}")
    return tuple(each for each in judged[step] if measure in ("", each))


def _judged_by_step() -> dict[str, tuple[str, ...]]:
    """Step -> what rules judge it by, over all the scripts."""
    library, found = Library(), dict[str, tuple[str, ...]]()
    kinds = {kind: library.read_all(kind) for kind in ("scripts", "steps", "acts")}
    with naming_whole_paths(kinds):
        for name in kinds["scripts"]:
            for place in script_of(kinds, name).order:
                named = (_as_judged(judge.measure) for judge in place.card.judges)
                found[place.name] = tuple(dict.fromkeys(each for row in named for each in row))
    return {step: measures for step, measures in found.items() if measures}


def _as_judged(measure: str) -> tuple[str, ...]:
    """Marks are judged as a build-up, and all strokes together too."""
    if measure.startswith(_BUILD_UP):
        return (_BUILD_UP,)
    return (measure, _STROKES) if measure == _STROKE else (measure,)


def _value(text: str | None, measure: str) -> Quantity | None:
    """A size that the measure can have: of its kind, and not below nothing. Raises UsageError."""
    if text is None:
        return None
    if not measure:
        raise UsageError("a value is of something: name it too, such as --measure warning-on")
    found, kind = _AMOUNT.fullmatch(text), KIND_OF.get(measure)
    unit = _UNITS.get(found[2].lower()) if found else None
    if found is None or unit is None:
        raise UsageError(
            f"'{text}' is not a number and a unit such as '105 psi'; give the unit with it, "
            "in quotation marks"
        )
    if kind is None:
        raise UsageError(f"'{measure}' is answered in words; leave --value out")
    if kind_of(unit) is not kind:
        raise UsageError(f"'{text}' is a {kind_of(unit)}, and '{measure}' is judged as a {kind}")
    if found[1].startswith("-") and kind is not Kind.TEMPERATURE:
        raise UsageError(f"'{text}' is below nothing, which no {kind} can be; leave the sign out")
    return Quantity(Decimal(found[1]), unit)


def _known_measure(book: RuleBook, measure: str) -> None:
    known = sorted({rule.measure for authority in book.authorities for rule in authority.rules})
    if measure not in known:
        raise UsageError(f"no rule has the measure '{measure}'; there is: {', '.join(known)}")


def _named(book: RuleBook, rule_id: str) -> Rule:
    try:
        return book.rule(rule_id)
    except KeyError:
        raise UsageError(f"no rule is called '{rule_id}'; 'rules --place' lists them") from None


def _print_places(console: Console, book: RuleBook) -> None:
    table = Table("code", "place", "rules", title="Places in the rule book")
    for code, name in book.place_names.items():
        count = sum(len(authority.rules) for authority in book.at(code))
        table.add_row(code, name, str(count))
    console.print(table)
    console.print("Show one with: rules --place CODE")


def _show_rules(
    title: str, authorities: Sequence[Authority], measures: Sequence[str], value: Quantity | None
) -> None:
    """Two lines a rule, which fit a narrow terminal and can be searched."""
    rules = [r for a in authorities for r in a.rules if not measures or r.measure in measures]
    if not rules:
        if measures:
            tell(f"{title}: no rule in the book for {', '.join(measures)}")
        return
    tell(f"{title}:")
    for rule in rules:
        _show_rule(rule, value)


def _show_rule(rule: Rule, value: Quantity | None) -> None:
    held = _held_by(rule)
    held = "" if held == "all" else f", for {held}"
    tell(f"  {rule.measure}: {rule.limit}{held}{_of_value(rule, value)}")
    tell(f"      {rule.standing}: {rule.citation} [{rule.id}]")
    why = stays_open(rule)
    if why:
        tell(f"      open: {why}")


def _of_value(rule: Rule, value: Quantity | None) -> str:
    """By the limit alone, as if the rule were for the vehicle at hand."""
    if value is None:
        return ""
    verdict = judge_alone(rule, value, Vehicle("", 1))
    said = {Outcome.MET: "is within it", Outcome.NOT_MET: "is outside it"}
    return f": {value} {said.get(verdict.outcome, 'is left open')}"


def _compare(
    book: RuleBook, places: Sequence[str], measures: Sequence[str], value: Quantity | None
) -> None:
    """Measure by measure, what each place says of it; a place without a rule is shown so."""
    for measure in measures or book.measures(places):
        tell(f"{measure}:")
        for place in places:
            rules = [rule for each in book.at(place) for rule in each.by_measure.get(measure, ())]
            gone = {old for rule in rules for old in rule.replaces}
            standing = [rule for rule in rules if rule.id not in gone]
            if not standing:
                tell(f"  {place}: no rule in the book")
            for rule in standing:
                tell(f"  {place}: {_briefly(rule)}{_of_value(rule, value)} [{rule.id}]")


def _briefly(rule: Rule) -> str:
    """The limit, for whom, how measured, and how it is known where it is not published."""
    parts = [str(rule.limit)]
    if "from" in rule.procedure:
        parts.append(f"{rule.procedure['from']} to {rule.procedure.get('to', '')}".strip())
    if "engine_speed" in rule.procedure:
        parts.append(rule.procedure["engine_speed"])
    if rule.procedure.get("settling") == "not said":
        parts.append("the first fall not mentioned")
    held = _held_by(rule)
    if held != "all":
        parts.append(f"for {held}")
    if rule.standing is not Standing.PUBLISHED:
        parts.append(str(rule.standing))
    return ", ".join(parts)


def _held_by(rule: Rule) -> str:
    asks = rule.holds_for
    parts = [*asks.kinds]
    if asks.units:
        parts.append(f"{', '.join(str(n) for n in asks.units)} unit(s)")
    if asks.units_from:
        parts.append(f"{asks.units_from} or more units")
    if asks.circuits is not None:
        parts.append(f"{asks.circuits} circuit(s)")
    if asks.built_from:
        parts.append(f"built from {asks.built_from}")
    if asks.built_before:
        parts.append(f"built before {asks.built_before}")
    if asks.chamber:
        parts.append(asks.chamber)
    return ", ".join(parts) or "all"


def _print_rule(console: Console, rule: Rule) -> None:
    console.print(f"[bold]{rule.id}[/bold]: {rule.statement}")
    rows = {
        "limit": str(rule.limit),
        "for": _held_by(rule),
        "measured": ", ".join(f"{key}: {value}" for key, value in rule.procedure.items()),
        "severity": rule.severity,
        "source": str(rule.citation),
        "quotation": rule.citation.quote,
        "read": f"{rule.citation.document.read}",
        "standing": str(rule.standing),
        "note": rule.note,
        "left open": stays_open(rule),
    }
    for name, value in rows.items():
        if value:
            console.print(f"  {name}: {value}")
