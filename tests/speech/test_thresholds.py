"""The table of how sure the ear must be."""

from __future__ import annotations

import tomllib

import pytest

from tests.speech.books import ROOT, THRESHOLDS, thresholds
from walkaround.errors import PhraseError
from walkaround.speech.thresholds import ROWS, load_thresholds

TEXT = THRESHOLDS.read_text(encoding="utf-8")


def test_the_shipped_table_has_every_row() -> None:
    assert set(thresholds().strictness) == set(ROWS)


def test_it_was_measured_with_the_pinned_model() -> None:
    manifest = tomllib.loads((ROOT / "models" / "manifest.toml").read_text(encoding="utf-8"))
    assert thresholds().fits(manifest["files_sha256"])


def test_it_is_tied_to_its_model() -> None:
    assert thresholds().fits(thresholds().model)
    assert not thresholds().fits("another")


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("complete-ms: ", "complete-ms: soon # ", "complete-ms"),
        ("voice-on: ", "voice-on: 7 # ", "voice-on"),
        ("  stop: ", "  stopp: ", "stop"),
        ("stakes:", "steaks:", "stakes"),
        ("model:", "modell:", "model"),
    ],
)
def test_a_broken_table_is_refused_with_its_line(old: str, new: str, key: str) -> None:
    assert old in TEXT
    with pytest.raises(PhraseError) as caught:
        load_thresholds(TEXT.replace(old, new, 1).encode(), "thresholds.yaml")
    assert caught.value.key == key
    assert "thresholds.yaml" in str(caught.value)
