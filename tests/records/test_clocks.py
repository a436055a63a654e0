"""The wall clock set back, forward, or to nonsense between sittings: nothing timed is touched."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tests.records.walk_sample import EVENTS, KEY, joined, lines
from walkaround.exchange import Event, SittingOpened
from walkaround.records.journal import read_journal
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.summary import summarise
from walkaround.records.trust import TrustedKey, TrustList
from walkaround.records.verify import verify

TRUST = TrustList((TrustedKey(KEY.public, (WalkKind.WALK,), "x", ""),))
WALLS = {
    "a year back": "2025-03-01T07:05:00Z",
    "ten years on": "2036-03-01T07:05:00Z",
    "before computers": "0001-01-01T00:00:00Z",
    "nonsense": "the day after tomorrow",
    "nothing": "",
}


def _with_second_sitting(**changes: Any) -> bytes:
    def changed(event: Event) -> Event:
        second = isinstance(event, SittingOpened) and event.sitting == 2
        return replace(event, **changes) if second else event

    return joined(lines(WalkKind.WALK, events=[changed(event) for event in EVENTS]))


def _told(journal: bytes) -> dict[str, Any]:
    summary = summarise(read_journal(journal), KEY.public.jwk())
    record = sign(summary, KEY, WalkKind.WALK, Paper.RECORD)
    assert verify(record, TRUST, journal=journal).trusted
    return dict(summary)


def _without_clocks(told: dict[str, Any]) -> dict[str, Any]:
    sittings = [{k: v for k, v in each.items() if k != "wall"} for each in told["sittings"]]
    return {**told, "sittings": sittings, "journal": None}


@pytest.mark.parametrize("name", WALLS)
def test_the_wall_clock_is_kept_as_it_was_and_decides_nothing(name: str) -> None:
    told = _told(_with_second_sitting(wall=WALLS[name]))
    assert WALLS[name] in str(told["sittings"][1])
    assert _without_clocks(told) == _without_clocks(_told(_with_second_sitting()))


@pytest.mark.parametrize("boot_ms", [0, 1, 10**12])
def test_a_machine_that_was_started_anew(boot_ms: int) -> None:
    """The boot clock begins again with each start: nothing timed spans two sittings."""
    told = _told(_with_second_sitting(boot_ms=boot_ms, boot_id="another"))
    assert _without_clocks(told) == _without_clocks(_told(_with_second_sitting()))
