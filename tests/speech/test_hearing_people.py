"""A short run of the hearing benchmark on human recordings, through the product's path.

AN4 (Carnegie Mellon University, 1991) and Speech Commands v0.02 (Warden 2018, CC BY 4.0), with
synthetic noise; where they are missing, the read prose and the card names of Debian's package
pocketsphinx-testdata.  Few clips: it shows that the path works, not how well.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.benchmarks.ears import CAUTION, GAUGE, Product
from tests.benchmarks.heard import COMMAND_WORDS, OTHER, READING, jobs
from tests.benchmarks.noise import Sound, in_noise
from tests.benchmarks.places import model_folder
from tests.speech.books import english, thresholds
from walkaround.exchange import Meaning, Number, Unclear
from walkaround.quantity import Quantity, Unit

pytestmark = pytest.mark.model
DEBIAN = Path("/usr/share/pocketsphinx/test/data")


@pytest.fixture(scope="module")
def product() -> Iterator[Product]:
    folder = model_folder()
    if folder is None:
        pytest.skip("no speech model (set WALKAROUND_MODEL, or fetch it first)")
    with Product(folder, english(), thresholds()) as product:
        yield product


def heard(product: Product, folder: Path, group: str, few: slice) -> list[tuple[str, Meaning, str]]:
    """(clip, what it was taken for, "right" | "wrong" | "asked") in a diesel at 10 dB."""
    found = []
    for job in [job for job in jobs(folder, 1) if job.group == group][few]:
        clip = job.clip
        sound = in_noise(clip.sound, 10.0, zlib.crc32(clip.name.encode()))
        meaning = product.meaning(product.hear(sound, job.question), job.question)
        asked = "asked" if isinstance(meaning, Unclear) else "wrong"
        found.append((clip.name, meaning, "right" if meaning == job.wanted else asked))
    return found


def test_readings_of_people_are_not_taken_wrongly(product: Product, speech_data: Path) -> None:
    found = heard(product, speech_data, READING, slice(0, 120, 9))
    assert [one for one in found if one[2] == "wrong"] == []
    assert sum(one[2] == "right" for one in found) >= 0.8 * len(found)


def test_what_people_say_otherwise_is_no_number(product: Product, speech_data: Path) -> None:
    found = heard(product, speech_data, OTHER, slice(None, None, 30))
    assert len([one for one in found if one[2] == "wrong"]) <= 1


@pytest.mark.parametrize("word", ["yes", "no", "stop"])
def test_people_are_heard(product: Product, speech_data: Path, word: str) -> None:
    assert word in COMMAND_WORDS
    found = heard(product, speech_data, word, slice(None, None, 40))
    assert sum(one[2] == "right" for one in found) >= len(found) - 1
    assert [one for one in found if one[2] == "wrong"] == []


@pytest.fixture(scope="module")
def debian() -> Path:
    if not DEBIAN.is_dir():
        pytest.skip(f"no recordings in {DEBIAN} (apt-get install pocketsphinx-testdata)")
    return DEBIAN


def _sound(path: Path) -> Sound:
    sound, rate = soundfile.read(path, dtype="int16")
    assert rate == 16_000
    return np.asarray(sound, dtype=np.int16)


def test_read_prose_is_no_answer(product: Product, debian: Path) -> None:
    for path in sorted((debian / "librivox").glob("*.wav")):
        sound = in_noise(_sound(path), None, 1)
        for question in (GAUGE, CAUTION):
            assert isinstance(product.meaning(product.hear(sound, question), question), Unclear)


def test_two_digits_of_a_stranger_are_a_number_and_a_card_is_none(
    product: Product, debian: Path
) -> None:
    def meaning(name: str) -> Meaning:
        sound = in_noise(_sound(debian / "cards" / f"{name}.wav"), None, 1)
        return product.meaning(product.hear(sound, GAUGE), GAUGE)

    # the words are those of cards.transcription
    assert meaning("004") in (Number(Quantity(Decimal(55), Unit.PSI)), *_asked(meaning("004")))
    assert isinstance(meaning("001"), Unclear)  # "ten of clubs"
    assert isinstance(meaning("005"), Unclear)


def _asked(meaning: Meaning) -> tuple[Meaning, ...]:
    return (meaning,) if isinstance(meaning, Unclear) else ()
