"""One walk: wait for what arrives, understand it, advance, do the effects in order.

The walk is handed everything it touches and owns none of it.  Replay is the same
fold over the events of a journal, with nothing performed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from walkaround.engine.advance import advance
from walkaround.engine.state import Phase, State
from walkaround.exchange import (
    CancelWake,
    Effect,
    Event,
    Finish,
    Heard,
    Judge,
    Judged,
    Listen,
    Prompt,
    Question,
    Said,
    Say,
    SittingOpened,
    Tone,
    Unclear,
    Verdict,
    WakeAt,
    Wanted,
    Write,
)
from walkaround.procedure.model import Plan
from walkaround.records.journal import (
    Closing,
    Ended,
    Head,
    write_closing,
    write_event,
    write_head,
    write_said,
    write_sound,
)
from walkaround.records.keys import SigningKey
from walkaround.records.signature import WalkKind
from walkaround.records.sound import Clip
from walkaround.speech.going_on import heard_on
from walkaround.speech.grammar import grammar_for
from walkaround.speech.phrases import Phrasebook
from walkaround.speech.phrasing import render
from walkaround.speech.ports import Arrival, Closed, Stage, Transcript
from walkaround.speech.thresholds import Thresholds
from walkaround.speech.understand import understand


class Disk(Protocol):
    """Whole lines, on the disk when the call returns. Raises DiskError."""

    def append(self, entry: bytes) -> None: ...


class Recorder(Protocol):
    """Keeps the sound of answers, where that was asked for."""

    def pack(self, question: str, from_ms: int, sound: bytes) -> tuple[Clip, bytes]:
        """What the journal says of a recording, and its file."""
        ...

    def keep(self, clip: Clip, content: bytes) -> None:
        """The file, once the journal names it; never stops a walk."""
        ...


JudgeOf = Callable[[str, Sequence[Wanted]], tuple[Verdict, ...]]
"""A step's id and its measures -> verdicts; composed of air and rules by the caller."""


@dataclass(frozen=True, slots=True)
class Language:
    """The words of a walk: what may be said, how it is heard, how strict the ear is."""

    phrases: Phrasebook
    thresholds: Thresholds


class Keeper:
    """Writes the journal: one sync for an event and whatever was said since the last."""

    def __init__(
        self,
        disk: Disk,
        head: Head,
        kind: WalkKind,
        key: SigningKey | None,
        recorder: Recorder | None = None,
    ) -> None:
        self.head, self._disk, self._kind, self._key = head, disk, kind, key
        self._recorder = recorder
        self._sound: tuple[Clip, bytes] | None = None  # of the event that comes next
        self._waiting: list[bytes] = []

    def sound_of(self, answer: Transcript) -> None:
        """The sound of the answer that the next event takes; nothing where none is kept."""
        if self._recorder is not None and answer.sound:
            self._sound = self._recorder.pack(answer.question, answer.sound_from_ms, answer.sound)

    def event(self, event: Event) -> None:
        """On disk when this returns, with the head signed when it is due."""
        line, self.head = write_event(self.head, event)
        self._waiting.append(line)
        sound, self._sound = self._sound, None
        if sound is not None:
            line, self.head = write_sound(self.head, sound[0])
            self._waiting.append(line)
        if self._key is not None and self.head.due:
            self._sign()
        self._flush()
        if sound is not None and self._recorder is not None:
            self._recorder.keep(*sound)

    def said(self, prompts: Iterable[Prompt], at_ms: int) -> None:
        """What was spoken goes to disk with the next event."""
        line, self.head = write_said(self.head, prompts, at_ms)
        self._waiting.append(line)

    def closing(self, closing: Closing) -> None:
        """The end of the walk, its head signed before it."""
        if self._key is not None:
            self._sign()
        line, self.head = write_closing(self.head, closing)
        self._waiting.append(line)
        self._flush()

    def _sign(self) -> None:
        assert self._key is not None
        line, self.head = write_head(self.head, self._key, self._kind)
        self._waiting.append(line)

    def _flush(self) -> None:
        content, self._waiting = b"".join(self._waiting), []
        self._disk.append(content)


class Walk:
    """A walk under way. `watch` is shown every event and the state after it; it may do nothing."""

    def __init__(
        self,
        plan: Plan,
        stage: Stage,
        keeper: Keeper,
        judge: JudgeOf,
        language: Language,
        *,
        state: State | None = None,
        watch: Callable[[Event, State], None] = lambda _event, _state: None,
    ) -> None:
        self.plan, self.state = plan, state or State()
        self._stage, self._keeper, self._judge = stage, keeper, judge
        self._language, self._watch = language, watch
        self._question: Question | None = None
        self._before: Question | None = None  # the one that was open before it
        self.ended: Ended | None = None

    def run(self, opening: SittingOpened) -> Ended | None:
        """Walk until it is finished or stopped; None when the input closed before that.

        Raises DiskError; everything heard before it is on disk.
        """
        self._take(opening)
        while self.ended is None:
            arrival = self._stage.next()
            if isinstance(arrival, Closed):
                return None
            event = self._event_of(arrival)
            if event is not None:
                if isinstance(arrival, Transcript) and _is_answer(event):
                    # what went on is filed under the question that it goes on with
                    whole = arrival.whole if isinstance(event, Heard) and event.went_on else None
                    filed = arrival if whole is None else replace(arrival, question=whole.question)
                    self._keeper.sound_of(filed)
                self._take(event)
        return self.ended

    def _event_of(self, arrival: Arrival) -> Event | None:
        if isinstance(arrival, Closed):
            return None
        if not isinstance(arrival, Transcript):
            return arrival
        question = self._question
        if question is None:
            return None
        whole = self._went_on(arrival, question)
        if whole is not None:
            return whole
        heard = understand(arrival, question, self._language.phrases, self._language.thresholds)
        if arrival.question != question.id and not isinstance(heard.meaning, Said):
            # Begun under a question that has since been closed: only a command still counts.
            return None
        return heard

    def _went_on(self, arrival: Transcript, question: Question) -> Heard | None:
        if arrival.whole is None:
            return None
        before = question if arrival.whole.question == question.id else self._before
        if before is None:
            return None
        return heard_on(arrival, before, self._language.phrases, self._language.thresholds)

    def _take(self, event: Event) -> None:
        waiting: list[Event] = [event]
        while waiting:
            now = waiting.pop(0)
            self.state, effects = advance(self.plan, self.state, now)
            self._watch(now, self.state)
            if isinstance(now, Heard) and now.went_on and len(effects) > 1:
                self._stage.hush()  # what was being said rested on half an answer
            for effect in effects:
                waiting.extend(self._perform(effect))

    def _perform(self, effect: Effect) -> tuple[Event, ...]:
        match effect:
            case Write(event):
                self._keeper.event(event)
            case Say(prompts):
                sentences = render(prompts, self._language.phrases, self.plan)
                self._keeper.said(prompts, self._stage.now_ms())
                self._stage.say(prompts, sentences)
            case Tone(kind):
                self._stage.tone(kind)
            case Listen(question, quiet_after_ms):
                if self._question is not None and self._question.id != question.id:
                    self._before = self._question
                self._question = question
                grammar = grammar_for(question, self._language.phrases)
                self._stage.listen(question, grammar, quiet_after_ms)
            case WakeAt(at_ms, timer):
                self._stage.wake_at(at_ms, timer)
            case CancelWake(timer):
                self._stage.cancel_wake(timer)
            case Judge(step, wanted):
                now = self._stage.now_ms()
                return (Judged(step, self._judge(step, wanted), now, now),)
            case Finish(how):
                self.ended = Ended(how)
                self._keeper.closing(closing_for(self.state, self.ended, self._stage.now_ms()))
        return ()


def _is_answer(event: Event) -> bool:
    """Only an answer's sound is ever kept: not a command, and not what was not understood,
    which may be somebody else's talk."""
    return isinstance(event, Heard) and not isinstance(event.meaning, (Unclear, Said))


def closing_for(state: State, how: Ended, at_ms: int) -> Closing:
    """What stands at the end: the engine's own list, kept with the journal."""
    return Closing(
        how=how,
        at_ms=at_ms,
        given=tuple(state.given.values()),
        done=state.done,
        not_done=state.not_done,
    )


def replay(plan: Plan, events: Iterable[Event]) -> State:
    """The state after these events, with nothing performed. Raises IllegalMoveError."""
    state = State()
    for event in events:
        state, _ = advance(plan, state, event)
    return state


def may_go_on(state: State) -> bool:
    """Whether a walk in this state can be taken up again."""
    return state.phase not in (Phase.CLOSED,) and bool(state.queue or state.to_judge)
