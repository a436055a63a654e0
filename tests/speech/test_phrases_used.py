"""Every prompt that the engine asks for exists, and gets a value for each of its places."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

from tests.speech.books import ROOT, english
from walkaround.procedure.script import GATES, HALTS
from walkaround.speech.phrase_keys import PLACES

_PLACE = re.compile(r"\{([a-z_]+)\}")
SOURCES = sorted((ROOT / "walkaround" / "engine").glob("*.py"))


def used() -> Iterator[tuple[str, frozenset[str] | None]]:
    """(key, values given) of each `phrase("key", ...)`; None where a mapping is unpacked."""
    for source in SOURCES:
        for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "phrase":
                key = node.args[0]
                if isinstance(key, ast.Constant):
                    names = [word.arg for word in node.keywords]
                    given = frozenset(n for n in names if n)
                    yield str(key.value), None if None in names else given


def test_the_engine_says_something_at_all() -> None:
    assert len(dict(used())) >= 20


def test_every_prompt_that_is_asked_for_exists() -> None:
    assert {key for key, _ in used()} <= set(PLACES)


def test_every_place_gets_a_value() -> None:
    lacking = {
        (key, place)
        for key, given in used()
        if given is not None
        for text in english().prompts[key].values()
        for place in _PLACE.findall(text)
        if place not in given
    }
    assert lacking == set()


def test_every_prompt_has_somebody_who_says_it() -> None:
    """Keys made at run time (a place, a kind of ask, a reason) are told by their stem."""
    written = "".join(source.read_text(encoding="utf-8") for source in SOURCES)
    made = ("where.", "help.", "halted.", "unseen.")
    silent = {
        key
        for key in PLACES
        if f'"{key}"' not in written and f'phrase:{key}"' not in written
        if not key.startswith(made)
    }
    assert silent == set()


def test_what_a_finding_may_endanger_has_its_words() -> None:
    """When it was found, and when nobody looked."""
    assert {key for key in PLACES if key.startswith(("halted.", "unseen."))} == {
        *(f"{stem}.{halt}" for stem in ("halted", "unseen") for halt in HALTS),
        *(f"halted.{gate}" for gate in GATES),
    }
