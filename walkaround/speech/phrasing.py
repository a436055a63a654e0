"""From prompt ids to sentences for the voice, one at a time."""

from __future__ import annotations

import re
from collections.abc import Sequence

from walkaround.exchange import Prompt, Wording
from walkaround.procedure.model import Plan, Step
from walkaround.quantity import Quantity
from walkaround.speech import cardinals
from walkaround.speech.phrases import Phrasebook, pick
from walkaround.speech.saying import for_the_ear, in_another_form

HEARD = "heard"
"""A read-back's value that fills no place: the words that the answer was given in."""
_PLACE = re.compile(r"\{([a-z_]+)\}")
_SENTENCE_END = re.compile(r"(?<=[.?!])\s+(?=\S)")


def render(prompts: Sequence[Prompt], phrases: Phrasebook, plan: Plan) -> tuple[str, ...]:
    """The sentences to speak, in order. Raises KeyError for an id that nothing answers to.

    A Quantity is read digit by digit, or in words where it was heard digit by digit (the
    prompt's value "heard" has the words); a place's code is said as its name; cautions are
    always whole.
    """
    return tuple(
        sentence
        for prompt in prompts
        for sentence in sentences_of(_filled(text_of(prompt, phrases, plan), prompt, phrases))
    )


def text_of(prompt: Prompt, phrases: Phrasebook, plan: Plan) -> str:
    """The prompt's text as it is written, places unfilled."""
    source, _, key = prompt.id.partition(":")
    if source == "phrase":
        return phrases.text(key, prompt.wording)
    if source == "step":
        step_id, _, part = key.partition(".")
        return _of_step(plan.step(step_id), part, prompt.wording)
    raise KeyError(prompt.id)


def _of_step(step: Step, part: str, wording: Wording) -> str:
    # an ask may be called anything, so the asks are looked at first
    for ask in step.asks:
        if ask.id == part:
            return pick(ask.texts, wording)
    plain = {"caution": step.caution, "explain": step.explain, "title": step.title}
    return plain[part]


def _filled(text: str, prompt: Prompt, phrases: Phrasebook) -> str:
    """With every place filled. Raises KeyError for a place without a value."""
    if not prompt.id.startswith("phrase:"):
        return for_the_ear(text)
    return _PLACE.sub(lambda found: _said(found[1], prompt, phrases), for_the_ear(text)).replace(
        "..", "."
    )


def _said(place: str, prompt: Prompt, phrases: Phrasebook) -> str:
    value = prompt.values[place]
    if isinstance(value, Quantity):
        # The unit is the gauge's own; whoever wants few words knows it.
        heard = str(prompt.values.get(HEARD, ""))
        return in_another_form(value, heard, with_unit=prompt.wording is Wording.FULL)
    return for_the_ear(phrases.place_name(value) if place == "place" else value)


def sentences_of(text: str) -> tuple[str, ...]:
    """Cut behind a full stop, question or exclamation mark; empty ones left out."""
    parts = (part.strip() for part in _SENTENCE_END.split(text))
    return tuple(part for part in parts if part)


def answer_word_at_end(text: str, phrases: Phrasebook) -> str:
    """The answer word or number that the text ends on, or "" for none.

    The microphone hears the end of a prompt: a prompt must not answer its own question.
    Places in braces at the end count too, for nobody knows what will fill them.
    """
    if text.rstrip(" .?!").endswith("}"):
        return text.rstrip(" .?!").rpartition("{")[2].rstrip("}")
    words = re.findall(r"[a-z0-9']+", for_the_ear(text).lower())
    for phrase in phrases.answer_words():
        row = phrase.split()
        if words[-len(row) :] == row:
            return phrase
    last = words[-1] if words else ""
    return last if last in cardinals.WORDS - {"a", "and"} else ""
