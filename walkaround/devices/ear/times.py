"""From samples to milliseconds: an utterance as the rest of the program sees it."""

from __future__ import annotations

from walkaround.devices.ear.listener import Utterance
from walkaround.speech.ports import SAMPLES_PER_SECOND, Transcript, Word


def transcript_of(
    heard: Utterance, first_ms: int, over_prompt: bool = False, whole: Utterance | None = None
) -> Transcript:
    """The utterance with its samples turned into milliseconds; sample 0 was at `first_ms`.
    `whole` is this one and the one before it as one, where it went on with it."""

    def ms(sample: float) -> int:
        return first_ms + round(sample * 1000 / SAMPLES_PER_SECOND)

    return Transcript(
        question=heard.question,
        words=tuple(
            Word(
                word.text,
                ms(heard.decoded_from + word.start_s * SAMPLES_PER_SECOND),
                ms(heard.decoded_from + word.end_s * SAMPLES_PER_SECOND),
                word.confidence,
            )
            for word in heard.decoded.words
        ),
        alternatives=heard.decoded.alternatives,
        free=heard.decoded.free[0] if heard.decoded.free else None,
        free_others=heard.decoded.free[1:],
        onset_ms=ms(heard.onset),
        end_ms=ms(heard.end),
        arrived_ms=ms(heard.decided),
        over_prompt=over_prompt,
        talk=heard.decoded.talk,
        whole=None if whole is None else transcript_of(whole, first_ms),
    )
