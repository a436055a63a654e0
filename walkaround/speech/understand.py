"""One utterance to one meaning, or to the reason why it is not taken.

Two tests beside the parse.  Was it an answer at all?  The pass without a grammar, which
knows every word, has the same meaning among its readings, not far behind its best; or else
the grammar's likelihood is well above that best.  Was it this one?  By the margin to the
next reading with another meaning.  How much is enough depends on what is at stake, and on
nothing else: never on which value would please or was expected.
"""

from __future__ import annotations

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
from walkaround.speech.meanings import NOTHING, Meant, is_only_a_unit, meant_by, name_of
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
    row = tuple(transcript.text.lower().split())
    return _single(meant_by(row, question, phrases, by_hand=True))


def _spoken(
    transcript: Transcript, question: Question, phrases: Phrasebook, thresholds: Thresholds
) -> Meaning:
    row = tuple(transcript.text.split())
    meant = meant_by(row, question, phrases)
    if transcript.over_prompt and not _is_command(meant):
        return Unclear(Because.OVER_PROMPT)
    if meant == NOTHING:
        return Unclear(_why_nothing(transcript, row))
    meaning = _single(meant)
    best = meant.meanings[0] if meant.meanings else None
    strict = thresholds.strictness[row_for(best, question)]
    if not _was_an_answer(transcript, strict, free_gap(transcript, meant, question, phrases)):
        return Unclear(Because.NOT_AN_ANSWER)
    if isinstance(meaning, Unclear):
        return meaning
    rival = _rival(transcript, meaning, question, phrases)
    if rival is not None and rival[1] < strict.margin:
        return Unclear(Because.AMBIGUOUS, (name_of(meaning, phrases), name_of(rival[0], phrases)))
    if least_confidence(transcript) < strict.confidence:
        return Unclear(Because.AMBIGUOUS)
    return meaning


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


def row_for(meaning: Meaning | None, question: Question) -> str:
    """The row of the thresholds' table that a meaning has to pass.

    A caution's "no" holds the walk back, its "yes" lets it go on: only the yes is strict.
    """
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


def _was_an_answer(transcript: Transcript, strict: Strictness, gap: float | None) -> bool:
    ratio = ratio_of(transcript)
    if ratio is None:
        return not strict.needs_free
    return ratio >= strict.ratio or (gap is not None and gap <= strict.gap)


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
    """The likeliest alternative with another meaning, and how far it is behind."""
    if not transcript.alternatives:
        return None
    best = transcript.alternatives[0].likelihood
    for other in transcript.alternatives:
        meant = meant_by(other.words.split(), question, phrases)
        for rival in meant.meanings:
            if rival != meaning:
                return rival, best - other.likelihood
    return None


def least_confidence(transcript: Transcript) -> float:
    return min((word.confidence for word in transcript.words), default=0.0)


def score_of(transcript: Transcript, question: Question, phrases: Phrasebook) -> str:
    """The figures behind the decision as text, for later audit."""
    parts = [f"confidence={least_confidence(transcript):.2f}"]
    ratio = ratio_of(transcript)
    if ratio is not None:
        parts.insert(0, f"ratio={ratio:+.1f}")
    meant = meant_by(transcript.text.split(), question, phrases)
    gap = free_gap(transcript, meant, question, phrases)
    if gap is not None:
        parts.append(f"gap={gap:.1f}")
    if len(meant.meanings) == 1:
        rival = _rival(transcript, meant.meanings[0], question, phrases)
        if rival is not None:
            parts.append(f"margin={rival[1]:.1f}")
    return " ".join(parts)
