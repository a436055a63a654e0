"""What goes over the pipe between the walk and the ear: a JSON object and bytes, with lengths.

A message is two 4-byte big-endian lengths, the object as UTF-8, and the bytes (sound).
"""

from __future__ import annotations

import base64
import json
import struct
from collections.abc import Mapping
from decimal import Decimal
from typing import IO, Any

from walkaround.exchange import AskKind, Question, Stake
from walkaround.quantity import Kind, Unit
from walkaround.speech.ports import Alternative, Transcript, Word

_LENGTHS = struct.Struct(">II")
_MOST = 64 << 20  # half an hour of sound: more is a broken pipe, not a message
Message = Mapping[str, Any]


def write_message(pipe: IO[bytes], message: Message, blob: bytes = b"") -> None:
    """Raises OSError when the other side is gone."""
    head = json.dumps(message, ensure_ascii=False).encode()
    pipe.write(_LENGTHS.pack(len(head), len(blob)) + head + blob)
    pipe.flush()


def read_message(pipe: IO[bytes]) -> tuple[Message, bytes] | None:
    """The next message, or None when the other side has closed or was cut off."""
    lengths = pipe.read(_LENGTHS.size)
    if len(lengths) < _LENGTHS.size:
        return None
    head_length, blob_length = _LENGTHS.unpack(lengths)
    if head_length > _MOST or blob_length > _MOST:
        return None
    content = pipe.read(head_length + blob_length)
    if len(content) < head_length + blob_length:
        return None
    message = json.loads(content[:head_length])
    return (message, content[head_length:]) if isinstance(message, dict) else None


def question_to_json(question: Question) -> dict[str, Any]:
    return {
        "id": question.id,
        "kind": question.kind,
        "stake": question.stake,
        "quantity": question.quantity,
        "unit": question.unit,
        "low": None if question.low is None else str(question.low),
        "high": None if question.high is None else str(question.high),
        "options": list(question.options),
        "armed": question.armed,
    }


def question_from_json(row: Message) -> Question:
    return Question(
        id=row["id"],
        kind=AskKind(row["kind"]),
        stake=Stake(row["stake"]),
        quantity=None if row["quantity"] is None else Kind(row["quantity"]),
        unit=None if row["unit"] is None else Unit(row["unit"]),
        low=None if row["low"] is None else Decimal(row["low"]),
        high=None if row["high"] is None else Decimal(row["high"]),
        options=tuple(row["options"]),
        armed=row["armed"],
    )


def transcript_to_json(heard: Transcript) -> dict[str, Any]:
    free = heard.free
    return {
        "question": heard.question,
        "words": [[w.text, w.start_ms, w.end_ms, w.confidence] for w in heard.words],
        "alternatives": [[a.words, a.likelihood] for a in heard.alternatives],
        "free": None if free is None else [free.words, free.likelihood],
        "free_others": [[a.words, a.likelihood] for a in heard.free_others],
        "onset_ms": heard.onset_ms,
        "end_ms": heard.end_ms,
        "arrived_ms": heard.arrived_ms,
        "over_prompt": heard.over_prompt,
        "talk": heard.talk,
        "sound": base64.b64encode(heard.sound).decode("ascii"),
        "sound_from_ms": heard.sound_from_ms,
        "whole": None if heard.whole is None else transcript_to_json(heard.whole),
    }


def transcript_from_json(row: Message, later_ms: int = 0) -> Transcript:
    """`later_ms` is added to every time: from the ear's clock to the sitting's."""
    free, whole = row["free"], row["whole"]
    return Transcript(
        question=row["question"],
        words=tuple(
            Word(text, start + later_ms, end + later_ms, confidence)
            for text, start, end, confidence in row["words"]
        ),
        alternatives=tuple(Alternative(words, value) for words, value in row["alternatives"]),
        free=None if free is None else Alternative(*free),
        onset_ms=row["onset_ms"] + later_ms,
        end_ms=row["end_ms"] + later_ms,
        arrived_ms=row["arrived_ms"] + later_ms,
        over_prompt=row["over_prompt"],
        talk=row["talk"],
        free_others=tuple(Alternative(words, value) for words, value in row["free_others"]),
        sound=base64.b64decode(row["sound"]),
        sound_from_ms=row["sound_from_ms"] + later_ms,
        whole=None if whole is None else transcript_from_json(whole, later_ms),
    )
