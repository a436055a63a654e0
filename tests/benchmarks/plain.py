"""The plain recogniser's own times of the words in a short list: a peer for spoken marks."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

import vosk

from tests.benchmarks.noise import Sound
from walkaround.speech.ports import SAMPLES_PER_SECOND


class PlainWords:
    def __init__(self, model: Path, words: Sequence[str]) -> None:
        vosk.SetLogLevel(-1)
        self._model = vosk.Model(str(model))
        self._grammar = json.dumps([*words, "[unk]"])

    def edges(self, sound: Sound) -> list[tuple[float, float]]:
        """Start and end, in seconds, of every listed word that was heard."""
        decoder = vosk.KaldiRecognizer(self._model, SAMPLES_PER_SECOND, self._grammar)
        decoder.SetWords(True)
        content = sound.astype("<i2").tobytes()
        results = []
        for at in range(0, len(content), 3200):
            if decoder.AcceptWaveform(content[at : at + 3200]):
                results.append(decoder.Result())
        results.append(decoder.FinalResult())
        return [
            (float(word["start"]), float(word["end"]))
            for result in results
            for word in json.loads(result).get("result", [])
            if word["word"] != "[unk]"
        ]
