"""The microphone tried by voice: a word here, then five numbers at the vehicle's far corner.

What a headset hears in the cab says nothing about the last axle.  The numbers are said one by
one and repeated by the driver; how many were taken, and how loud it was, is kept.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict, dataclass
from decimal import Decimal
from pathlib import Path

from walkaround.devices.disk import make_folder, write_finished
from walkaround.devices.regular import KEY_BYTES, read_regular
from walkaround.exchange import (
    AskKind,
    Command,
    Meaning,
    MicrophoneLost,
    Number,
    Question,
    Said,
    Stake,
    StayedQuiet,
    Yes,
)
from walkaround.quantity import Kind, Quantity, Unit
from walkaround.speech import cardinals
from walkaround.speech.grammar import grammar_for
from walkaround.speech.phrases import Phrasebook
from walkaround.speech.ports import Closed, Stage, Transcript
from walkaround.speech.thresholds import Thresholds
from walkaround.speech.understand import understand

SOUND_TRIAL = "sound-trial.json"
"""The kept result, in the person's own folder."""
NUMBERS = (105, 50, 118, 15, 92)
"""Among them the pair that is taken for each other, and a nought in the middle."""
ENOUGH = 4  # of the five
_QUIET_MS, _FAR_MS, _SAID_MS = 10_000, 300_000, 500
_HERE = Question("sound.here", AskKind.YES_NO, Stake.CAUTION)
_FAR = Question("sound.far", AskKind.COMMAND)
_NUMBER = Question(
    "sound.number", AskKind.NUMBER, Stake.READING, Kind.PRESSURE, Unit.PSI, Decimal(0), Decimal(150)
)
NOT_FOUND = (
    "I do not hear you. Is the microphone muted, or another one meant? Choose it by --microphone."
)


@dataclass(frozen=True, slots=True)
class TrialResult:
    """What was found. Decibels as in `stage_live.Level`; None where nobody spoke."""

    when: str  # RFC 3339
    microphone: str
    heard_here: bool
    said: int  # numbers at the far corner
    right: int
    wrong: int
    voice_over_floor_db: float | None

    @property
    def good(self) -> bool:
        return self.heard_here and self.wrong == 0 and self.right >= ENOUGH

    def sentence(self) -> str:
        """For the driver, with a way on."""
        if not self.heard_here:
            return NOT_FOUND
        if not self.said:
            return "The far corner was not tried. Run this again when you can walk there."
        text = f"{self.right} of {self.said} numbers taken at the far corner"
        text += f", {self.wrong} of them wrongly." if self.wrong else "."
        if self.good:
            return text
        return (
            f"{text} Come nearer to the base, move the boom to your mouth, or use a cable,"
            " and try again."
        )


@dataclass(frozen=True, slots=True)
class _Trial:
    stage: Stage
    phrases: Phrasebook
    thresholds: Thresholds

    def asked(self, sentences: list[str], question: Question, quiet_ms: int) -> Meaning | None:
        """One answer; None when nobody answered or the microphone went."""
        self.stage.say((), sentences)
        self.stage.listen(question, grammar_for(question, self.phrases), quiet_ms)
        while True:
            arrival = self.stage.next()
            if isinstance(arrival, StayedQuiet | MicrophoneLost | Closed):
                return None
            if isinstance(arrival, Transcript) and arrival.question == question.id:
                return understand(arrival, question, self.phrases, self.thresholds).meaning


def sound_trial(
    stage: Stage,
    phrases: Phrasebook,
    thresholds: Thresholds,
    over_floor_db: Callable[[], float | None],
    *,
    when: str,
    microphone: str,
) -> TrialResult:
    """Hold the trial on an open stage. What goes wrong is a result, not an error."""
    trial = _Trial(stage, phrases, thresholds)
    here = trial.asked(
        ["Let us try the microphone.", "If you hear me, answer yes, please."], _HERE, _QUIET_MS
    )
    right = wrong = said = 0
    if here == Yes() and _walked(trial):
        for number in NUMBERS:
            meaning = trial.asked(
                [f"Repeat after me: {cardinals.cardinal(number, 'and')}, please."],
                _NUMBER,
                _QUIET_MS,
            )
            said += 1
            if isinstance(meaning, Number):
                right += meaning.value == Quantity(Decimal(number), Unit.PSI)
                wrong += meaning.value != Quantity(Decimal(number), Unit.PSI)
    result = TrialResult(when, microphone, here == Yes(), said, right, wrong, over_floor_db())
    trial.asked([result.sentence()], _FAR, _SAID_MS)
    return result


def _walked(trial: _Trial) -> bool:
    """Whether the driver says that he is there."""
    meaning = trial.asked(
        [
            "I hear you.",
            "Now walk to the far corner of the vehicle, and say continue when you are there.",
        ],
        _FAR,
        _FAR_MS,
    )
    while meaning is not None and meaning != Said(Command.CONTINUE):
        if meaning == Said(Command.STOP):
            return False
        meaning = trial.asked(["Say continue when you are there."], _FAR, _FAR_MS)
    return meaning is not None


def keep(result: TrialResult, path: Path) -> None:
    """Into a file, whole or not at all. Raises DiskError."""
    make_folder(path.parent)
    write_finished(path, (json.dumps(asdict(result), indent=1) + "\n").encode())


def last_kept(path: Path) -> TrialResult | None:
    """The last trial; None when there was none or the file is not one of ours."""
    try:
        return TrialResult(**json.loads(read_regular(path, KEY_BYTES)))
    except (OSError, ValueError, TypeError):
        return None
