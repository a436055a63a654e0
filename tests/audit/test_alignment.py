"""A walk beside its script: against a naive edit distance, and in words a trainer would use."""

from __future__ import annotations

from collections.abc import Sequence

from hypothesis import given
from hypothesis import strategies as st

from walkaround.audit.alignment import align

STEPS = st.lists(st.sampled_from("abcdefgh"), max_size=12)


def naive_distance(left: Sequence[str], right: Sequence[str]) -> int:
    """Insertions and deletions only, by the textbook's table."""
    row = list(range(len(right) + 1))
    for i, one in enumerate(left, start=1):
        above, row = row, [i]
        for j, other in enumerate(right, start=1):
            kept = above[j - 1] if one == other else len(left) + len(right)
            row.append(min(above[j] + 1, row[j - 1] + 1, kept))
    return row[-1]


@given(STEPS, STEPS)
def test_the_distance_is_the_naive_one(script: list[str], walked: list[str]) -> None:
    assert align(script, walked).distance == naive_distance(script, walked)


@given(st.permutations("abcdefgh"))
def test_another_order_of_the_same_steps_only_moves(walked: list[str]) -> None:
    found = align("abcdefgh", walked)
    assert not found.left_out and not found.repeated and not found.put_in
    assert 2 * len(found.moved) == found.distance


@given(STEPS, STEPS)
def test_what_is_left_out_was_never_walked(script: list[str], walked: list[str]) -> None:
    found = align(script, walked)
    assert set(found.left_out) == set(script) - set(walked)
    assert set(found.put_in) == set(walked) - set(script)


def test_in_words() -> None:
    assert align("abcdef", "abcdef").as_written
    assert align("abcdef", "abef").left_out == ("c", "d")
    assert align("abcdef", "abdcef").moved in (("c",), ("d",))
    assert align("abcdef", "abcdefb").repeated == ("b",)
    assert align("abcdef", "abxcdef").put_in == ("x",)
