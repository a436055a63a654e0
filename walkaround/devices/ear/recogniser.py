"""Vosk, used only in the ways that were found to be safe.

A recogniser belongs to one utterance and one thread and is never given another grammar:
SetGrammar on a used one aborts the process.  One utterance is decoded up to three times:

    ranked  with the grammar, alternatives with their log-likelihoods; gives the partials
    sure    with the grammar, confidence per word (the two cannot be had from one)
    free    without a grammar, where the stake wants to know whether it was an answer at all

A talk is no answer: what turns out to be one goes on in `ranked` alone, for the word "stop".
Prose without a grammar costs four times what all the rest does.

`ranked` runs on the caller's thread, the other two on a helper beside it: the binding
lets go of the interpreter lock while it decodes.
"""

from __future__ import annotations

import importlib
import json
import queue
import threading
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from walkaround.speech.ports import SAMPLES_PER_SECOND, Alternative

_ALTERNATIVES, _FREE_ALTERNATIVES = 10, 20
_DITHER_SEED = 20
_DITHER_SAMPLES = 1 << 14


def _make_dither() -> npt.NDArray[np.int16]:
    """One count of noise, always the same: digital silence would put the model off, and the
    noise that it adds by itself is new each time (`model.overlay` turns it off)."""
    noise = np.random.default_rng(_DITHER_SEED).normal(0, 1, _DITHER_SAMPLES)
    return np.rint(noise).astype(np.int16)


@dataclass(frozen=True, slots=True)
class TimedWord:
    """A word with its place in the sound given to the decoder, in seconds."""

    text: str
    start_s: float
    end_s: float
    confidence: float


@dataclass(frozen=True, slots=True)
class Decoded:
    words: tuple[TimedWord, ...]
    alternatives: tuple[Alternative, ...]
    free: tuple[Alternative, ...]  # best first; empty when that pass did not run
    talk: bool = False  # too many words for an answer: `sure` and `free` were given up


_Results = tuple[dict[str, Any], tuple[Alternative, ...]]


class Recogniser:
    """The loaded model. Loading takes about half a second and 170 MB."""

    def __init__(self, folder: Path) -> None:
        self._vosk: Any = importlib.import_module("vosk")  # slow: not before it is wanted
        self._vosk.SetLogLevel(-1)
        self._model: Any = self._vosk.Model(str(folder))
        self.dither = _make_dither()

    def knows(self, word: str) -> bool:
        """Vosk drops an unknown word in silence, so every word is asked for beforehand."""
        return bool(self._model.vosk_model_find_word(word) >= 0)

    def unknown(self, grammar: Iterable[str]) -> tuple[str, ...]:
        words = {word for phrase in grammar for word in phrase.split()}
        return tuple(sorted(word for word in words if not self.knows(word)))

    def begin(self, grammar: Sequence[str], free: bool, talk: bool = False) -> Decoding:
        """Begin to decode one utterance; `talk` when it is known to be one already."""
        return Decoding(self, json.dumps(list(grammar)), free, talk)

    def with_grammar(self, grammar: str) -> Any:
        return self._vosk.KaldiRecognizer(self._model, SAMPLES_PER_SECOND, grammar)

    def without_grammar(self) -> Any:
        return self._vosk.KaldiRecognizer(self._model, SAMPLES_PER_SECOND)


class Decoding:
    """One utterance while it is being said. Call `finish` or `drop` exactly once."""

    def __init__(self, recogniser: Recogniser, grammar: str, free: bool, talk: bool) -> None:
        self._ranked = recogniser.with_grammar(grammar)
        self._ranked.SetMaxAlternatives(_ALTERNATIVES)
        self._ranked.SetWords(True)
        self._beside = None if talk else _Beside(recogniser, grammar, free)
        self._dither, self._fed = recogniser.dither, 0

    def feed(self, block: bytes) -> tuple[str, ...]:
        """Takes the next sound; gives the words made out so far, which may still change."""
        block = self._dithered(block)
        if self._beside is not None:
            self._beside.feed(block)
        self._ranked.AcceptWaveform(block)
        return tuple(json.loads(self._ranked.PartialResult()).get("partial", "").split())

    def judge_length(self, most_words: int) -> None:
        """Give up all but `ranked` if the pass without a grammar has more words than that."""
        if self._beside is not None:
            self._beside.feed(most_words)

    def finish(self) -> Decoded:
        final = json.loads(self._ranked.FinalResult())
        beside = None if self._beside is None else self._beside.finish()
        sure, free = beside or ({}, ())
        found = [one for one in final.get("alternatives", []) if one.get("text")]
        alternatives = _alternatives(found)
        words = found[0].get("result", []) if found else []
        timed = _with_confidence(words, sure.get("result", []))
        return Decoded(timed, alternatives, free, talk=beside is None)

    def drop(self) -> None:
        if self._beside is not None:
            self._beside.finish()

    def _dithered(self, block: bytes) -> bytes:
        samples = np.frombuffer(block, dtype="<i2").astype(np.int32)
        places = np.arange(self._fed, self._fed + len(samples)) % _DITHER_SAMPLES
        self._fed += len(samples)
        return bytes(np.clip(samples + self._dither[places], -32768, 32767).astype("<i2"))


class _Beside:
    """The decodes that need not keep up with the speaker, on a thread of their own.

    Blocks of sound and the question "more words than that?" are taken in their order.
    """

    def __init__(self, recogniser: Recogniser, grammar: str, free: bool) -> None:
        self._sure = recogniser.with_grammar(grammar)
        self._sure.SetWords(True)
        self._free = recogniser.without_grammar() if free else None
        if self._free is not None:
            self._free.SetMaxAlternatives(_FREE_ALTERNATIVES)
        self._todo: queue.SimpleQueue[bytes | int | None] = queue.SimpleQueue()
        self._results: _Results | None = None
        self._thread = threading.Thread(target=self._run, name="decode beside", daemon=True)
        self._thread.start()

    def feed(self, block: bytes | int) -> None:
        self._todo.put(block)

    def finish(self) -> _Results | None:
        """What `sure` and `free` made of it; None when it was a talk."""
        self._todo.put(None)
        self._thread.join()
        return self._results

    def _run(self) -> None:
        while (block := self._todo.get()) is not None:
            if isinstance(block, int):
                if self._has_more_words_than(block):
                    self._sure = self._free = None  # their lattices grow with every word
                    return
                continue
            self._sure.AcceptWaveform(block)
            if self._free is not None:
                self._free.AcceptWaveform(block)
        sure = json.loads(self._sure.FinalResult())
        free = {} if self._free is None else json.loads(self._free.FinalResult())
        self._results = sure, _alternatives(free.get("alternatives", []))

    def _has_more_words_than(self, most: int) -> bool:
        if self._free is None:
            return False
        return len(json.loads(self._free.PartialResult()).get("partial", "").split()) > most


def _alternatives(found: Sequence[dict[str, Any]]) -> tuple[Alternative, ...]:
    return tuple(Alternative(one["text"], float(one["confidence"])) for one in found)


def _with_confidence(
    best: Sequence[dict[str, Any]], sure: Sequence[dict[str, Any]]
) -> tuple[TimedWord, ...]:
    """The best alternative's words, each with the confidence of the same word in the other pass.

    A word that the other pass did not settle on has confidence 0: the two disagree.
    """
    texts = [word["word"] for word in best]
    other = [word["word"] for word in sure]
    confidence = [0.0] * len(texts)
    for match in SequenceMatcher(None, texts, other, autojunk=False).get_matching_blocks():
        for step in range(match.size):
            confidence[match.a + step] = float(sure[match.b + step]["conf"])
    return tuple(
        TimedWord(word["word"], float(word["start"]), float(word["end"]), certain)
        for word, certain in zip(best, confidence, strict=True)
    )
