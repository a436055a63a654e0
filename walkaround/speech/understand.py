"""One utterance to one meaning, or to the reason why it is not taken.

Two tests beside the parse.  Was it an answer at all?  The pass without a grammar, which
knows every word, has the same meaning among its readings, not far behind its best; or else
the grammar's likelihood is well above that best.  Was it this one?  By the margin to the
nearest reading with another meaning, in both passes together.  How much is enough depends
on what is at stake, and on nothing else: never on which value would please or was expected.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from walkaround.exchange import (
    Because,
    Command,
    Count,
    Heard,
    Mark,
    Meaning,
    No,
    Number,
    Pair,
    Question,
    Said,
    Stake,
    Unclear,
    Yes,
)
from walkaround.speech.grammar import UNKNOWN
from walkaround.speech.meanings import (
    NOTHING,
    Meant,
    command_in,
    is_only_a_unit,
    meant_by,
    name_of,
)
from walkaround.speech.phrases import Phrasebook
from walkaround.speech.ports import Transcript
from walkaround.speech.thresholds import Strictness, Thresholds

_BREATH = frozenset({"", "huh", "the", "hmm", "uh", "mm", "ah", "oh", "a"})
"""What the pass without a grammar makes of a breath or a knock."""


def understand(
    transcript: Transcript, question: Question, phrases: Phrasebook, thresholds: Thresholds
) -> Heard:
    """What was said, under the question then open."""
    meaning = (
        _typed(transcript, question, phrases)
        if transcript.typed
        else _spoken(transcript, question, phrases, thresholds)
    )
    if isinstance(meaning, Unclear) and _perhaps_stop(transcript, phrases, thresholds):
        meaning = Said(Command.STOP)
    return Heard(
        question=question.id,
        meaning=meaning,
        words=transcript.text,
        occurred_ms=transcript.onset_ms,
        arrived_ms=transcript.arrived_ms,
        ended_ms=transcript.end_ms,
        score="" if transcript.typed else score_of(transcript, question, phrases),
        typed=transcript.typed,
    )


def _typed(transcript: Transcript, question: Question, phrases: Phrasebook) -> Meaning:
    # A sentence's end is no part of the word; a question mark is a doubt, and stays.
    row = tuple(re.sub(r"(?<=[a-z])[.!]+$", "", transcript.text.lower()).split())
    return _single(meant_by(row, question, phrases, by_hand=True))


def _spoken(
    transcript: Transcript, question: Question, phrases: Phrasebook, thresholds: Thresholds
) -> Meaning:
    row = tuple(transcript.text.split())
    meant = meant_by(row, question, phrases)
    if transcript.over_prompt and not _is_command(meant):
        return Unclear(Because.OVER_PROMPT)
    if transcript.talk and meant.meanings != (Said(Command.STOP),):
        return Unclear(Because.NOT_AN_ANSWER)
    if meant == NOTHING:
        return Unclear(_why_nothing(transcript, row))
    scores = scores_of(transcript, meant, question, phrases)
    strict = thresholds.strictness[row_for(meant, question)]
    if not was_an_answer(scores, strict):
        return Unclear(Because.NOT_AN_ANSWER)
    meaning = _single(meant)
    if isinstance(meaning, Unclear):
        return meaning
    longer = longer_reading(transcript, meaning, question, phrases, thresholds)
    if longer is None and is_clear(scores, strict):
        return meaning
    rival = scores.rival if longer is None else longer
    rivals = () if rival is None else (meaning, rival)
    return Unclear(Because.AMBIGUOUS, tuple(name_of(one, phrases) for one in rivals))


def _perhaps_stop(transcript: Transcript, phrases: Phrasebook, thresholds: Thresholds) -> bool:
    """Where nothing else could be taken, "stop" counts though another reading was likelier:
    to have stopped for nothing costs a word, to have missed it may cost far more."""
    if transcript.typed or transcript.over_prompt or not transcript.alternatives:
        return False
    best = transcript.alternatives[0].likelihood
    return any(
        best - other.likelihood <= thresholds.stop_behind
        for other in transcript.alternatives
        if command_in(tuple(other.words.split()), phrases) is Command.STOP
    )


def _single(meant: Meant) -> Meaning:
    if len(meant.meanings) == 1:
        return meant.meanings[0]
    if meant.meanings:
        return Unclear(Because.AMBIGUOUS, meant.rivals)
    return Unclear(meant.refused or Because.NOT_AN_ANSWER, meant.rivals)


def _is_command(meant: Meant) -> bool:
    return len(meant.meanings) == 1 and isinstance(meant.meanings[0], Said)


def _why_nothing(transcript: Transcript, row: tuple[str, ...]) -> Because:
    """Noise does not count towards escalation; words that are no answer do."""
    made_out = [word for word in row if word != UNKNOWN]
    if is_only_a_unit(made_out):
        return Because.NOISE
    free = transcript.free
    silent = free is None or _BREATH.issuperset(free.words.split())
    return Because.NOISE if silent and not made_out else Because.NOT_AN_ANSWER


def row_for(meant: Meant, question: Question) -> str:
    """The row of the thresholds' table that a meaning has to pass.

    A caution's "no" holds the walk back, its "yes" lets it go on: only the yes is strict.
    """
    meaning = meant.meanings[0] if meant.meanings else None
    if isinstance(meaning, Said):
        return "stop" if meaning.command is Command.STOP else "command"
    if meaning is None or isinstance(meaning, Number | Pair | Count):
        return "reading"
    if isinstance(meaning, Mark):
        return "mark"
    if isinstance(meaning, No):
        return "no"
    if isinstance(meaning, Yes) and question.stake in (Stake.CAUTION, Stake.READING):
        return "yes-to-caution"
    return "ordinary"


@dataclass(frozen=True, slots=True)
class Scores:
    """What speaks for a meaning, in the decoder's log-likelihoods; None where there is nothing
    to compare with. See `Strictness` for what each is held against."""

    ratio: float | None
    gap: float | None
    margin: float | None
    rival: Meaning | None
    confidence: float  # of the least sure word


def scores_of(
    transcript: Transcript, meant: Meant, question: Question, phrases: Phrasebook
) -> Scores:
    single = meant.meanings[0] if len(meant.meanings) == 1 else None
    rival = None if single is None else _rival(transcript, single, question, phrases)
    return Scores(
        ratio=ratio_of(transcript),
        gap=free_gap(transcript, meant, question, phrases),
        margin=None if rival is None else rival[1],
        rival=None if rival is None else rival[0],
        confidence=min((word.confidence for word in transcript.words), default=0.0),
    )


def was_an_answer(scores: Scores, strict: Strictness) -> bool:
    if scores.ratio is None:
        return not strict.needs_free
    return scores.ratio >= strict.ratio or (scores.gap is not None and scores.gap <= strict.gap)


def is_clear(scores: Scores, strict: Strictness) -> bool:
    near = scores.margin is not None and scores.margin < strict.margin
    return not near and scores.confidence >= strict.confidence


def free_gap(
    transcript: Transcript, meant: Meant, question: Question, phrases: Phrasebook
) -> float | None:
    """How far the same meaning is behind the best of the pass without a grammar; None where it
    is not among its readings. That pass prefers common words: "for" to "four", "a" to "eight"."""
    if transcript.free is None or not meant.meanings:
        return None
    for other in (transcript.free, *transcript.free_others):
        if meant_by(other.words.split(), question, phrases).meanings == meant.meanings:
            return transcript.free.likelihood - other.likelihood
    return None


def ratio_of(transcript: Transcript) -> float | None:
    """Best under the grammar minus best without one; None when one of the two did not run."""
    if not transcript.alternatives or transcript.free is None:
        return None
    return transcript.alternatives[0].likelihood - transcript.free.likelihood


def _rival(
    transcript: Transcript, meaning: Meaning, question: Question, phrases: Phrasebook
) -> tuple[Meaning, float] | None:
    """The nearest alternative with another meaning, and how far it is behind in both passes
    together: the pass without a grammar has a say of its own in "fifteen or fifty"."""
    if not transcript.alternatives:
        return None
    best = transcript.alternatives[0].likelihood
    behind: dict[Meaning, float] = {}
    for other in transcript.alternatives:
        for rival in meant_by(other.words.split(), question, phrases).meanings:
            if rival != meaning:
                behind.setdefault(rival, best - other.likelihood)
    if not behind:
        return None
    free = _free_likelihoods(transcript, question, phrases)
    ours = free.get(meaning)
    joint = {rival: far + _ahead(ours, free.get(rival), free) for rival, far in behind.items()}
    nearest = min(joint, key=lambda rival: joint[rival])
    return nearest, joint[nearest]


def _free_likelihoods(
    transcript: Transcript, question: Question, phrases: Phrasebook
) -> dict[Meaning | None, float]:
    """Each meaning's best in the pass without a grammar; under None the worst reading kept."""
    found: dict[Meaning | None, float] = {}
    for other in (transcript.free, *transcript.free_others) if transcript.free else ():
        assert other is not None
        for meaning in meant_by(other.words.split(), question, phrases).meanings:
            found.setdefault(meaning, other.likelihood)
        found[None] = other.likelihood
    return found


def _ahead(ours: float | None, rival: float | None, free: Mapping[Meaning | None, float]) -> float:
    """How far our meaning is ahead there. One that is not listed is below the worst that is."""
    if ours is None and rival is None:
        return 0.0
    worst = free[None]
    return (worst if ours is None else ours) - (worst if rival is None else rival)


def longer_reading(
    transcript: Transcript,
    meaning: Meaning,
    question: Question,
    phrases: Phrasebook,
    thresholds: Thresholds,
) -> Meaning | None:
    """The number that ours may be the end of: the voice set in well before our first word, and
    a reading that has ours inside it is not far behind. Beside a diesel the "two" of "two
    seven" was lost."""
    words = tuple(word.text for word in transcript.words)
    if not words or not isinstance(meaning, Number | Pair | Count):
        return None
    if transcript.words[0].start_ms - transcript.onset_ms < thresholds.lost_word_ms:
        return None
    best = transcript.alternatives[0].likelihood if transcript.alternatives else 0.0
    for other in transcript.alternatives:
        row = tuple(other.words.split())
        if len(row) <= len(words) or row[-len(words) :] != words:
            continue
        for longer in meant_by(row, question, phrases).meanings:
            if longer != meaning and best - other.likelihood <= thresholds.lost_word_behind:
                return longer
    return None


def score_of(transcript: Transcript, question: Question, phrases: Phrasebook) -> str:
    """The figures behind the decision as text, for later audit."""
    meant = meant_by(transcript.text.split(), question, phrases)
    scores = scores_of(transcript, meant, question, phrases)
    parts = [f"confidence={scores.confidence:.2f}"]
    if scores.ratio is not None:
        parts.insert(0, f"ratio={scores.ratio:+.1f}")
    if scores.gap is not None:
        parts.append(f"gap={scores.gap:.1f}")
    if scores.margin is not None:
        parts.append(f"margin={scores.margin:.1f}")
    return " ".join(parts)
