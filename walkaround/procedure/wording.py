"""What is wrong with the texts of a script: too long, no caution or one that
asks nothing, an answer word at the end.

Lengths are counted with every `{hole}` at the longest that can be put into it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from walkaround.errors import ScriptError
from walkaround.exchange import AskKind, Wording
from walkaround.procedure.script import ALWAYS, AskCard, Card, Hazard, Script, States

MOST_WORDS: Mapping[str, int] = {
    Wording.FULL: 40,
    Wording.SHORT: 20,
    Wording.CUE: 10,
    "caution": 20,
    "explain": 80,
    "title": 8,
}
"""The most words of each text: what can be kept in mind while it is heard. Common practice,
no source."""

ANSWER_WORDS = frozenset({
    "yes", "no", "affirmative", "negative", "okay", "mark", "time", "complete", "finished",
    "repeat", "again", "help", "explain", "why", "previous", "correction", "wrong", "redo",
    "wait", "pause", "continue", "resume", "unable", "skip", "shorter", "longer", "stop",
    "finish",
})  # fmt: skip
"""A prompt must not end on one of these: the ear would hear its own voice answer."""

_DENIES = re.compile(r"\b(no|nobody|none|nothing|not|never|nowhere)\b", re.IGNORECASE)
_HOLE = re.compile(r"\{([^{}]*)\}")
_BUILT_IN = {"vehicle": 8, "of": 6, "share": 2, "most": 2}
_OF_THE_PROFILE = ("vehicle", "share", "most")
_GAUGE_UNITS = ("psi", "kPa", "bar")


def text_errors(script: Script) -> Iterator[ScriptError]:
    """Every fault of the texts, each with file, line and key."""
    for card in cards_of(script):
        yield from _holes(card, "caution", card.caution, script.states)
        yield from _holes(card, "explain", card.explain, script.states)
        for key in ("title", "caution", "explain"):
            yield from _too_long(card, key, getattr(card, key), script.states)
        yield from _hazard_errors(card, script.states)
        yield from _no_question(card)
        for ask in card.asks:
            yield from _ask_errors(card, ask, script.states)


def cards_of(script: Script) -> tuple[Card, ...]:
    """Every card in use, once, then the acts."""
    used = {place.card.id: place.card for place in script.order}
    return (*used.values(), *script.acts)


def _ask_errors(card: Card, ask: AskCard, states: States) -> Iterator[ScriptError]:
    for wording, text in ask.texts.items():
        about = f"step '{card.id}', question '{ask.id}'"
        allowed = {"calls"} if ask.kind is AskKind.RISE else {"of"} if ask.each else set()
        for problem in _hole_problems(text, states, allowed):
            yield ask.spot.error(f"{about}: {problem}", wording)
        length = spoken_words(text, states)
        if length > MOST_WORDS[wording]:
            yield ask.spot.error(
                f"{about}: '{wording}' has {length} words, too long to hear; "
                f"{MOST_WORDS[wording]} are the most",
                wording,
            )
        last = re.findall(r"[a-z']+", _HOLE.sub(" ", text).lower())[-1:]
        if last and last[0] in ANSWER_WORDS and not text.rstrip().endswith("}"):
            yield ask.spot.error(
                f"{about}: '{wording}' ends on the answer word '{last[0]}'; turn it round", wording
            )


def _holes(card: Card, key: str, text: str, states: States) -> Iterator[ScriptError]:
    for problem in _hole_problems(text, states, set()):
        yield card.spot.error(f"step '{card.id}': {problem}", key)


def _hole_problems(text: str, states: States, allowed: set[str]) -> Iterator[str]:
    for hole in _HOLE.findall(text):
        wanted = hole.strip()
        if "|" in wanted:
            units = tuple(part.split()[-1] if part.split() else "" for part in wanted.split("|"))
            if units != _GAUGE_UNITS:
                yield f"'{{{wanted}}}' must give psi, kPa and bar, in this order"
        elif wanted not in states.words and wanted not in {*allowed, *_OF_THE_PROFILE}:
            yield f"nothing says what '{{{wanted}}}' is; add it under 'words'"


def _too_long(card: Card, key: str, text: str, states: States) -> Iterator[ScriptError]:
    length = spoken_words(text, states)
    if length > MOST_WORDS[key]:
        yield card.spot.error(
            f"step '{card.id}': '{key}' has {length} words, too long to hear; "
            f"{MOST_WORDS[key]} are the most",
            key,
        )


def spoken_words(text: str, states: States) -> int:
    """Words of the text with each hole at its longest."""
    inside = sum(_hole_words(hole.strip(), states) for hole in _HOLE.findall(text))
    return len(_HOLE.sub(" ", text).replace("-", " ").split()) + inside


def _hole_words(wanted: str, states: States) -> int:
    if "|" in wanted:
        return max(len(part.split()) for part in wanted.split("|"))
    if wanted in states.words:
        return max(spoken_words(text, states) for _, text in states.words[wanted].choices)
    return _BUILT_IN.get(wanted, 4)


def _no_question(card: Card) -> Iterator[ScriptError]:
    """A caution is assented to: a yes to an order would leave open what was promised."""
    if card.caution and not card.caution.endswith("?"):
        yield card.spot.error(
            f"step '{card.id}': its caution does not end with a question that yes can answer; "
            "say the danger first, then ask",
            "caution",
        )
    elif _DENIES.search(card.caution.split(". ")[-1]):
        yield card.spot.error(
            f"step '{card.id}': its caution asks with a 'no' in it, and yes could mean either; "
            "ask for what is right, such as: everyone clear?",
            "caution",
        )


def _hazard_errors(card: Card, states: States) -> Iterator[ScriptError]:
    done = [hazard for hazard in states.hazards if _does(card, hazard)]
    for hazard in done[:1] if not card.caution else ():
        yield card.spot.error(
            f"step '{card.id}': {hazard.says}, and no caution is said before it; add a 'caution'",
            "caution",
        )
    always = _always_needed(card)
    for hazard in done:
        for name, value in hazard.demands:
            if (name, value) not in always:
                yield card.spot.error(
                    f"step '{card.id}': {hazard.says}, and it does not need '{name}: {value}' "
                    "by itself; add that need",
                    "needs",
                )


def _does(card: Card, hazard: Hazard) -> bool:
    allowed = {
        (name, value)
        for need in card.needs
        for name, values in need.clause.any_of
        for value in values
    }
    there = hazard.where in ("", card.where)
    changes = set(hazard.needs) <= allowed and set(hazard.leaves) <= set(card.leaves.items())
    # What must be so beforehand is not brought about.
    news = set(hazard.leaves) - _always_needed(card)
    return there and changes and bool(news or not hazard.leaves)


def _always_needed(card: Card) -> set[tuple[str, str]]:
    """What the step needs in every place and vehicle, and one value by itself."""
    wholly = (need.clause.any_of for need in card.needs if need.when == ALWAYS)
    alone = (any_of[0] for any_of in wholly if len(any_of) == 1)
    return {(name, values[0]) for name, values in alone if len(values) == 1}
