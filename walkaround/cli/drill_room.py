"""Carries out a drill or a round of questions: says, listens, moves the truck, keeps the record.

The truck's minutes are not waited for, but they count: what the record says of time is the
sitting's own plus what the simulated hands took.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from walkaround.cli.drill_turns import Turn
from walkaround.exchange import (
    Because,
    Choice,
    Event,
    Given,
    Heard,
    MicrophoneLost,
    Question,
    SittingOpened,
    Unclear,
)
from walkaround.learning.drill import Do, Effect, End, Listen, Note, Shown, Tell
from walkaround.learning.showing import Showing, Told
from walkaround.records.journal import Closing, Ended
from walkaround.simulated.desk import Desk
from walkaround.speech.ports import Closed, Stage, Transcript
from walkaround.walk import Keeper

_NOT_MADE_OUT = "not made out"
_LOST = "I do not hear you any more. Check the headset. Nothing is lost."


class Talk(Protocol):
    """A drill or a quiz behind one face: answers and what was shown in, effects out."""

    def open(self) -> Sequence[Effect]: ...

    def answered(self, words: str) -> Sequence[Effect]: ...

    def shown(self, what: Shown) -> Sequence[Effect]: ...

    def listening(self) -> tuple[Question, Sequence[str]]:
        """What is listened for now, with its grammar."""
        ...

    def words(self, transcript: Transcript) -> str: ...

    def undone(self) -> dict[str, str]:
        """Steps to be named as not done in the record, with why."""
        ...


Show = Callable[[str, Sequence[Told], dict[str, Given], int], Showing]
"""(step, what was told, answers so far, sitting) -> what came of it."""
_AGAIN = "repeat"
"""Puts the open question once more, after an interruption."""


def _note_nothing(_turn: Turn) -> None:
    """Nobody goes on with it later."""


@dataclass(slots=True)
class _Kept:
    """What goes into the record's closing."""

    given: dict[str, Given] = field(default_factory=dict)
    done: list[str] = field(default_factory=list)


class Room:
    """One sitting of practice. `sentences` cuts a text for the voice, or leaves it whole."""

    def __init__(
        self,
        talk: Talk,
        stage: Stage,
        keeper: Keeper,
        *,
        sentences: Callable[[str], Sequence[str]],
        desk: Desk | None = None,
        show: Show | None = None,
        note: Callable[[Turn], None] = _note_nothing,
    ) -> None:
        self._talk, self._stage, self._keeper = talk, stage, keeper
        self._sentences, self._desk, self._show = sentences, desk, show
        self._note_turn = note
        self._skipped_ms = 0
        self._sitting = 1
        self._kept = _Kept()
        self._typed = False
        self._did: list[int] = []
        self._again: list[int] | None = None
        """Moments of a turn that is gone through once more: nothing of it is said or written."""
        self._begun = False
        self.ended: Ended | None = None

    def now_ms(self) -> int:
        """Milliseconds of the sitting, the truck's minutes counted in."""
        return self._stage.now_ms() + self._skipped_ms

    def run(self, opening: SittingOpened) -> Ended:
        """Until the end, or until no more input comes. Raises DiskError."""
        self._keeper.event(opening)
        self._sitting = opening.sitting
        if self._begun:
            self._perform(self._talk.answered(_AGAIN))
        else:
            self._turn(None)
        while self.ended is None:
            arrival = self._stage.next()
            if isinstance(arrival, Closed):
                self.ended = Ended.STOPPED
            elif isinstance(arrival, MicrophoneLost):
                self._stage.say((), (_LOST,))
            elif isinstance(arrival, Transcript):
                self._typed = arrival.typed
                self._turn(self._talk.words(arrival))
        self._close(self.ended)
        return self.ended

    def _turn(self, said: str | None) -> None:
        self._did = []
        self._perform(self._talk.open() if said is None else self._talk.answered(said))
        if self.ended is None:
            self._note_turn(Turn(self._sitting, said, tuple(self._did)))

    def go_through(self, turns: Sequence[Turn]) -> None:
        """Bring the talk and the truck to where they were in earlier sittings."""
        for turn in turns:
            self._begun, self._sitting, self._again = True, turn.sitting, list(turn.did)
            said = turn.said
            self._perform(self._talk.open() if said is None else self._talk.answered(said))
        self._again, self._skipped_ms = None, 0

    def _perform(self, effects: Sequence[Effect]) -> None:
        waiting = list(effects)
        while waiting:
            effect = waiting.pop(0)
            match effect:
                case Tell(text):
                    if self._again is None:
                        self._stage.say((), self._sentences(text))
                case Note():
                    self._note(effect)
                case Do(name):
                    waiting = [*waiting, *self._do(name)]
                case Listen() if self._again is None:
                    question, grammar = self._talk.listening()
                    self._stage.listen(question, grammar, None)
                case End(complete):
                    self.ended = Ended.COMPLETE if complete else Ended.STOPPED

    def _do(self, name: str) -> Sequence[Effect]:
        if self._desk is None or self._show is None:
            raise ValueError("there is no truck here to do that with")
        now_ms = self._again.pop(0) if self._again else self.now_ms()
        self._did.append(now_ms)
        shift_ms, began_ms = now_ms - self._desk.now_ms, self._desk.now_ms
        told = [
            Told(
                each.ask,
                tuple((words, at_ms + shift_ms) for words, at_ms in each.words),
                each.began_ms + shift_ms,
                each.ended_ms + shift_ms,
                each.detail,
            )
            for each in self._desk.do(name)
        ]
        self._skipped_ms += self._desk.now_ms - began_ms
        showing = self._show(name, told, self._kept.given, self._sitting)
        for event in showing.events:
            self._write(event)
        self._kept.given.update(showing.given)
        self._kept.done.append(name)
        return self._talk.shown(showing.shown)

    def _note(self, note: Note) -> None:
        at_ms = self.now_ms()
        question = f"{note.step}.{note.ask}" if note.step else "drill.next"
        if note.option == _NOT_MADE_OUT:
            self._heard(question, Unclear(Because.NOT_AN_ANSWER), note.words, at_ms)
            return
        answer = Choice(note.option)
        self._heard(question, answer, note.words, at_ms)
        self._kept.given[question] = Given(question, answer, self._sitting, at_ms)

    def _heard(self, question: str, meaning: Choice | Unclear, words: str, at_ms: int) -> None:
        event: Event = Heard(question, meaning, words, at_ms, at_ms, at_ms, typed=self._typed)
        self._write(event)

    def _write(self, event: Event) -> None:
        if self._again is None:
            self._keeper.event(event)

    def _close(self, how: Ended) -> None:
        self._keeper.closing(
            Closing(
                how=how,
                at_ms=self.now_ms(),
                given=tuple(self._kept.given.values()),
                done=tuple(dict.fromkeys(self._kept.done)),
                not_done=self._talk.undone() if how is Ended.COMPLETE else {},
            )
        )
