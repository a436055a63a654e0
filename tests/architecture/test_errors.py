"""Every error can be said aloud, can be told apart, and says what to do."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from walkaround import errors
from walkaround.errors import WalkaroundError


def _all(cls: type[WalkaroundError]) -> Iterator[type[WalkaroundError]]:
    for sub in cls.__subclasses__():
        yield sub
        yield from _all(sub)


CLASSES = sorted(set(_all(WalkaroundError)), key=lambda c: c.__name__)


@pytest.mark.parametrize("cls", CLASSES, ids=lambda c: c.__name__)
def test_it_is_short_enough_to_hear(cls: type[WalkaroundError]) -> None:
    assert "spoken" in vars(cls)
    assert 2 <= len(cls.spoken.split()) <= 12


def test_every_class_has_an_exit_code_of_its_own() -> None:
    codes = [cls.exit_code for cls in CLASSES]
    assert len(set(codes)) == len(codes)
    assert not {0, 1, errors.UNFINISHED, 130} & set(codes)


def test_the_tree_drawn_at_the_top_is_the_tree() -> None:
    assert errors.__doc__ is not None
    for cls in CLASSES:
        assert cls.__name__ in errors.__doc__
        assert str(cls.exit_code) in errors.__doc__
