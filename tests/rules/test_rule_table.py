"""`scripts/rules/README.md` is made from the rule book; run this file to write it anew."""

from __future__ import annotations

from tests.procedure.shipped import SCRIPTS, script
from tests.rules.book_of_rules import RULES, the_book
from walkaround.air.measures import MEASURES, YES_MEANS
from walkaround.rules.model import Rule

PAGE = RULES / "README.md"
_HEAD = """# What is judged where

Each file here is one authority: the places it applies to, the documents that were read, and
the rules taken from them. A rule says what it measures and how, for which vehicle, where the
limit lies in the unit printed and in the words of the text, and how it is known: *published*
(the text was read), *common practice* (no source) or *from memory* (believed to be printed).
Nothing here is the law itself. Where a rule and the local authority, the carrier, the maker or
a licensed mechanic differ, follow them.

To correct a rule, edit its file; `python -m tests.rules.test_rule_table` writes this page anew.

Keys of a rule: `id`, `statement`, `measure`, `procedure`, `holds_for` (`units`, `kinds`,
`built_from`, `built_before`, `circuits`), `comparison`, `limit` or `by_chamber`, `fails`,
`severity`, `document`, `section`, `quote`, `standing`, `note`, `one_way` (why missing the limit
shows nothing here), `beside` (a rule of the same authority that it knowingly overlaps),
`replaces` (rules of another authority). `a / b` is one limit printed in two units: a gauge in psi
is judged by the one, a gauge in kPa or bar by the other, and neither is made out of the other.

A `procedure` says how the text measures. `from` and `to` (marks of a gauge; or `empty`, where the
warning stops, and a share of what the vehicle's profile tells), `hold_s`, `settling` (whether the
first fall counts; `not said` is judged both ways), `gauge`, `value` and `beyond` decide how a
measure is formed; `rpm` which climb of a trip it judges; the rest is for whoever measures.

Beside each verdict stands how near it was: the chance that the true value conforms (JCGM 106), the
guard band (ILAC-G8) and how many measurements, averaged, would settle it. None of it changes the
verdict.

A hole is an authority of which no text read so far judges that measure, or a measure that no
step of the scripts asks for; the program says so.
"""
_MARK = {"published": "", "common practice": " (practice)", "from memory": " (memory)"}
_AS_OTHERS = {"build-up-marks"}


def _cell(rules: list[Rule]) -> str:
    if any(rule.holds_for.chamber for rule in rules):
        mark = _MARK[rules[0].standing.value]
        return f"{len(rules)} chambers{mark}"
    parts = [f"{rule.limit}{_MARK[rule.standing.value]}" for rule in rules]
    return "; ".join(dict.fromkeys(parts))


def _steps() -> dict[str, list[str]]:
    """Measure -> the steps of any script that are judged by it."""
    found: dict[str, dict[str, None]] = {}
    for path in sorted(SCRIPTS.glob("*.yaml")):
        for place in script(path.stem).order:
            for judge in place.card.judges:
                for measure in _named(judge.measure):
                    found.setdefault(measure, {})[f"`{place.name}`"] = None
    return {measure: list(steps) for measure, steps in found.items()}


def _named(measure: str) -> tuple[str, ...]:
    """Marks are judged as a build-up, and every stroke as one of all."""
    if measure.startswith("build-up"):
        return ("build-up",)
    return ("stroke", "strokes-beyond") if measure == "stroke" else (measure,)


def page() -> str:
    """The whole page, from the book."""
    book, asked = the_book(), _steps()
    measures = [*MEASURES, *YES_MEANS]
    lines = [_HEAD]
    for measure in measures:
        if measure in _AS_OTHERS:
            continue
        lines.append(f"## `{measure}`\n")
        steps = asked.get(measure, [])
        lines.append(
            f"{'Steps' if len(steps) > 1 else 'Step'}: {', '.join(steps)}.\n"
            if steps
            else "Hole: no step of the scripts asks for it.\n"
        )
        if measure in YES_MEANS:
            lines.append(f"Yes means: {YES_MEANS[measure]}.\n")
        lines.append("| authority | limit, as worded |\n|---|---|")
        silent = []
        for authority in book.authorities:
            rules = [rule for rule in authority.rules if rule.measure == measure]
            if rules:
                lines.append(f"| {authority.id} | {_cell(rules)} |")
            else:
                silent.append(authority.id)
        lines.append(f"\nHoles: {', '.join(silent) or 'none'}.\n")
    lines.append("## Authorities\n\n| authority | name | places | rules |\n|---|---|---|---|")
    lines += [
        f"| {each.id} | {each.name} | {', '.join(each.places)} | {len(each.rules)} |"
        for each in book.authorities
    ]
    return "\n".join(lines) + "\n"


def test_the_table_of_rules_is_current() -> None:
    assert PAGE.read_text(encoding="utf-8") == page()


def test_every_rule_judges_a_measure_that_can_be_formed() -> None:
    known = {*MEASURES, *YES_MEANS}
    assert {rule.measure for rule in the_book().rules} <= known


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
