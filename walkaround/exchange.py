"""The words the rooms share: questions, answers, events and effects. All frozen.

Events are things that happened; effects are things to be done, in order.  Times
are whole milliseconds of the present sitting (a start or a resume opens one).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from walkaround.quantity import Kind, Quantity, Unit

# ---------------------------------------------------------------- questions


class AskKind(StrEnum):
    """What sort of answer is asked for."""

    YES_NO = "yes-no"
    NUMBER = "number"
    PAIR = "pair"  # two numbers, primary then secondary
    MARK = "mark"  # an instant: the onset of the word
    RISE = "rise"  # numbers called out while a needle climbs
    HOLD = "hold"  # nothing is asked; time passes
    CHOICE = "choice"
    COUNT = "count"
    COMMAND = "command"  # only commands are understood


class Stake(StrEnum):
    """How strict the ear must be; thresholds per stake are data."""

    COMMAND = "command"
    CAUTION = "caution"
    READING = "reading"
    ORDINARY = "ordinary"


class Command(StrEnum):
    """What a driver may say at any question."""

    REPEAT = "repeat"
    HELP = "help"
    EXPLAIN = "explain"
    PREVIOUS = "previous"
    CORRECTION = "correction"
    REDO = "redo"
    WAIT = "wait"
    CONTINUE = "continue"
    UNABLE = "unable"
    SHORTER = "shorter"
    LONGER = "longer"
    STOP = "stop"
    FINISH = "finish"


@dataclass(frozen=True, slots=True)
class Question:
    """One thing to listen for. `low` and `high` are what the gauge can show, in `unit`."""

    id: str
    kind: AskKind
    stake: Stake = Stake.ORDINARY
    quantity: Kind | None = None
    unit: Unit | None = None  # the unit of a number said without one
    low: Decimal | None = None
    high: Decimal | None = None
    options: tuple[str, ...] = ()
    armed: bool = False  # a timed interval is running: tones only, every onset kept


# ---------------------------------------------------------------- answers


@dataclass(frozen=True, slots=True)
class Yes:
    pass


@dataclass(frozen=True, slots=True)
class No:
    pass


@dataclass(frozen=True, slots=True)
class Number:
    value: Quantity


@dataclass(frozen=True, slots=True)
class Pair:
    primary: Quantity
    secondary: Quantity


@dataclass(frozen=True, slots=True)
class Mark:
    """The instant is the event's `occurred_ms`."""


@dataclass(frozen=True, slots=True)
class Choice:
    option: str


@dataclass(frozen=True, slots=True)
class Count:
    number: int


@dataclass(frozen=True, slots=True)
class Said:
    command: Command


class Because(StrEnum):
    """Why something heard was not taken."""

    NOISE = "noise"  # no speech in it; does not count towards escalation
    NOT_AN_ANSWER = "not an answer"
    AMBIGUOUS = "ambiguous"
    OUT_OF_RANGE = "out of range"
    NO_UNIT = "no unit"
    OVER_PROMPT = "over the prompt"


@dataclass(frozen=True, slots=True)
class Unclear:
    """`rivals` are the meanings it could have been, each in the form that tells them apart."""

    because: Because
    rivals: tuple[str, ...] = ()


Meaning = Yes | No | Number | Pair | Mark | Choice | Count | Said | Unclear


# Answers that stand in the engine besides the plain meanings:


@dataclass(frozen=True, slots=True)
class Point:
    """One called-out value and when the voice set in."""

    at_ms: int
    value: Quantity


@dataclass(frozen=True, slots=True)
class Rise:
    """Called-out values in the order heard; `candidates_ms` are onsets not understood."""

    points: tuple[Point, ...]
    candidates_ms: tuple[int, ...] = ()
    gap: bool = False  # samples were lost inside: not to be judged


@dataclass(frozen=True, slots=True)
class Held:
    """A timed hold that ran to its end."""

    began_ms: int
    ended_ms: int
    gap: bool = False


@dataclass(frozen=True, slots=True)
class NotDone:
    """The driver said 'unable', or a need could not be met."""

    why: str


Answer = Yes | No | Number | Pair | Mark | Choice | Count | Rise | Held | NotDone


@dataclass(frozen=True, slots=True)
class Given:
    """An answer that stands, with where and when it was given."""

    question: str  # "leak-applied.settled"
    answer: Answer
    sitting: int
    occurred_ms: int


# ---------------------------------------------------------------- verdicts


class Outcome(StrEnum):
    MET = "met"
    NOT_MET = "not met"
    UNDETERMINED = "undetermined"


@dataclass(frozen=True, slots=True)
class Verdict:
    """One rule applied to one measure. Everything is text, ready to be kept and read."""

    rule: str  # "ca-on.build-up"
    place: str  # "CA-ON"
    measure: str  # "build-up"
    outcome: Outcome
    value: str  # "96.2 s", "yes", or "" when there is none
    limit: str  # "at most 120 s"
    citation: str  # document, section, edition or date
    standing: str  # published | common practice | from memory
    severity: str = ""  # in that place's schedule, where one is published
    uncertainty: str = ""  # "± 1.4 s (k = 2)"
    near: bool = False  # within the guard band of the limit
    why: str = ""  # for undetermined: what is missing
    conformity: str = ""  # how likely the true value is within the limit: "93.3 %" (JCGM 106)
    guard: str = ""  # near: "conditional pass" or "conditional fail" (ILAC-G8:09/2019, 4.2.3)
    repeats: int = 0  # near: so many measurements in all, averaged, would settle it; 0: none would
    doubts: tuple[str, ...] = ()  # readings that contradict each other or physics, one clause each


@dataclass(frozen=True, slots=True)
class Wanted:
    """A measure to be formed from answers: the engine passes it on and understands none of it."""

    measure: str
    inputs: tuple[tuple[str, Given | None], ...]  # input's name -> the answer, or None if absent
    rests_on: tuple[Given | None, ...] = ()  # unless each of these was a yes, a pass shows nothing
    only: tuple[str, ...] = ()  # the places (a country for all of its own) that it is judged for


# ---------------------------------------------------------------- events


class Wording(StrEnum):
    FULL = "full"
    SHORT = "short"
    CUE = "cue"


@dataclass(frozen=True, slots=True)
class SittingOpened:
    """A start or a resume, how many words the driver wants, and where he can be heard. Wall and
    boot clock are for the record; the engine does not read them."""

    sitting: int
    wall: str  # RFC 3339, UTC
    boot_id: str
    boot_ms: int
    wording: Wording = Wording.FULL
    reach: tuple[str, ...] = ()  # where the headset is heard; empty: everywhere
    occurred_ms: int = 0
    arrived_ms: int = 0


@dataclass(frozen=True, slots=True)
class Heard:
    """Something said, with what it was taken to mean under the question then open."""

    question: str
    meaning: Meaning
    words: str
    occurred_ms: int  # onset of the voice
    arrived_ms: int
    ended_ms: int = 0  # end of the voice
    score: str = ""  # likelihoods and margin as text, for later audit
    typed: bool = False
    went_on: bool = False  # the whole of an answer whose beginning was taken for all of it


@dataclass(frozen=True, slots=True)
class StayedQuiet:
    """Nothing was said for the time the question allowed."""

    question: str
    occurred_ms: int
    arrived_ms: int


@dataclass(frozen=True, slots=True)
class TimeReached:
    timer: str
    occurred_ms: int
    arrived_ms: int


@dataclass(frozen=True, slots=True)
class Judged:
    step: str
    verdicts: tuple[Verdict, ...]
    occurred_ms: int
    arrived_ms: int


@dataclass(frozen=True, slots=True)
class SamplesLost:
    """Sound was lost: anything timed across it cannot be judged."""

    lost_ms: int
    occurred_ms: int
    arrived_ms: int


@dataclass(frozen=True, slots=True)
class MicrophoneLost:
    why: str
    occurred_ms: int
    arrived_ms: int


@dataclass(frozen=True, slots=True)
class MicrophoneBack:
    occurred_ms: int
    arrived_ms: int


Event = (
    SittingOpened
    | Heard
    | StayedQuiet
    | TimeReached
    | Judged
    | SamplesLost
    | MicrophoneLost
    | MicrophoneBack
)


# ---------------------------------------------------------------- effects


@dataclass(frozen=True, slots=True)
class Prompt:
    """Something to say, by id: `phrase:say.unclear`, `step:leak-applied.caution`,
    `step:leak-applied.settled`, `step:leak-applied.explain`.

    `values` fill the places in the text; a Quantity is spoken digit by digit.
    """

    id: str
    wording: Wording = Wording.FULL
    values: Mapping[str, str | Quantity] = field(default_factory=dict)


class ToneKind(StrEnum):
    TAKEN = "taken"  # a mark or a called-out value was taken
    HOLD_BEGINS = "hold begins"
    HOLD_ENDS = "hold ends"
    UNCLEAR = "unclear"
    HEARD = "heard"  # an answer's end was noticed


@dataclass(frozen=True, slots=True)
class Write:
    """Put the event on disk before going on."""

    event: Event


@dataclass(frozen=True, slots=True)
class Say:
    prompts: tuple[Prompt, ...]


@dataclass(frozen=True, slots=True)
class Tone:
    kind: ToneKind


@dataclass(frozen=True, slots=True)
class Listen:
    question: Question
    quiet_after_ms: int | None  # None: wait for ever


@dataclass(frozen=True, slots=True)
class WakeAt:
    at_ms: int
    timer: str


@dataclass(frozen=True, slots=True)
class CancelWake:
    timer: str


@dataclass(frozen=True, slots=True)
class Judge:
    step: str
    wanted: tuple[Wanted, ...]


@dataclass(frozen=True, slots=True)
class Finish:
    """The walk is over: `complete` or `stopped`."""

    how: str


Effect = Write | Say | Tone | Listen | WakeAt | CancelWake | Judge | Finish
