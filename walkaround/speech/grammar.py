"""The phrases that the recogniser is given for one question.

The recogniser makes a bigram model of them, so that a listed phrase is only made
likelier, not enforced: `understand` parses whatever comes back.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from walkaround.exchange import AskKind, Question
from walkaround.quantity import Kind, Unit, kind_of, units_of
from walkaround.speech import cardinals
from walkaround.speech.numbers import BOTH, PARTS, PRIMARY, SECONDARY
from walkaround.speech.phrases import Phrasebook

UNKNOWN = "[unk]"
_MOST_WHOLE = 1500
_USUAL_COUNT = 100
_MOST_COUNTED = 40  # chocks, valves, brakes: the fewer rivals, the surer the ear
_NUMERIC = (AskKind.NUMBER, AskKind.PAIR, AskKind.RISE, AskKind.COUNT)

# what the recogniser's vocabulary has for each unit ("kilopascals" is not in it)
_HEARD_UNITS: dict[Unit, tuple[str, ...]] = {
    Unit.PSI: ("p s i",),
    Unit.KPA: ("k p a", "kilo pascal"),
    Unit.BAR: ("bar",),
    Unit.SECOND: ("seconds", "second"),
    Unit.MINUTE: ("minutes", "minute"),
    Unit.INCH: ("inches", "inch"),
    Unit.MILLIMETRE: ("millimeters",),
    Unit.CELSIUS: ("degrees",),
    Unit.FAHRENHEIT: ("degrees",),
    Unit.PERCENT: ("percent",),
    Unit.RPM: ("r p m",),
}
# units whose gauges are read in tenths
_TENTHS = frozenset({Unit.BAR, Unit.INCH, Unit.SECOND})


def grammar_for(question: Question, phrases: Phrasebook) -> tuple[str, ...]:
    """Every phrase to listen for, with "[unk]" last; always all the commands."""
    said: list[str] = [p for group in phrases.commands.values() for p in group]
    said += _answers(question, phrases)
    return (*dict.fromkeys(said), UNKNOWN)


def answer_words(question: Question, phrases: Phrasebook) -> frozenset[str]:
    """The single words that an answer to this question can hold."""
    return words_of(_answers(question, phrases))


def _answers(question: Question, phrases: Phrasebook) -> tuple[str, ...]:
    numbers = _numbers(question) if question.kind in _NUMERIC else ()
    return (*answer_phrases(question, phrases), *numbers)


def answer_phrases(question: Question, phrases: Phrasebook) -> tuple[str, ...]:
    """The phrases, numbers aside, that answer this question."""
    if question.kind is AskKind.YES_NO:
        return (*phrases.yes, *phrases.no)
    if question.kind is AskKind.MARK:
        return phrases.marks
    if question.kind is AskKind.CHOICE:
        return tuple(p for option in question.options for p in phrases.said_for(option))
    return ()


def words_of(grammar: Iterable[str]) -> frozenset[str]:
    """The single words of a grammar: the model's vocabulary must have every one."""
    return frozenset(word for phrase in grammar for word in phrase.split())


def every_word(phrases: Phrasebook) -> frozenset[str]:
    """The words of every question that could be asked, choices' own options aside."""
    asked = [Question("", AskKind.YES_NO), Question("", AskKind.MARK)]
    for kind in (Kind.PRESSURE, Kind.TIME, Kind.LENGTH, Kind.TEMPERATURE, Kind.RATIO, Kind.SPEED):
        asked += [
            Question("", AskKind.PAIR, quantity=kind, unit=unit, high=Decimal(1000))
            for unit in units_of(kind)
        ]
    return frozenset().union(*(words_of(grammar_for(question, phrases)) for question in asked))


def _numbers(question: Question) -> Iterator[str]:
    kind = question.quantity or (kind_of(question.unit) if question.unit else None)
    unit = question.unit
    low, high = _whole_range(question)
    for number in range(low, high + 1):
        # "a hundred and five" is chained from its pairs of words; listed for every number,
        # "a" and "hundred" would weigh so much at the beginning that "eight" is heard as "a"
        yield from (f for f in cardinals.forms(number) if _listed(f, question))
    if low <= 199 and high >= 100:
        yield from ("a hundred", "hundred")
    if unit in _TENTHS:
        for tenth in cardinals.DIGITS:
            yield f"point {tenth}"
            yield f"one point {tenth}"
    if kind is Kind.LENGTH and unit in (None, Unit.INCH):
        yield from _inch_parts()
    for other in units_of(kind) if kind else ():
        yield from _HEARD_UNITS.get(other, ())
    if question.kind is AskKind.PAIR:
        yield from (PRIMARY, SECONDARY, f"{BOTH} one hundred", "and one hundred")


def _listed(form: str, question: Question) -> bool:
    """A thing is counted "four", never "oh four": beside a diesel, "four" was heard as "oh"."""
    words = form.split()
    if question.kind is AskKind.COUNT and "oh" in words:
        return False
    return words[0] not in ("a", "hundred")


def _whole_range(question: Question) -> tuple[int, int]:
    """Whole numbers to list: the range in the question's unit, and wide enough for other units
    of the kind to be heard too (the bigrams of 0 to 199 hold every word there is)."""
    low = (question.low or Decimal(0)).to_integral_value(ROUND_FLOOR)
    usual = _MOST_COUNTED if question.kind is AskKind.COUNT else _USUAL_COUNT
    high = usual if question.high is None else question.high
    top = Decimal(high).to_integral_value(ROUND_CEILING)
    return max(0, int(low)), min(_MOST_WHOLE, int(top))


def _inch_parts() -> Iterator[str]:
    """ "half" is in no other grammar: white noise sounds like it."""
    for part, size in PARTS.items():
        plural = part.endswith("s")
        for above in range(3 if plural else 1, max(size, 2), 2):
            head = cardinals.cardinal(above)
            yield f"{head} {part}"
            yield f"one and {head} {part}"
            if not plural:
                yield f"one and a {part}"
                break
    yield from ("of an inch", "an inch and a half", "half an inch", "half inch")
