"""Takes readings out of answers. Everything that is missing or odd is said in one clause."""

from __future__ import annotations

from collections.abc import Mapping

from walkaround.air.measured import UndeterminedError
from walkaround.exchange import (
    Answer,
    Choice,
    Count,
    Given,
    Held,
    Mark,
    No,
    NotDone,
    Number,
    Pair,
    Rise,
    Yes,
)
from walkaround.quantity import Kind, Quantity

Inputs = Mapping[str, Given | None]


def given(inputs: Inputs, name: str) -> Given:
    """The answer under that name. Raises UndeterminedError when it is absent or was not done."""
    answer = inputs.get(name)
    if answer is None:
        raise UndeterminedError(f"'{name}' was not answered")
    if isinstance(answer.answer, NotDone):
        raise UndeterminedError(f"'{name}' was not done: {answer.answer.why}")
    return answer


def readings(inputs: Inputs, name: str, kind: Kind = Kind.PRESSURE) -> tuple[Quantity, ...]:
    """One reading or the pair, primary first, all of one kind."""
    answer = given(inputs, name).answer
    if isinstance(answer, Number):
        found: tuple[Quantity, ...] = (answer.value,)
    elif isinstance(answer, Pair):
        found = (answer.primary, answer.secondary)
    else:
        raise _odd(name, "a reading", answer)
    if any(reading.kind is not kind for reading in found):
        raise UndeterminedError(f"'{name}' is not a {kind}")
    return found


def higher(found: tuple[Quantity, ...]) -> Quantity:
    return max(found, key=lambda reading: reading.base)


def lower(found: tuple[Quantity, ...]) -> Quantity:
    return min(found, key=lambda reading: reading.base)


def held(inputs: Inputs, name: str) -> Held:
    answer = given(inputs, name).answer
    if not isinstance(answer, Held):
        raise _odd(name, "a timed hold", answer)
    if answer.gap:
        raise UndeterminedError("sound was lost during the hold: measure again")
    return answer


def rise(inputs: Inputs, name: str) -> Rise:
    answer = given(inputs, name).answer
    if not isinstance(answer, Rise):
        raise _odd(name, "a called-out rise", answer)
    if answer.gap:
        raise UndeterminedError("sound was lost during the rise: measure again")
    return answer


def mark(inputs: Inputs, name: str) -> Given:
    found = given(inputs, name)
    if not isinstance(found.answer, Mark):
        raise _odd(name, "a mark", found.answer)
    return found


def words(inputs: Inputs, name: str) -> str:
    """`yes`, `no`, the option chosen, or a count in digits."""
    answer = given(inputs, name).answer
    match answer:
        case Yes():
            return "yes"
        case No():
            return "no"
        case Choice(option):
            return option
        case Count(number):
            return str(number)
    raise _odd(name, "an answer in words", answer)


def one_sitting(inputs: Inputs, *names: str) -> None:
    """Nothing timed spans two sittings: the clock starts anew at each."""
    if len({given(inputs, name).sitting for name in names}) > 1:
        raise UndeterminedError("the walk was interrupted in between: measure again")


def _odd(name: str, wanted: str, answer: Answer) -> UndeterminedError:
    return UndeterminedError(f"'{name}' is {type(answer).__name__.lower()}, not {wanted}")
