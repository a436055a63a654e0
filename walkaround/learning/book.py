"""The recall book: what steps, acts, states and faults may be called, and why each is done.

Read from the YAML files under `scripts/recall/`.  Bytes in; nothing is opened here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from walkaround.errors import ScriptError
from walkaround.learning.words import Words
from walkaround.sheet import Reader, Row, Scalar, Table, read_sheet

LEAST_WAYS = 3
"""Ways to say a step, an act or a state: fewer, and it is a menu with one line."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """A way to say something. `of` are the steps, acts or states (`engine: off`) it can mean.
    `loose`: its words may be held against an answer that fits no phrasing."""

    text: str
    of: tuple[str, ...]
    loose: bool = False


@dataclass(frozen=True, slots=True)
class Why:
    """What a step's part does, what a bad reading means, what could hurt you."""

    does: str
    bad: str
    hurt: str


@dataclass(frozen=True, slots=True)
class Because:
    """Why a state is needed. `hazard`: somebody could be hurt; else the reading is worthless."""

    says: str
    hazard: bool


@dataclass(frozen=True, slots=True)
class FaultName:
    """What faults of the truck go by this name; `tells` is how it shows."""

    name: str
    of: tuple[str, ...]
    say: tuple[str, ...]
    tells: str


@dataclass(frozen=True, slots=True)
class RecallBook:
    """Everything of one language. State values are keyed `variable: value`."""

    language: str
    words: Words
    phrases: tuple[Phrase, ...]
    state_words: Mapping[str, str]  # "engine: off" -> "the engine off"
    likes: Mapping[str, str]  # act -> the step it is called like
    why: Mapping[str, Why]  # step card -> why
    needs: Mapping[str, Because]  # "engine: off" -> why
    because: Mapping[tuple[str, str], Because]  # (step card, variable) -> why
    faults: tuple[FaultName, ...]
    heard: Mapping[str, str]  # a word that the ear's model has not -> how it is listened for

    def reason(self, card: str, variable: str, value: str) -> Because | None:
        """Why the step needs that state: its own reason, or the state's."""
        return self.because.get((card, variable)) or self.needs.get(f"{variable}: {value}")


def load_recall(names: Files, why: Files, faults: Files) -> RecallBook:
    """The book of three files, each (bytes, name). Raises ScriptError with file, line and key."""
    top = _reader(*names)
    reasons, named = _reader(*why), _reader(*faults)
    words = _words(top)
    likes = _likes(top)
    steps, acts = _said(top, "steps", words), _said(top, "acts", words, likes)
    states = _states(top, words)
    phrases = [Phrase(text, (owner,), True) for owner, said in steps.items() for text in said]
    phrases += [Phrase(text, (owner,)) for owner, said in acts.items() for text in said]
    for act, step in likes.items():
        if step not in steps:
            raise top.fail(f"the act '{act}' is like '{step}', which is no step here", "acts")
    phrases = [_with_twins(phrase, likes) for phrase in phrases]
    phrases += _either(top, {*steps, *acts, *likes})
    phrases += [Phrase(text, (key,)) for key, (_, said) in states.items() for text in said]
    book = RecallBook(
        language=top.text("language"),
        words=words,
        phrases=_merged(top, phrases, words),
        state_words={key: told for key, (told, _) in states.items()},
        likes=likes,
        why=_why(reasons, steps),
        needs=_needs(reasons, states),
        because=_special(reasons, steps),
        faults=_faults(named, words),
        heard=_heard(top),
    )
    top.done()
    for other in (reasons, named):
        other.text("language")
        other.done()
    return book


Files = tuple[bytes, str]


def _reader(content: bytes, file: str) -> Reader:
    return Reader(read_sheet(content, file, ScriptError), ScriptError, "recall book")


def _tables(reader: Reader, key: str) -> list[tuple[str, Reader]]:
    """The named tables under `key`, each with its reader."""
    table = reader.table_at(key)
    if table is None:
        raise reader.fail(f"'{key}' is missing; restore it", key)
    found = []
    for name, node in table.items.items():
        if not isinstance(node, Table):
            raise reader.fail(f"'{name}' under '{key}' must hold 'key: value' lines", key)
        found.append((name, Reader(node, ScriptError, f"'{name}' in the recall book")))
    return found


def _words(top: Reader) -> Words:
    same: dict[str, str] = {}
    rows = top.node("same")
    for row in rows if isinstance(rows, Row) else ():
        texts = [n.text for n in row.items if isinstance(n, Scalar)] if isinstance(row, Row) else []
        for word in texts:
            if word in same:
                raise top.fail(f"'{word}' counts as two words under 'same'; keep one", "same")
            same[word] = texts[0]
    return Words(frozenset(top.texts("fillers")), same)


def _heard(top: Reader) -> dict[str, str]:
    table = top.table_at("heard")
    if table is None:
        return {}
    reader = Reader(table, ScriptError, "heard")
    return {word: reader.text(word) for word in table.items}


def _ways(reader: Reader, words: Words) -> tuple[str, ...]:
    ways = reader.texts("say")
    if len({frozenset(words.of(way)) for way in ways}) < LEAST_WAYS:
        raise reader.fail(
            f"'say' needs at least {LEAST_WAYS} ways to say it that differ in a word that counts",
            "say",
        )
    return ways


def _said(
    top: Reader, key: str, words: Words, likes: Mapping[str, str] | None = None
) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for name, reader in _tables(top, key):
        if likes is None or name not in likes:
            found[name] = _ways(reader, words)
            reader.done()
    return found


def _likes(top: Reader) -> dict[str, str]:
    likes = {}
    for name, reader in _tables(top, "acts"):
        if "like" in reader.table.items:
            likes[name] = reader.text("like")
            reader.done()
    return likes


def _either(top: Reader, known: set[str]) -> tuple[Phrase, ...]:
    found = []
    for row in top.rows("any"):
        reader = Reader(row, ScriptError, "any")
        of = reader.texts("of")
        for name in of:
            if name not in known:
                raise reader.fail(f"'{name}' is no step or act here; check the spelling", "of")
        found += [Phrase(text, of) for text in reader.texts("say")]
        reader.done()
    return tuple(found)


def _states(top: Reader, words: Words) -> dict[str, tuple[str, tuple[str, ...]]]:
    found: dict[str, tuple[str, tuple[str, ...]]] = {}
    for variable, values in _tables(top, "states"):
        for value in values.table.items:
            table = values.table_at(value)
            if table is None:
                raise values.fail(f"'{value}' must hold 'key: value' lines", value)
            reader = Reader(table, ScriptError, f"'{variable}: {value}' in the recall book")
            found[f"{variable}: {value}"] = (reader.text("words"), _ways(reader, words))
            reader.done()
    return found


def _with_twins(phrase: Phrase, likes: Mapping[str, str]) -> Phrase:
    """A step's phrase means the act that is like it, too."""
    twins = [act for act, step in likes.items() if (step,) == phrase.of]
    return replace(phrase, of=(*phrase.of, *twins))


def _why(reader: Reader, steps: Mapping[str, Sequence[str]]) -> dict[str, Why]:
    found = {}
    for name, inner in _tables(reader, "steps"):
        if name not in steps:
            raise reader.fail(f"'{name}' is no step; check the spelling", "steps")
        found[name] = Why(inner.text("does"), inner.text("bad"), inner.text("hurt"))
        inner.done()
    for name in steps:
        if name not in found:
            raise reader.fail(f"nothing says why '{name}' is done; add it", "steps")
    return found


def _needs(reader: Reader, states: Mapping[str, object]) -> dict[str, Because]:
    found = {}
    for variable, values in _tables(reader, "needs"):
        for value in values.table.items:
            found[f"{variable}: {value}"] = _because(values, value)
    for key in states:
        if key not in found:
            raise reader.fail(f"nothing says why '{key}' is needed; add it", "needs")
    return found


def _special(reader: Reader, steps: Mapping[str, object]) -> dict[tuple[str, str], Because]:
    found = {}
    for step, inner in _tables(reader, "because"):
        if step not in steps:
            raise reader.fail(f"'{step}' is no step; check the spelling", "because")
        for variable in inner.table.items:
            found[step, variable] = _because(inner, variable)
    return found


def _because(outer: Reader, key: str) -> Because:
    table = outer.table_at(key)
    if table is None or set(table.items) not in ({"hazard"}, {"worthless"}):
        raise outer.fail(f"'{key}' must hold one line, 'hazard: ...' or 'worthless: ...'", key)
    kind = next(iter(table.items))
    return Because(Reader(table, ScriptError).text(kind), kind == "hazard")


def _faults(reader: Reader, words: Words) -> tuple[FaultName, ...]:
    found = []
    for name, inner in _tables(reader, "faults"):
        found.append(FaultName(name, inner.texts("of"), _ways(inner, words), inner.text("tells")))
        inner.done()
    return tuple(found)


def _merged(top: Reader, phrases: Sequence[Phrase], words: Words) -> tuple[Phrase, ...]:
    """A state may be called as what brings it about ("chocks in"): the answer's other words
    tell which is meant. Two steps or acts may not share the words of a phrasing."""
    found: dict[frozenset[str], Phrase] = {}
    for phrase in phrases:
        key = frozenset(words.of(phrase.text))
        if not key:
            raise top.fail(f"'{phrase.text}' is made of words that are passed over; reword it")
        before = found.get(key)
        if before is None or before.of == phrase.of:
            found[key] = phrase
        elif not (is_state(before.of[-1]) or is_state(phrase.of[0])):
            raise top.fail(
                f"'{phrase.text}' names both '{before.of[0]}' and '{phrase.of[0]}'; "
                "reword one, or put it under 'any'"
            )
        else:
            found[key] = replace(before, of=(*before.of, *phrase.of))
    return tuple(found.values())


def is_state(name: str) -> bool:
    """Whether a phrasing's meaning is a state, `engine: off`, and not a step or an act."""
    return ": " in name
