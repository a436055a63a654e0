"""Whole numbers in words: every value a row of words can mean, and every way to say a value.

The word list is closed.  A form that people use for two numbers gives both, and nobody
chooses between them here.  "one five" is 15 read digit by digit, the form that the program
itself asks for when it could not tell fifteen from fifty; for 105 the nought is said.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache

UNITS: dict[str, int] = {
    "one": 1,
    "two": 2,
    "three": 3,
    "four": 4,
    "five": 5,
    "six": 6,
    "seven": 7,
    "eight": 8,
    "nine": 9,
}
ZEROS = ("zero", "oh")
DIGITS: dict[str, int] = {"zero": 0, "oh": 0, **UNITS}
TEENS: dict[str, int] = {
    "ten": 10,
    "eleven": 11,
    "twelve": 12,
    "thirteen": 13,
    "fourteen": 14,
    "fifteen": 15,
    "sixteen": 16,
    "seventeen": 17,
    "eighteen": 18,
    "nineteen": 19,
}
TENS: dict[str, int] = {
    "twenty": 20,
    "thirty": 30,
    "forty": 40,
    "fifty": 50,
    "sixty": 60,
    "seventy": 70,
    "eighty": 80,
    "ninety": 90,
}
_LONE_UNITS = frozenset((word,) for word in UNITS)
JOINTS = ("a", "and", "hundred", "thousand")
WORDS = frozenset({*DIGITS, *TEENS, *TENS, *JOINTS})
"""Every word a whole number may be said with."""

LARGEST = 9999
_MOST_WORDS = 8
_NAMES = {**{n: w for w, n in {**UNITS, **TEENS, **TENS}.items()}, 0: "zero"}


def values(words: Sequence[str]) -> frozenset[int]:
    """Every whole number from 0 to 9999 that the words can mean; empty when they mean none."""
    row = tuple(words)
    if not row or len(row) > _MOST_WORDS or not WORDS.issuperset(row):
        return frozenset()
    return frozenset(_cardinal(row) | _elided(row) | _by_digits(row) | _by_twos(row))


def _small(row: tuple[str, ...]) -> frozenset[int]:
    """1 to 99: "five", "fifteen", "fifty", "fifty five"."""
    if len(row) == 1:
        found = {**UNITS, **TEENS, **TENS}.get(row[0])
        return frozenset() if found is None else frozenset({found})
    if len(row) == 2 and row[0] in TENS and row[1] in UNITS:
        return frozenset({TENS[row[0]] + UNITS[row[1]]})
    return frozenset()


def _cardinal(row: tuple[str, ...]) -> frozenset[int]:
    """ "five", "a hundred and five", "hundred five", "twelve hundred", "one thousand and ten"."""
    if "thousand" in row:
        left, right = _cut(row, "thousand")
        heads = _multiplier(left, 9)
        tails = _after_and(right, _hundreds) if right else frozenset({0})
        return frozenset(1000 * h + t for h in heads for t in tails)
    return _hundreds(row)


def _hundreds(row: tuple[str, ...]) -> frozenset[int]:
    if "hundred" not in row:
        return _small(row) if row != ("zero",) else frozenset({0})
    left, right = _cut(row, "hundred")
    heads = _multiplier(left, 99)
    tails = _after_and(right, _small_or_oh) if right else frozenset({0})
    return frozenset(100 * h + t for h in heads if h < 10 or h % 10 for t in tails)


def _small_or_oh(row: tuple[str, ...]) -> frozenset[int]:
    """ "five" or "oh five" behind "one hundred"."""
    if len(row) == 2 and row[0] in ZEROS and row[1] in UNITS:
        return frozenset({UNITS[row[1]]})
    return _small(row)


def _cut(row: tuple[str, ...], word: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    at = row.index(word)
    return row[:at], row[at + 1 :]


def _multiplier(row: tuple[str, ...], most: int) -> frozenset[int]:
    if row in ((), ("a",)):
        return frozenset({1})
    return frozenset(n for n in _small(row) if n <= most)


def _after_and(
    row: tuple[str, ...], inner: Callable[[tuple[str, ...]], frozenset[int]]
) -> frozenset[int]:
    return inner(row[1:]) if row[0] == "and" else inner(row)


def _elided(row: tuple[str, ...]) -> frozenset[int]:
    """The hundred left out: "one twenty" 120, "one oh five" 105; never "one five" for 105."""
    if len(row) < 2 or row[0] not in UNITS or row[1:] in _LONE_UNITS:
        return frozenset()
    return frozenset(100 * UNITS[row[0]] + tail for tail in _small_or_oh(row[1:]))


def _by_digits(row: tuple[str, ...]) -> frozenset[int]:
    """ "one zero five", "zero eight five"; a lone or a leading "oh" is no number."""
    if len(row) > 4 or row[0] == "oh" or not all(word in DIGITS for word in row):
        return frozenset()
    return frozenset({int("".join(str(DIGITS[word]) for word in row))})


def _by_twos(row: tuple[str, ...]) -> frozenset[int]:
    """ "ten fifty" 1050, "twelve oh five" 1205."""
    found: set[int] = set()
    for at in range(1, len(row)):
        for head in _small(row[:at]):
            tails = _small_or_oh(row[at:])
            found |= {100 * head + t for t in tails if head >= 10 and _two_digits(row[at:], t)}
    return frozenset(found)


def _two_digits(row: tuple[str, ...], value: int) -> bool:
    return value >= 10 or row[0] in ZEROS


@cache
def cardinal(number: int, joint: str = "") -> str:
    """ "one hundred five", or with `joint` "and" "one hundred and five". 0 to 9999."""
    if number in _NAMES:
        return _NAMES[number]
    if number < 100:
        return f"{_NAMES[number - number % 10]} {_NAMES[number % 10]}"
    size, name = (100, "hundred") if number < 1000 else (1000, "thousand")
    head, tail = divmod(number, size)
    words = [cardinal(head), name]
    if tail:
        words += [joint] if joint and tail < 100 else []
        words.append(cardinal(tail, joint))
    return " ".join(words)


def digits(number: int, zero: str = "zero") -> str:
    """Digit by digit: "one zero five"."""
    return " ".join(zero if d == "0" else _NAMES[int(d)] for d in str(number))


def forms(number: int) -> tuple[str, ...]:
    """Every way the parser knows to say a number from 0 to 1000, the plainest first."""
    said = [cardinal(number), cardinal(number, "and")]
    if 100 <= number < 200:
        said += [f"a {form.removeprefix('one ')}" for form in said[:2]]
        said += [form.removeprefix("one ") for form in said[:2]]
    head, tail = divmod(number, 100)
    if 1 <= head < 10 and tail:
        said.append(f"{_NAMES[head]} {cardinal(tail) if tail >= 10 else f'oh {_NAMES[tail]}'}")
    said.append(digits(number))
    if "0" in str(number)[1:]:
        said.append(digits(number, "oh"))
    if number == 1000:
        said += ["a thousand", "thousand"]
    return tuple(dict.fromkeys(said))
