"""A short run of the hearing benchmark on human recordings, through the product's path.

AN4 (Carnegie Mellon University, 1991) and Speech Commands v0.02 (Warden 2018, CC BY 4.0);
the noise is synthetic.  Few clips: it shows that the path works, not how well.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.benchmarks.clips import Clip, commands, others, readings
from tests.benchmarks.ears import CAUTION, GAUGE, Product
from tests.benchmarks.hearing import Trial, as_number, listen, nothing
from tests.benchmarks.places import model_folder
from tests.speech.books import english, thresholds
from walkaround.exchange import Command, Meaning, No, Question, Said, Yes

pytestmark = pytest.mark.model


@pytest.fixture(scope="module")
def product() -> Iterator[Product]:
    folder = model_folder()
    if folder is None:
        pytest.skip("no speech model (set WALKAROUND_MODEL, or fetch it first)")
    with Product(folder, english(), thresholds()) as product:
        yield product


def heard(
    product: Product,
    clips: list[Clip],
    question: Question,
    wanted: Callable[[Clip], Meaning | None],
) -> list[Trial]:
    """Each clip once, in a diesel at 10 dB."""
    return listen(
        lambda sound, asked: product.meaning(product.hear(sound, asked), asked),
        clips,
        question,
        10.0,
        wanted,
    )


def test_readings_of_people_are_not_taken_wrongly(product: Product, speech_data: Path) -> None:
    clips = [c for c in readings(speech_data) if c.value is not None and 50 <= c.value <= 150]
    trials = heard(product, clips[::4], GAUGE, as_number)
    assert [t for t in trials if t.accepted and not t.right] == []
    assert sum(t.right for t in trials) >= 0.8 * len(trials)


def test_what_people_say_otherwise_is_no_number(product: Product, speech_data: Path) -> None:
    trials = heard(product, list(others(speech_data))[::30], GAUGE, nothing)
    assert sum(t.accepted for t in trials) <= 1


@pytest.mark.parametrize(
    ("word", "question", "meaning"),
    [("yes", CAUTION, Yes()), ("no", CAUTION, No()), ("stop", GAUGE, Said(Command.STOP))],
)
def test_people_are_heard(
    product: Product, speech_data: Path, word: str, question: Question, meaning: Meaning
) -> None:
    clips = list(commands(speech_data, word))[::40]
    trials = heard(product, clips, question, lambda _: meaning)
    assert sum(t.right for t in trials) >= len(trials) - 1
    assert [t for t in trials if t.accepted and not t.right] == []
