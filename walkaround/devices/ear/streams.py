"""The microphone and the loudspeakers by PortAudio, opened and closed on one thread only.

PortAudio is loaded when streams are first wanted: without it everything but live sound works.
A device list is frozen when PortAudio starts, so that a reopening starts it anew.
"""

from __future__ import annotations

import contextlib
import importlib
import queue
import time
from dataclasses import dataclass
from typing import Any

from walkaround.devices.clock import boot_ms
from walkaround.devices.ear.player import Player
from walkaround.devices.resample import Resampler, resampled
from walkaround.errors import MicrophoneError
from walkaround.speech.ports import SAMPLES_PER_SECOND

BLOCK = SAMPLES_PER_SECOND // 20  # 50 ms
_TELEPHONE_HZ = 8000
_NO_PORTAUDIO = "PortAudio is missing; run: sudo apt-get install -y libportaudio2"


@dataclass(frozen=True, slots=True)
class Block:
    """Sound as it came, with the rate of the device and whether some was lost before it."""

    sound: bytes
    at_ms: int  # boot clock when the device handed it over
    overflow: bool
    generation: int  # of the stream: blocks of a closed one are late


def sound_library() -> Any:
    """The sounddevice module. Raises MicrophoneError where PortAudio is not installed."""
    try:
        return importlib.import_module("sounddevice")
    except OSError:
        raise MicrophoneError(_NO_PORTAUDIO) from None


def device_names() -> tuple[list[str], list[str]]:
    """Names of inputs and outputs. Raises MicrophoneError without PortAudio."""
    devices = list(sound_library().query_devices())
    return (
        [str(one["name"]) for one in devices if one["max_input_channels"] > 0],
        [str(one["name"]) for one in devices if one["max_output_channels"] > 0],
    )


class Streams:
    """One input and one output stream. Callbacks only copy."""

    def __init__(
        self, inbox: queue.SimpleQueue[Any], player: Player, microphone: str, loudspeaker: str
    ) -> None:
        self._inbox, self._player = inbox, player
        self._microphone, self._loudspeaker = microphone or None, loudspeaker or None
        self._library: Any = None
        self._open: list[Any] = []
        self._resampler: Resampler | None = None
        self.generation = 0
        self.last_ms = boot_ms()  # when the microphone last called back

    def open(self) -> None:
        """Raises MicrophoneError with the reason; nothing stays open then."""
        self._library = sound_library()
        self.last_ms = boot_ms()
        try:
            self._open_input()
            self._open_output()
        except (self._library.PortAudioError, ValueError) as bad:
            self.close()
            raise MicrophoneError(f"the sound device cannot be opened ({bad}); check it") from bad

    def close(self) -> None:
        """Close what is open and forget the frozen list of devices."""
        self.generation += 1
        streams, self._open = self._open, []
        for stream in streams:
            with contextlib.suppress(self._library.PortAudioError):
                stream.abort()
                stream.close()
        if self._library is not None:
            with contextlib.suppress(self._library.PortAudioError):
                self._library._terminate()
                self._library._initialize()

    def at_16_khz(self, block: Block) -> bytes:
        return self._resampler.feed(block.sound) if self._resampler else block.sound

    def _open_input(self) -> None:
        generation = self.generation

        def copy(sound: Any, frames: int, times: Any, status: Any) -> None:
            del frames, times
            self.last_ms = boot_ms()
            overflow = bool(status.input_overflow)
            self._inbox.put(Block(bytes(sound), self.last_ms, overflow, generation))

        rate, stream = self._first_that_opens(self._library.RawInputStream, self._microphone, copy)
        self._resampler = None if rate == SAMPLES_PER_SECOND else Resampler(rate, 16_000)
        self._open.append(stream)

    def _open_output(self) -> None:
        rates: list[int] = []

        def fill(sound: Any, frames: int, times: Any, status: Any) -> None:
            del times, status
            if rates[0] == SAMPLES_PER_SECOND:
                sound[:] = self._player.pull(frames * 2)
                return
            wanted = -(-frames * SAMPLES_PER_SECOND // rates[0])
            made = resampled(self._player.pull(wanted * 2), SAMPLES_PER_SECOND, rates[0])
            sound[:] = made[: frames * 2].ljust(frames * 2, b"\0")

        rates.append(SAMPLES_PER_SECOND)
        rate, stream = self._first_that_opens(
            self._library.RawOutputStream, self._loudspeaker, fill, rates
        )
        rates[0] = rate
        self._open.append(stream)

    def _first_that_opens(
        self, kind: Any, device: str | None, callback: Any, rates: list[int] | None = None
    ) -> tuple[int, Any]:
        """16 kHz, else the device's own rate."""
        side = "input" if kind is self._library.RawInputStream else "output"
        own = int(self._library.query_devices(device, side)["default_samplerate"])
        if side == "input" and own <= _TELEPHONE_HZ:
            raise MicrophoneError(
                "the microphone gives telephone sound (8 kHz); choose another or its 16 kHz profile"
            )
        for rate in (SAMPLES_PER_SECOND, own):
            if rates is not None:
                rates[0] = rate
            try:
                stream = kind(
                    samplerate=rate,
                    device=device,
                    channels=1,
                    dtype="int16",
                    blocksize=BLOCK * rate // SAMPLES_PER_SECOND,
                    latency="high",
                    callback=callback,
                )
                stream.start()
            except self._library.PortAudioError:
                if rate == own:
                    raise
            else:
                return rate, stream
        raise MicrophoneError("the sound device opens at no rate; check it")


def play_on(loudspeaker: str, sound: bytes) -> bool:
    """Say something on another output, to its end; whether that went well."""
    library = sound_library()
    try:
        rate = SAMPLES_PER_SECOND
        with library.RawOutputStream(
            samplerate=rate, device=loudspeaker, channels=1, dtype="int16"
        ) as stream:
            stream.write(sound)
            time.sleep(0.2)  # what is still in the device's own buffer
    except (library.PortAudioError, ValueError):
        return False
    return True
