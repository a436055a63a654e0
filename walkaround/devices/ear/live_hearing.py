"""Hearing while sound comes in: which question, over a prompt or not, quiet, lost, unfit.

Knows no sound library: blocks, the time and a player come in, messages go out.  All times
told are boot-clock milliseconds; the clock is the first block's arrival plus samples.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import replace

from walkaround.devices.ear.levels import Levels
from walkaround.devices.ear.listener import Listener, Senses, Sign, Utterance, VoiceBegan
from walkaround.devices.ear.messages import Message, transcript_to_json
from walkaround.devices.ear.player import Player, tone_sound
from walkaround.devices.ear.recent import Recent
from walkaround.devices.ear.soundcheck import SoundCheck
from walkaround.devices.ear.times import transcript_of
from walkaround.devices.ear.wholes import Wholes
from walkaround.exchange import AskKind, Question, ToneKind
from walkaround.speech.ports import SAMPLES_PER_SECOND
from walkaround.speech.turns import Paused

_PER_MS = SAMPLES_PER_SECOND // 1000
_ECHO = 300 * _PER_MS  # a loudspeaker's last word still sounds in the room
_SUSTAINED = 200 * _PER_MS  # so long a voice stops a prompt
_MOST_HOLDS = 2  # of one stretch of prompts: after that it is its own echo
_BEFORE_BYTES = SAMPLES_PER_SECOND  # half a second
_GAP_MS, _SEEN = 200, 10  # so late, so many blocks running: lost; a busy machine catches up


class LiveHearing:
    """Feed it every block; it tells what was heard.

    `barge_in` is for headsets: a person may speak over a prompt.  Without it (a loudspeaker)
    nothing is heard until a prompt and its echo are over.  `follow_noise` makes our own voice
    softer where it is quiet.
    """

    def __init__(
        self,
        senses: Senses,
        player: Player,
        tell: Callable[[Message], None],
        barge_in: bool = True,
        follow_noise: bool = True,
    ) -> None:
        self._senses, self._player, self._tell, self._barge_in = senses, player, tell, barge_in
        self._commands = {said for group in senses.phrases.commands.values() for said in group}
        self._wholes = Wholes(senses)
        self._check = SoundCheck()
        self.levels, self._follow_noise = Levels(), follow_noise
        self._listener: Listener | None = None
        self._next: tuple[Question, Sequence[str]] | None = None
        self._count = 0  # samples since the anchor
        self._anchor_ms: int | None = None
        self._late: deque[tuple[int, int]] = deque(maxlen=_SEEN)  # sample, milliseconds late
        self._overflow = False
        self._before = b""
        self._echo = 0 if barge_in else _ECHO
        self._spoke_until = -_ECHO
        self._quiet_ms: int | None = None
        self._quiet_from = 0
        self._voice_from: int | None = None
        self._over_prompt = False
        self._holds = 0
        self._refused = ""
        self._recent: Recent | None = None

    def hand_over(self) -> None:
        """From now on every utterance brings its own sound along."""
        self._recent = self._recent or Recent(self._count)

    def listen(self, question: Question, grammar: Sequence[str], quiet_ms: int | None) -> None:
        """Hear this question from now on; who is speaking still answers the one before."""
        self._quiet_ms, self._quiet_from = quiet_ms, self._count
        now = self._listener.question if self._listener else None
        if now == question and question.armed and self._next is None:
            return  # a timed interval goes on without a break
        self._next = (question, tuple(grammar))

    def take(self, block: bytes, now_ms: int, overflow: bool = False) -> None:
        """The next block, which arrived at `now_ms`; `overflow`: some before it was lost."""
        self._keep_time(len(block) // 2, now_ms, overflow)
        self._watch_prompt()
        self._check.take(block)
        self._refuse(now_ms)
        self._watch_level(block)
        if not self._barge_in and self._count < self._spoke_until + self._echo:
            block = bytes(len(block))
        self._turn_to_next()
        if self._recent is not None:
            self._recent.take(block)
        self._count += len(block) // 2
        self._before = (self._before + block)[-_BEFORE_BYTES:]
        self._wholes.take(block)
        for sign in self._listener.feed(block) if self._listener else []:
            self._follow(sign)
        self._hold_prompt()
        self._tell_quiet(now_ms)

    def interrupt(self) -> None:
        """The stream stopped: forget an open utterance, count anew at the next block."""
        if self._listener is not None:
            self._next = self._next or (self._listener.question, self._listener.grammar)
            self._listener.drop()
        self._listener, self._anchor_ms, self._before = None, None, b""
        self._wholes.forget()
        self._late.clear()
        self._voice_from = None
        self._check = SoundCheck()
        self._refused = ""
        self._player.resume()

    def _keep_time(self, samples: int, now_ms: int, overflow: bool) -> None:
        if self._anchor_ms is None:
            self._anchor_ms = now_ms - (self._count + samples) // _PER_MS
            return
        late_ms = now_ms - self._ms(self._count + samples)
        if late_ms < 0:  # no block arrives before it was: the first one was late
            self._anchor_ms += late_ms
            late_ms = 0
        self._overflow = self._overflow or overflow
        self._late.append((self._count, late_ms))
        least_ms = min(late for _, late in self._late)
        if len(self._late) < _SEEN or not (self._overflow or least_ms > _GAP_MS):
            return
        at_ms = self._ms(self._late[0][0])
        self._tell({"event": "samples lost", "lost_ms": max(least_ms, 1), "at_ms": at_ms})
        self._anchor_ms += least_ms
        self._overflow = False
        self._late.clear()

    def _ms(self, sample: int) -> int:
        return (self._anchor_ms or 0) + sample // _PER_MS

    def _watch_prompt(self) -> None:
        if self._player.sounding:
            self._spoke_until = self._count
        elif not self._player.waiting:
            self._holds = 0

    def _watch_level(self, block: bytes) -> None:
        """Our own voice follows the noise; while it sounds, the noise is not measured by it."""
        if not self._player.sounding or self._barge_in:
            self.levels.take(block, self._listener is not None and self._listener.in_turn)
        if self._follow_noise:
            self._player.gain = self.levels.gain

    def _refuse(self, now_ms: int) -> None:
        if self._check.complaint == self._refused:
            return
        self._refused = self._check.complaint
        if self._refused:
            self._tell({"event": "lost", "why": self._refused, "at_ms": now_ms})
        else:
            self._tell({"event": "back", "at_ms": now_ms})

    def _turn_to_next(self) -> None:
        if self._next is None or (self._listener is not None and self._listener.in_turn):
            return
        (question, grammar), self._next = self._next, None
        self._listener = Listener(self._senses, question, grammar, self._count, self._before)

    def _follow(self, sign: Sign) -> None:
        match sign:
            case VoiceBegan():
                self._voice_from = sign.sample
                self._over_prompt = sign.sample < self._spoke_until + self._echo
            case Paused():
                self._noticed()
            case Utterance():
                self._ended(sign)

    def _noticed(self) -> None:
        """A tone, long before the answer is settled: the driver knows that he was heard.
        Not over a prompt, and not where a mark is taken: that has a tone of its own."""
        question = self._listener.question if self._listener else None
        if question is None or question.kind is AskKind.MARK or self._over_prompt:
            return
        self._player.tone(tone_sound(ToneKind.HEARD))

    def _ended(self, heard: Utterance) -> None:
        self._voice_from = None
        since_bytes = (self._count - heard.end) * 2
        self._before = self._before[-since_bytes:] if since_bytes > 0 else b""
        self._quiet_from = self._count
        transcript = transcript_of(heard, self._ms(0), self._over_prompt, self._whole(heard))
        if self._recent is not None:
            first, sound = self._recent.cut(heard.begin, heard.end)
            transcript = replace(transcript, sound=sound, sound_from_ms=self._ms(first))
        if self._over_prompt and transcript.text in self._commands:
            self._player.drop()
        self._player.resume()
        self._tell({"event": "heard", "transcript": transcript_to_json(transcript)})
        self.levels.turn_ended()
        if self.levels.too_loud():
            self._tell({"event": "too loud"})

    def _whole(self, heard: Utterance) -> Utterance | None:
        now = self._listener
        return None if now is None else self._wholes.of(heard, now.question, now.grammar)

    def _hold_prompt(self) -> None:
        """A sustained voice stops the prompt: capture never ends, and a person comes first."""
        if self._voice_from is None or not self._player.sounding or self._holds >= _MOST_HOLDS:
            return
        if self._count - self._voice_from >= _SUSTAINED:
            self._holds += 1
            self._player.hold()

    def _tell_quiet(self, now_ms: int) -> None:
        if self._quiet_ms is None or self._listener is None or self._player.waiting:
            return
        if self._listener.in_turn:
            self._quiet_from = self._count
            return
        since = max(self._quiet_from, self._spoke_until)
        if self._count - since >= self._quiet_ms * _PER_MS:
            self._quiet_ms = None
            self._tell(
                {
                    "event": "quiet",
                    "question": self._listener.question.id,
                    "at_ms": self._ms(self._count),
                    "arrived_ms": now_ms,
                }
            )
