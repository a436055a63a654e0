"""The last minute of sound, and what is cut from it."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from walkaround.devices.ear.recent import MARGIN, Recent

SECOND = 16_000


def numbered(samples: int, first: int = 0) -> bytes:
    """Each sample says its own number, as far as 16 bits go."""
    return b"".join((n % 65536).to_bytes(2, "little") for n in range(first, first + samples))


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.integers(1, 5000), min_size=1, max_size=12),
    st.integers(0, 30_000),
    st.integers(0, 30_000),
    st.integers(0, 70_000),
)
def test_what_is_cut_is_what_came(sizes: list[int], begin: int, lasts: int, first: int) -> None:
    recent, end = Recent(first), first
    for size in sizes:
        recent.take(numbered(size, end))
        end += size
    begin = first + min(begin, end - first)
    at, sound = recent.cut(begin, begin + lasts)
    upto = min(begin + lasts + MARGIN, end)
    assert at == max(begin - MARGIN, first)
    assert sound == numbered(upto - at, at)


def test_nothing_older_than_a_minute_is_kept() -> None:
    recent = Recent()
    for _ in range(100):
        recent.take(bytes(SECOND * 2))
    at, sound = recent.cut(0, 100 * SECOND)
    assert at == 40 * SECOND
    assert len(sound) == 60 * SECOND * 2
