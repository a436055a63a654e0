"""The repository's own rule book, read once for the tests of this room."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from walkaround.rules.book import RuleBook
from walkaround.rules.load import load_rules

RULES = Path(__file__).parent.parent.parent / "scripts" / "rules"


@cache
def the_book() -> RuleBook:
    return load_rules({path.name: path.read_bytes() for path in RULES.glob("*.yaml")})
