"""The shipped phrase book and thresholds, and the questions that the tests ask."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from pathlib import Path

from walkaround.exchange import AskKind, Question, Stake
from walkaround.quantity import Kind, Unit
from walkaround.speech.phrases import Phrasebook, load_phrases
from walkaround.speech.thresholds import Thresholds, load_thresholds

ROOT = Path(__file__).resolve().parents[2]
PHRASES = ROOT / "scripts" / "phrases" / "en.yaml"
THRESHOLDS = ROOT / "walkaround" / "speech" / "thresholds.yaml"


@cache
def english() -> Phrasebook:
    return load_phrases(PHRASES.read_bytes(), "en.yaml")


@cache
def thresholds() -> Thresholds:
    return load_thresholds(THRESHOLDS.read_bytes(), "thresholds.yaml")


def gauge(
    kind: AskKind = AskKind.NUMBER,
    low: str = "0",
    high: str = "150",
    unit: Unit | None = Unit.PSI,
    quantity: Kind = Kind.PRESSURE,
) -> Question:
    """A question about a pressure gauge, or another quantity."""
    return Question(
        "s.q",
        kind,
        stake=Stake.READING,
        quantity=quantity,
        unit=unit,
        low=Decimal(low),
        high=Decimal(high),
    )


def inches(high: str = "6") -> Question:
    return gauge(high=high, unit=Unit.INCH, quantity=Kind.LENGTH)


def seconds(high: str = "600") -> Question:
    return gauge(high=high, unit=Unit.SECOND, quantity=Kind.TIME)
