"""Repeats of one measure, combined by a rule that is fixed before the first of them.

Every measurement is kept and counts alike; what is judged is the mean of all.  None is
left out for lying far off, on either side of any limit: a rule that drops the bad ones
passes whom it likes.  A repeat that could not be formed leaves the whole open.

The inputs of the second measurement are named `reading#2`, of the third `reading#3`; an
input that is never repeated (`before`) belongs to every one of them.

Errors.  With n measurements of expanded uncertainties U_i and shared parts S_i the mean has
S² + Σ(U_i² - S_i²)/n², where S is the largest S_i: what repeats share, no averaging takes
away (JCGM 100:2008, 4.2.3 and 5.2).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction

from walkaround.air.inputs import Inputs
from walkaround.air.measured import Measured, UndeterminedError, expanded, width
from walkaround.air.scale import COVERAGE
from walkaround.exchange import Given
from walkaround.quantity import Quantity, from_base

MARK = "#"


def repeated(inputs: Inputs, form: Callable[[Inputs], Measured]) -> Measured:
    """The measure formed from each measurement's inputs, and their mean where there are several.

    Raises UndeterminedError as `form` does.
    """
    if not any(MARK in name for name in inputs):
        return form(inputs)
    formed = []
    sets = _sets(inputs)
    for number, each in enumerate(sets, start=1):
        try:
            formed.append(form(each))
        except UndeterminedError as missing:
            said = f"measurement {number} of {len(sets)}: {missing}"
            raise UndeterminedError(said) from None
    return mean_of(formed)


def _sets(inputs: Inputs) -> list[Mapping[str, Given | None]]:
    numbers = {name: name.partition(MARK) for name in inputs}
    again = {first for first, mark, _ in numbers.values() if mark}
    last = max(int(number) for _, mark, number in numbers.values() if mark)
    firsts = [name for name, (_, mark, _) in numbers.items() if not mark]
    return [
        {
            name: inputs.get(f"{name}{MARK}{number}" if number > 1 and name in again else name)
            for name in firsts
        }
        for number in range(1, last + 1)
    ]


def mean_of(formed: Sequence[Measured]) -> Measured:
    """The mean of one or more measurements of one kind, in the unit of the first.

    Raises UndeterminedError where answers in words differ.
    """
    values = [each.value for each in formed]
    sizes = [value for value in values if isinstance(value, Quantity)]
    if len(sizes) < len(values):
        if len(set(values)) > 1:
            raise UndeterminedError(f"the answers differ: {', '.join(map(str, values))}")
        return formed[0]
    others = [each.other for each in formed if each.other is not None]
    notes = [f"mean of {len(sizes)}: {', '.join(map(str, sizes))}"]
    notes += dict.fromkeys(each.why for each in formed if each.why)
    shared = max((width(each.shared) for each in formed), default=Fraction(0))
    variance = sum(width(each.uncertainty) ** 2 - width(each.shared) ** 2 for each in formed)
    total = float(shared**2 + variance / len(formed) ** 2) / int(COVERAGE) ** 2
    unit = sizes[0].unit
    return Measured(
        _mean(sizes),
        expanded(total, unit),
        "; ".join(notes),
        _mean(others) if len(others) == len(sizes) else None,
        expanded(float(shared) ** 2 / int(COVERAGE) ** 2, unit),
    )


def _mean(sizes: Sequence[Quantity]) -> Quantity:
    total = sum((size.base for size in sizes), Fraction(0))
    return from_base(total / len(sizes), sizes[0].unit)
