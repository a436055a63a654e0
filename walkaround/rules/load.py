"""Rule files in, rule book out. Refuses whatever it does not understand.

Three sorts of file, told apart by their first keys: an authority's rules
(`authority`), the names of places (`place_names`), and sizes that measuring needs
(`constants`, `chamber_volumes`; an authority's file may hold them too).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date

from walkaround.errors import RuleError
from walkaround.quantity import Kind, Quantity, quantity
from walkaround.rules.book import RuleBook
from walkaround.rules.limits import alternatives, misfit, read_limit
from walkaround.rules.model import (
    Authority,
    Citation,
    Constant,
    Document,
    HoldsFor,
    Limit,
    Rule,
    Standing,
)
from walkaround.rules.overlap import refuse_overlaps
from walkaround.sheet import Reader, Scalar, Table, read_sheet

_MOST_QUOTED = 20  # words
_PLACE = re.compile(r"[A-Z]{2}(-([A-Z0-9]{1,3}|\*))?")  # ISO 3166-1 alpha-2, 3166-2
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_RPM = re.compile(r"[0-9]*-[0-9]*")
_KINDS = ("truck", "tractor", "bus")
_SEVERITIES = ("minor", "major")
_STANDINGS = tuple(standing.value for standing in Standing)
_PROCEDURE: Mapping[str, tuple[str, ...]] = {
    "from": (),
    "to": (),
    "start": (),
    "engine": (),
    "engine_speed": (),
    "rpm": (),
    "hold_s": (),
    "settling": ("excluded", "included", "not said"),
    "gauge": ("higher", "lower"),
    "value": ("fall", "remaining"),
    "beyond": (),
    "brakes": (),
    "parking": (),
    "trailer": (),
    "pressure": (),
}
"""What a procedure may say -> the words allowed, where they are fixed."""


def load_rules(files: Mapping[str, bytes]) -> RuleBook:
    """Every rule of every file, by file name. Raises RuleError naming file, line and key."""
    authorities: list[Authority] = []
    names: dict[str, str] = {}
    constants: dict[str, Constant] = {}
    volumes: dict[str, Quantity] = {}
    for name in sorted(files):
        reader = Reader(read_sheet(files[name], name, RuleError), RuleError)
        if "place_names" in reader.table.items:
            names.update(_place_names(reader))
        documents = _documents(reader)
        constants.update(_constants(reader, documents))
        volumes.update(_sizes(reader, "chamber_volumes", Kind.VOLUME))
        if "authority" in reader.table.items:
            authorities.append(_authority(reader, documents))
        reader.done()
    _unique_across(authorities)
    return RuleBook(tuple(authorities), names, constants, volumes)


def _authority(reader: Reader, documents: Mapping[str, Document]) -> Authority:
    name = reader.text("authority")
    if not _ID.fullmatch(name):
        raise reader.fail(f"'{name}' must be lower-case words joined by hyphens", "authority")
    places = reader.texts("places")
    if not places:
        raise reader.fail("'places' is missing; list ISO 3166 codes such as CA-ON", "places")
    for place in places:
        if not _PLACE.fullmatch(place):
            raise reader.fail(
                f"'{place}' is not an ISO 3166 code such as US, US-NC or CA-ON", "places"
            )
    title = reader.text("name")
    rules: dict[str, Rule] = {}
    for table in reader.rows("rules"):
        for rule in _rules(table, name, documents):
            if rule.id in rules:
                raise Reader(table, RuleError).fail(
                    f"two rules are called '{rule.id}'; rename one", "id"
                )
            rules[rule.id] = rule
    refuse_overlaps(rules.values())
    by_measure: dict[str, tuple[Rule, ...]] = {}
    for rule in rules.values():
        by_measure[rule.measure] = (*by_measure.get(rule.measure, ()), rule)
    return Authority(
        name, title, places, tuple(documents.values()), tuple(rules.values()), by_measure
    )


def _documents(reader: Reader) -> dict[str, Document]:
    found: dict[str, Document] = {}
    for table in reader.rows("documents"):
        each = Reader(table, RuleError, "document")
        document = Document(
            id=each.text("id"),
            title=each.text("title"),
            edition=each.text("edition"),
            read=_date(each, "read"),
            standing=Standing(each.choice("standing", _STANDINGS)),
            source=each.text("source", ""),
        )
        each.done()
        if document.id in found:
            raise each.fail(f"two documents are called '{document.id}'; rename one", "id")
        found[document.id] = document
    return found


def _rules(table: Table, authority: str, documents: Mapping[str, Document]) -> list[Rule]:
    """One rule, or one for each chamber of a `by_chamber` table."""
    each = Reader(table, RuleError, "rule")
    name = each.text("id")
    if not _ID.fullmatch(name):
        raise each.fail(f"'{name}' must be lower-case words joined by hyphens", "id")
    each.about = f"rule '{name}'"
    limits = _limits(each, each.text("comparison"))
    first = Rule(
        id=f"{authority}.{name}",
        authority=authority,
        statement=each.text("statement"),
        measure=_measure(each),
        procedure=_procedure(each),
        holds_for=_holds_for(each),
        limit=limits[0][1],
        citation=_citation(each, documents),
        standing=Standing(each.choice("standing", _STANDINGS)),
        severity=each.choice("severity", _SEVERITIES) if "severity" in table.items else "",
        note=each.text("note", ""),
        one_way=each.text("one_way", ""),
        beside=_within(authority, each.text("beside", "")),
        replaces=each.texts("replaces"),
        file=table.file,
        line=table.line,
    )
    wrong = misfit(first.measure, first.limit)
    if wrong:
        raise each.fail(wrong, "by_chamber" if "by_chamber" in table.items else "limit")
    each.done()
    return [_for_chamber(first, chamber, limit) for chamber, limit in limits]


def _limits(each: Reader, worded: str) -> list[tuple[str, Limit]]:
    """(chamber, limit); the chamber is empty where the rule has one limit."""
    by_chamber = each.table_at("by_chamber")
    if by_chamber is None:
        text, fails = each.text("limit"), each.texts("fails")
        try:
            return [("", read_limit(worded, text, fails))]
        except ValueError as bad:
            key = "comparison" if "not a comparison" in str(bad) else "limit"
            raise each.fail(str(bad), key) from None
    found = []
    inner = Reader(by_chamber, RuleError, each.about)
    for chamber in by_chamber.items:
        try:
            found.append((chamber, read_limit(worded, inner.text(chamber))))
        except ValueError as bad:
            raise inner.fail(str(bad), chamber) from None
    if not found:
        raise each.fail("'by_chamber' is empty; list chambers and limits", "by_chamber")
    return found


def _for_chamber(rule: Rule, chamber: str, limit: Limit) -> Rule:
    if not chamber:
        return rule
    return replace(
        rule,
        id=f"{rule.id}-{chamber.replace(' ', '-')}",
        limit=limit,
        holds_for=replace(rule.holds_for, chamber=chamber),
    )


def _measure(each: Reader) -> str:
    measure = each.text("measure")
    if not _ID.fullmatch(measure):
        raise each.fail(f"'{measure}' must be lower-case words joined by hyphens", "measure")
    return measure


def _within(authority: str, rule: str) -> str:
    return f"{authority}.{rule}" if rule else ""


def _citation(each: Reader, documents: Mapping[str, Document]) -> Citation:
    document = each.text("document")
    if document not in documents:
        raise each.fail(
            f"'{document}' is not one of this file's documents; add it under 'documents'",
            "document",
        )
    quote = each.text("quote", "")
    if len(quote.split()) > _MOST_QUOTED:
        raise each.fail(f"the quotation is longer than {_MOST_QUOTED} words; shorten it", "quote")
    return Citation(documents[document], each.text("section"), quote)


def _procedure(each: Reader) -> Mapping[str, str]:
    table = each.table_at("procedure")
    if table is None:
        return {}
    inner = Reader(table, RuleError, each.about)
    said: dict[str, str] = {}
    for key in table.items:
        if key not in _PROCEDURE:
            raise inner.fail(
                f"'{key}' is not a key I know in a procedure; known are {', '.join(_PROCEDURE)}",
                key,
            )
        said[key] = (
            inner.choice(key, _PROCEDURE[key]) if _PROCEDURE[key] else inner.text(key).strip()
        )
    _judgeable(inner, said)
    return said


def _judgeable(inner: Reader, said: Mapping[str, str]) -> None:
    if not said.get("hold_s", "0").isdecimal():
        raise inner.fail("'hold_s' must be whole seconds", "hold_s")
    if not _RPM.fullmatch(said.get("rpm", "-")):
        raise inner.fail("'rpm' must be a range such as 600-900 or -1200", "rpm")
    for key in ("from", "to", "beyond"):
        if key in said and (said[key][:1].isdecimal() or key == "beyond"):
            try:
                alternatives(said[key])
            except ValueError as bad:
                raise inner.fail(str(bad), key) from None


def _holds_for(each: Reader) -> HoldsFor:
    table = each.table_at("holds_for")
    if table is None:
        return HoldsFor()
    inner = Reader(table, RuleError, each.about)
    units, units_from = _units(inner)
    kinds = inner.texts("kinds")
    for kind in kinds:
        if kind not in _KINDS:
            raise inner.fail(f"'{kind}' must be one of {', '.join(_KINDS)}", "kinds")
    has = table.items
    asks = HoldsFor(
        units=units,
        units_from=units_from,
        kinds=kinds,
        built_from=_date(inner, "built_from") if "built_from" in has else None,
        built_before=_date(inner, "built_before") if "built_before" in has else None,
        circuits=_whole(inner, "circuits") if "circuits" in has else None,
    )
    inner.done()
    return asks


def _units(inner: Reader) -> tuple[tuple[int, ...], int | None]:
    exact: list[int] = []
    at_least: int | None = None
    for text in inner.texts("units"):
        number = text.removesuffix("+")
        if not number.isdecimal() or int(number) == 0:
            raise inner.fail(f"'{text}' is not a number of units such as 2 or 3+", "units")
        if text.endswith("+"):
            at_least = int(number)
        else:
            exact.append(int(number))
    return tuple(exact), at_least


def _whole(inner: Reader, key: str) -> int:
    text = inner.text(key)
    if not text.isdecimal():
        raise inner.fail(f"'{key}: {text}' must be a whole number", key)
    return int(text)


def _date(each: Reader, key: str) -> date:
    text = each.text(key)
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise each.fail(f"'{key}: {text}' is not a date such as 1975-03-01", key) from None


def _place_names(reader: Reader) -> dict[str, str]:
    table = reader.table_at("place_names")
    if table is None:
        return {}
    inner = Reader(table, RuleError, "place_names")
    for code in table.items:
        if not _PLACE.fullmatch(code) or code.endswith("*"):
            raise inner.fail(f"'{code}' is not an ISO 3166 code such as US or CA-ON", code)
    return {code: inner.text(code) for code in table.items}


def _constants(reader: Reader, documents: Mapping[str, Document]) -> dict[str, Constant]:
    found: dict[str, Constant] = {}
    for table in reader.rows("constants"):
        each = Reader(table, RuleError, "constant")
        name = each.text("id")
        try:
            value = quantity(each.text("value"))
        except ValueError as bad:
            raise each.fail(str(bad), "value") from None
        standing = Standing(each.choice("standing", _STANDINGS))
        found[name] = Constant(name, value, _citation(each, documents), standing)
        each.done()
    return found


def _sizes(reader: Reader, key: str, kind: Kind) -> dict[str, Quantity]:
    table = reader.table_at(key)
    if table is None:
        return {}
    inner = Reader(table, RuleError, key)
    found: dict[str, Quantity] = {}
    for name, node in table.items.items():
        try:
            size = quantity(node.text if isinstance(node, Scalar) else "")
        except ValueError as bad:
            raise inner.fail(str(bad), name) from None
        if size.kind is not kind:
            raise inner.fail(f"'{size}' is not a {kind}", name)
        found[name] = size
    return found


def _unique_across(authorities: Iterable[Authority]) -> None:
    seen: dict[str, Authority] = {}
    rules: dict[str, Rule] = {}
    for authority in authorities:
        if authority.id in seen:
            raise RuleError(
                f"two files are by the authority '{authority.id}'; rename one",
                file=authority.rules[0].file if authority.rules else "",
                key="authority",
            )
        seen[authority.id] = authority
        rules.update((rule.id, rule) for rule in authority.rules)
    for rule in rules.values():
        for old in rule.replaces:
            if old not in rules and any(old.startswith(f"{each}.") for each in seen):
                raise RuleError(
                    f"rule '{rule.id}' replaces '{old}', which does not exist; correct the id",
                    file=rule.file,
                    line=rule.line,
                    key="replaces",
                )
