"""The simulated truck on a desk: a step or act is done by the simulated hands, in any order,
and what an eye and an ear would have is told in a driver's words.

Time is the truck's own: a minute's hold takes no minute at the desk.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from walkaround.exchange import AskKind
from walkaround.procedure.model import Asked, Plan, question_of
from walkaround.simulated.behaviour import row_for
from walkaround.simulated.driver import Driver
from walkaround.simulated.facts import TruckFacts
from walkaround.simulated.piping import STEP_MS
from walkaround.simulated.truck import Truck

_LONGEST_MS = 3_600_000
"""Of one question: a truck that never gets there is given up."""
_HEARD = "leak heard"
_PLACES: Mapping[str, str] = {
    "compressor sound": "compressor",
    "drive sound": "drive",
    "lines sound": "lines",
    "dryer sound": "dryer",
    "couplings sound": "couplings",
    "wheel brakes sound": "wheel brakes",
    "purge heard": "dryer",
    "accessories work": "accessories",
}
"""What is told at a look -> where in the truck's facts it says what there is to be seen."""


@dataclass(frozen=True, slots=True)
class DeskAnswer:
    """The words told at one question; for a rise or a mark with the moment of each, in the
    truck's own milliseconds. No words: nothing came of it, or time just passed. `detail` is
    what there is to be seen or heard, when something is."""

    ask: str
    kind: AskKind
    words: tuple[tuple[str, int], ...]
    began_ms: int
    ended_ms: int
    detail: str = ""


class Desk:
    """A truck and a pair of hands. `do` moves both on; nothing is asked of anybody."""

    def __init__(self, plan: Plan, facts: TruckFacts, seed: int = 0) -> None:
        self.plan, self.truck = plan, Truck(facts)
        self._driver = Driver(plan, seed)

    @property
    def now_ms(self) -> int:
        return self.truck.now_ms

    def do(self, name: str) -> tuple[DeskAnswer, ...]:
        """Do a step or an act, question by question. Raises KeyError, UsageError."""
        return tuple(self._asked(name, asked) for asked in self.plan.step(name).asks)

    def _asked(self, step: str, asked: Asked) -> DeskAnswer:
        began_ms = self.now_ms
        if asked.kind is AskKind.HOLD:
            self.truck.advance(asked.seconds * 1000 // STEP_MS)
            return DeskAnswer(asked.id, asked.kind, (), began_ms, self.now_ms)
        self._driver.open(question_of(step, asked), self.truck)
        wanted = len(asked.calls) if asked.kind is AskKind.RISE else 1
        words = tuple(self._told(wanted))
        self._driver.leave()
        detail = self._detail(f"{step}.{asked.id}", words)
        return DeskAnswer(asked.id, asked.kind, words, began_ms, self.now_ms, detail)

    def _detail(self, question: str, words: tuple[tuple[str, int], ...]) -> str:
        row = row_for(question)
        tells = row.tells if row is not None else ""
        if tells == _HEARD:
            return ", ".join(self.truck.facts.heard)
        wrong = bool(words) and words[-1][0] != "yes"
        return self.truck.facts.seen.get(_PLACES.get(tells, ""), "") if wrong else ""

    def _told(self, most: int) -> Iterator[tuple[str, int]]:
        until_ms = self.now_ms + _LONGEST_MS
        told = 0
        while told < most and self.now_ms < until_ms:
            self.truck.advance()
            spoken = self._driver.tick()
            if spoken is None:
                continue
            told += 1
            yield spoken.words, spoken.onset_ms
            if spoken.words == "finish":
                return
