"""A walk by voice on real sound: the ear's child hears and plays, this side keeps the clock.

When the child dies or hangs it is started anew, the driver is asked to say it again, and
the time without sound is told as lost samples: nothing timed across it is judged.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from walkaround.devices.agenda import Agenda
from walkaround.devices.clock import SittingClock
from walkaround.devices.ear.child import EarChild, EarSetup
from walkaround.devices.ear.fitness import unfit
from walkaround.devices.ear.messages import Message, question_to_json, transcript_from_json
from walkaround.devices.headset_button import HeadsetButton
from walkaround.devices.model.install import pinned_model
from walkaround.devices.power import KeepAwake, battery
from walkaround.errors import MicrophoneError, RecogniserError, VoiceError
from walkaround.exchange import (
    AskKind,
    MicrophoneBack,
    MicrophoneLost,
    Prompt,
    Question,
    SamplesLost,
    StayedQuiet,
    ToneKind,
)
from walkaround.speech.ports import Arrival, Closed, Transcript, Voice, Word

_OPEN_S = 30.0
_HANG_MS = 10_000  # the child says twice a second that it lives
_LOOK_S = 1.0
_MOST_DEATHS, _DEATHS_MS = 5, 60_000


_TOO_LOUD = (
    "It is too loud here for me to be sure. Turn your back to the noise, or move away from it."
)


@dataclass(frozen=True, slots=True)
class Level:
    """Decibels over one count of 16-bit sound; None while nothing is known."""

    now_db: float = 0.0
    floor_db: float | None = None
    voice_over_floor_db: float | None = None


@dataclass(frozen=True, slots=True)
class SoundChoice:
    """Devices by name or a part of it; "" is the system's default, for `second` none."""

    microphone: str = ""
    loudspeaker: str = ""
    second: str = ""  # tells when the headset is lost
    barge_in: bool = True  # False for an open loudspeaker: half-duplex


def pressed(question: Question | None, at_ms: int) -> Transcript | None:
    """The headset's button: "continue" while the walk stands still, else "wait". Nothing before
    the first question. It is written as typed: no voice said it."""
    if question is None:
        return None
    still = question.kind is AskKind.COMMAND and not question.armed
    word = Word("continue" if still else "wait", at_ms, at_ms, 1.0)
    return Transcript(question.id, (word,), (), None, at_ms, at_ms, at_ms, typed=True)


class LiveStage:
    """Implements `speech.ports.Stage`. `write` prints what the voice cannot say."""

    def __init__(
        self,
        setup: EarSetup,
        voice: Voice,
        write: Callable[[str], None],
        sound: SoundChoice | None = None,
        clock: SittingClock | None = None,
    ) -> None:
        self._setup, self._child = setup, EarChild(setup)
        self._voice, self._write = voice, write
        self._sound = sound if sound is not None else SoundChoice()
        self._clock = clock if clock is not None else SittingClock()
        self._agenda = Agenda()
        self._listening: Message | None = None
        self._lost_sound = b""
        self._alive_ms = 0
        self._deaths_ms: list[int] = []
        self.level = Level()
        self._awake: KeepAwake | None = None
        self._button: HeadsetButton | None = None
        self._open_question: Question | None = None
        self._hand_over = self._closed = False

    @property
    def pid(self) -> int | None:
        """The child's process number, for measuring."""
        return self._child.pid

    def start(self) -> None:
        """Begin to load the model; returns at once."""
        self._child.start()

    def open(self) -> None:
        """Open microphone and loudspeaker. Raises MicrophoneError, RecogniserError."""
        self._lost_sound = self._made(MicrophoneError.spoken)
        self._child.start()
        self._open()
        self._awake = KeepAwake()
        self._button = HeadsetButton(lambda: self._child.slip_in({"event": "button"}))
        if self._button.unreadable:
            self._write(self._button.unreadable)
        own = battery()
        for warning in (unfit(self._setup, pinned_model()), own.warning() if own else ""):
            if warning:
                self._write(warning)
                self.say((), [warning])

    def hand_over(self) -> None:
        """Every utterance brings its own sound along from now on. Off unless this is called."""
        self._hand_over = True
        self._send({"do": "hand over"})

    def now_ms(self) -> int:
        return self._clock.now_ms()

    def say(self, prompts: Sequence[Prompt], sentences: Sequence[str]) -> None:
        """After what is being said. A sentence that has no sound is printed, with a tone."""
        del prompts
        for sentence in sentences:
            sound = self._made(sentence)
            if sound:
                self._send({"do": "say"}, sound)
            else:
                self._write(sentence)
                self.tone(ToneKind.UNCLEAR)

    def tone(self, kind: ToneKind) -> None:
        self._send({"do": "tone", "kind": kind.value})

    def hush(self) -> None:
        self._send({"do": "hush"})

    def listen(
        self, question: Question, grammar: Sequence[str], quiet_after_ms: int | None
    ) -> None:
        self._open_question = question
        self._listening = {
            "do": "listen",
            "question": question_to_json(question),
            "grammar": list(grammar),
            "quiet_ms": quiet_after_ms,
        }
        self._send(self._listening)

    def wake_at(self, at_ms: int, timer: str) -> None:
        self._agenda.wake_at(at_ms, timer)

    def cancel_wake(self, timer: str) -> None:
        self._agenda.cancel(timer)

    def next(self) -> Arrival:
        """Wait until something happens. Raises MicrophoneError when no sound device is left
        after the child was started anew, RecogniserError when it dies again and again."""
        while not self._closed:
            due = self._agenda.due(self.now_ms())
            if due is not None:
                return due
            try:
                got = self._child.receive(self._agenda.wait_s(self.now_ms(), _LOOK_S))
            except RecogniserError:
                return self._again()
            if got is None and self.now_ms() - self._alive_ms > _HANG_MS:
                return self._again()
            arrival = self._arrival(got[0]) if got is not None else None
            if arrival is not None:
                return arrival
        return Closed(self.now_ms())

    def close(self) -> None:
        self._closed = True
        self._child.stop()
        if self._button is not None:
            self._button.close()
            self._button = None
        if self._awake is not None:
            self._awake.close()

    def _arrival(self, message: Message) -> Arrival | None:
        self._alive_ms = now_ms = self.now_ms()
        later_ms = -self._clock.began_boot_ms
        match message.get("event"):
            case "heard":
                return transcript_from_json(message["transcript"], later_ms)
            case "quiet":
                return StayedQuiet(message["question"], message["at_ms"] + later_ms, now_ms)
            case "samples lost":
                return SamplesLost(message["lost_ms"], message["at_ms"] + later_ms, now_ms)
            case "lost":
                self._write(f"the microphone is lost: {message['why']}")
                return MicrophoneLost(message["why"], message["at_ms"] + later_ms, now_ms)
            case "alive" if "now" in message:
                self.level = Level(message["now"], message["floor"], message["over"])
                return None
            case "too loud":
                self.say((), [_TOO_LOUD])
                return None
            case "button":
                return pressed(self._open_question, now_ms)
            case "back":
                return MicrophoneBack(message["at_ms"] + later_ms, now_ms)
            case _:
                return None

    def _again(self) -> Arrival:
        """Another child; what was open is asked again."""
        lost_from_ms, now_ms = self._alive_ms, self.now_ms()
        self._deaths_ms = [at for at in self._deaths_ms if now_ms - at < _DEATHS_MS] + [now_ms]
        self._child.stop()
        if len(self._deaths_ms) > _MOST_DEATHS:
            raise RecogniserError(
                f"the recogniser stopped {_MOST_DEATHS} times in a minute;"
                " nothing is lost: resume by typing (--typed)"
            )
        self._child.start()
        self._open()
        self.say((), [RecogniserError.spoken])
        if self._listening is not None:
            self._send(self._listening)
        now_ms = self.now_ms()
        return SamplesLost(max(1, now_ms - lost_from_ms), lost_from_ms, now_ms)

    def _open(self) -> None:
        message = {
            "do": "live",
            "microphone": self._sound.microphone,
            "loudspeaker": self._sound.loudspeaker,
            "second": self._sound.second,
            "barge_in": self._sound.barge_in,
        }
        self._child.send(message, self._lost_sound)
        got = self._child.receive(_OPEN_S)
        if got is None:
            self._child.stop()
            raise MicrophoneError("the sound device does not answer; unplug it and plug it in")
        if got[0].get("event") == "refused":
            self._child.stop()
            raise MicrophoneError(str(got[0]["why"]))
        self._alive_ms = self.now_ms()
        if self._hand_over:  # of the child before, too
            self._send({"do": "hand over"})

    def _send(self, message: Message, blob: bytes = b"") -> None:
        """A child that has died is noticed by `next`, which starts another."""
        try:
            self._child.send(message, blob)
        except RecogniserError:
            return

    def _made(self, sentence: str) -> bytes:
        try:
            return self._voice.sound_of(sentence)
        except VoiceError:
            return b""
