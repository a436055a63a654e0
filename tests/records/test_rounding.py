"""Shown to a person: digits that mean something; the record itself keeps them all."""

from __future__ import annotations

import pytest

from walkaround.records.rounding import minutes, rounded


@pytest.mark.parametrize(
    ("value", "uncertainty", "shown"),
    [
        ("37.9504 s", "± 1.0 s (k = 2)", "37.95 s"),
        ("36.499 s", "± 1.0 s (k = 2)", "36.50 s"),
        ("1.625 in", "± 0.051 in (k = 2)", "1.625 in"),
        ("105 psi", "± 3 psi", "105 psi"),
        ("85.33333 psi/min", "", "85.33 psi/min"),
        ("yes", "", "yes"),
        ("about 3.14159", "", "about 3.14159"),
        ("3.14159", "", "3.14159"),
        ("9" * 40 + ".5 s", "", "9" * 40 + ".5 s"),
    ],
)
def test_a_value_is_shown_with_one_digit_more_than_its_uncertainty(
    value: str, uncertainty: str, shown: str
) -> None:
    assert rounded(value, uncertainty) == shown


@pytest.mark.parametrize(
    ("length", "shown"),
    [
        ("2291.716 s", "38 min 12 s"),
        ("59.600 s", "1 min 0 s"),
        ("0.300 s", "0 s"),
        ("long", "long"),
        ("1e9 s", "1e9 s"),
    ],
)
def test_a_length_is_shown_in_minutes(length: str, shown: str) -> None:
    assert minutes(length) == shown
