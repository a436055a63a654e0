"""`walkaround rules`: every limit with where it comes from, by place, step measure or value."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from rich.console import Console
from rich.table import Table

from walkaround.cli.material import naming_whole_paths
from walkaround.cli.screen import show
from walkaround.devices.library import Library
from walkaround.errors import UsageError
from walkaround.rules.book import RuleBook
from walkaround.rules.load import load_rules
from walkaround.rules.model import Authority, Rule


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
        "--rule",
        metavar="ID",
        default="",
        help="one rule with its wording, by the id that stands in [brackets]",
    )


def run(arguments: argparse.Namespace) -> int:
    """Prints a list. Raises PlaceError with the nearest names, UsageError."""
    files = Library().read_all("rules")
    with naming_whole_paths({"rules": files}):
        book = load_rules({f"{name}.yaml": found.content for name, found in files.items()})
    if arguments.rule:
        _print_rule(Console(), _named(book, arguments.rule))
        return 0
    if arguments.measure:
        _known_measure(book, arguments.measure)
    if arguments.place:
        for place in arguments.place:
            _show_rules(book.place(place), book.at(place), arguments.measure)
    elif arguments.measure:
        for authority in book.authorities:
            _show_rules(authority.name, (authority,), arguments.measure)
    else:
        _print_places(Console(), book)
    return 0


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


def _show_rules(title: str, authorities: Sequence[Authority], measure: str) -> None:
    """Two lines a rule, which fit a narrow terminal and can be searched."""
    rules = [r for a in authorities for r in a.rules if not measure or r.measure == measure]
    if not rules:
        return
    show(f"{title}:")
    for rule in rules:
        held = _held_by(rule)
        held = "" if held == "all" else f", for {held}"
        show(f"  {rule.measure}: {rule.limit}{held}")
        show(f"      {rule.standing}: {rule.citation} [{rule.id}]")


def _held_by(rule: Rule) -> str:
    asks = rule.holds_for
    parts = [*asks.kinds]
    if asks.units:
        parts.append(f"{', '.join(str(n) for n in asks.units)} unit(s)")
    if asks.units_from:
        parts.append(f"{asks.units_from} or more units")
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
    }
    for name, value in rows.items():
        if value:
            console.print(f"  {name}: {value}")
