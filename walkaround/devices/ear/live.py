"""The child's loop with a real microphone: blocks and commands from one queue, in order.

    live     open the streams; a sound for the second loudspeaker comes with it
    listen   a question, its grammar, how long to wait for a voice
    say      a sentence's sound     tone   its kind     hush  leave the rest unsaid
    hand over  bring the sound of each utterance along; not unless it is said

Told: heard, quiet, samples lost, lost (why), back, open, too loud, alive (twice a second,
with the levels).
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from typing import IO, Any

from walkaround.devices.clock import boot_ms
from walkaround.devices.ear.listener import Senses
from walkaround.devices.ear.live_hearing import LiveHearing
from walkaround.devices.ear.messages import Message, question_from_json, read_message
from walkaround.devices.ear.player import Player, tone_sound
from walkaround.devices.ear.streams import Block, Streams, play_on
from walkaround.errors import MicrophoneError
from walkaround.exchange import ToneKind

_TICK_S = 0.1
_ALIVE_MS = 500
_SILENT_MS = 1000  # a stream may be active and never call back
_REOPEN_MS = 2000
Tell = Callable[[Message], None]


class LiveEar:
    """Runs until the other side closes."""

    def __init__(
        self, options: Message, lost_sound: bytes, senses: Callable[[], Senses | None], tell: Tell
    ) -> None:
        """`senses` gives None until the model is loaded: till then sound is kept, and spoken."""
        self._inbox: queue.SimpleQueue[Any] = queue.SimpleQueue()
        self._player = Player()
        self._senses, self._barge_in = senses, bool(options["barge_in"])
        self._hearing: LiveHearing | None = None
        self._waiting: list[Callable[[LiveHearing], None]] = []
        self._streams = Streams(
            self._inbox, self._player, options["microphone"], options["loudspeaker"]
        )
        self._second, self._lost_sound, self._tell = options["second"], lost_sound, tell
        self._lost = False
        self._alive_ms = self._tried_ms = boot_ms()

    def run(self, commands: IO[bytes]) -> None:
        """Raises MicrophoneError when the streams cannot be opened at the start."""
        self._streams.open()
        self._tell({"event": "open"})
        threading.Thread(target=self._read, args=(commands,), daemon=True).start()
        while True:
            try:
                item = self._inbox.get(timeout=_TICK_S)
            except queue.Empty:
                item = False
            if item is None:
                return
            if isinstance(item, Block):
                self._take(item)
            elif item:
                self._do(*item)
            self._watch(boot_ms())

    def _read(self, commands: IO[bytes]) -> None:
        while (got := read_message(commands)) is not None:
            self._inbox.put(got)
        self._inbox.put(None)

    def _do(self, message: Message, blob: bytes) -> None:
        match message["do"]:
            case "listen":
                question = question_from_json(message["question"])
                grammar, quiet_ms = message["grammar"], message["quiet_ms"]
                self._tell_hearing(lambda ear: ear.listen(question, grammar, quiet_ms))
            case "say":
                self._player.say(blob)
            case "tone":
                self._player.tone(tone_sound(ToneKind(message["kind"])))
            case "hand over":
                self._tell_hearing(LiveHearing.hand_over)
            case "hush":
                self._player.drop()

    def _take(self, block: Block) -> None:
        if block.generation != self._streams.generation:
            return
        if self._lost:
            self._lost = False
            self._tell({"event": "back", "at_ms": block.at_ms})
        sound = self._streams.at_16_khz(block)
        self._tell_hearing(lambda ear: ear.take(sound, block.at_ms, block.overflow))

    def _tell_hearing(self, what: Callable[[LiveHearing], None]) -> None:
        """At once, or in order when the model is loaded."""
        self._waiting.append(what)
        senses = self._senses() if self._hearing is None else None
        if senses is not None:
            self._hearing = LiveHearing(senses, self._player, self._tell, self._barge_in)
        if self._hearing is not None:
            waiting, self._waiting = self._waiting, []
            for one in waiting:
                one(self._hearing)

    def _watch(self, now_ms: int) -> None:
        if now_ms - self._alive_ms >= _ALIVE_MS:
            self._alive_ms = now_ms
            self._tell({"event": "alive", **self._level()})
        if not self._lost and now_ms - self._streams.last_ms > _SILENT_MS:
            self._lose(now_ms)
        elif self._lost and now_ms - max(self._tried_ms, self._streams.last_ms) > _REOPEN_MS:
            self._tried_ms = now_ms
            self._reopen()

    def _level(self) -> Message:
        """Decibels over one count: what comes in, the floor, and the voice over it."""
        if self._hearing is None:
            return {}
        levels = self._hearing.levels
        return {"now": levels.now_db, "floor": levels.floor_db, "over": levels.over_floor_db}

    def _lose(self, now_ms: int) -> None:
        self._lost = True
        self._tell_hearing(LiveHearing.interrupt)
        self._streams.close()
        self._tell({"event": "lost", "why": "no sound comes in any more", "at_ms": now_ms})
        if self._second and self._lost_sound:
            play_on(self._second, self._lost_sound)

    def _reopen(self) -> None:
        try:
            self._streams.open()
        except MicrophoneError:
            return  # still gone: tried again in two seconds
