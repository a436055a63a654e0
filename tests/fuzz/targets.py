"""What is fuzzed: for each reader of bytes from outside, its law and the inputs to begin with.

A law takes any bytes and returns; it raises when the reader did anything but what it
promises, which is to give a value that keeps the law or the room's own error.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path

from tests.records import forging, test_forgeries
from tests.records.walk_sample import KEY, STRANGER
from walkaround.errors import (
    JournalError,
    LogError,
    PhraseError,
    ProfileError,
    RuleError,
    ScriptError,
    SigningKeyError,
)
from walkaround.exchange import AskKind, Number, Pair, Question, Stake
from walkaround.procedure.check import check_script
from walkaround.procedure.load import load_script
from walkaround.procedure.profile import load_profile
from walkaround.quantity import Kind, Unit, compare
from walkaround.quantity import Quantity as Amount
from walkaround.records.countersignature import countersign
from walkaround.records.journal import events, read_journal
from walkaround.records.keys import parse_public
from walkaround.records.log import START, Note, What, end_of, read_log, write_line
from walkaround.records.packed import pack, unpack
from walkaround.records.page import page_of
from walkaround.records.second import Worth
from walkaround.records.signature import WalkKind
from walkaround.records.summary import summarise
from walkaround.records.trust import TrustedKey, TrustList, parse_trust, serialise_trust
from walkaround.records.verify import verify
from walkaround.rules.load import load_rules
from walkaround.speech.meanings import meant_by
from walkaround.speech.phrases import Phrasebook, load_phrases

ROOT = Path(__file__).resolve().parents[2]
SCRIPTS = ROOT / "scripts"


@dataclass(frozen=True, slots=True)
class Target:
    """`largest` bounds an input in bytes, so that a minute tries many."""

    law: Callable[[bytes], None]
    seeds: Callable[[], Iterator[bytes]]
    largest: int = 4096


# ---------------------------------------------------------------- numbers, as spoken and typed


@cache
def _phrases() -> Phrasebook:
    return load_phrases((SCRIPTS / "phrases" / "en.yaml").read_bytes(), "en.yaml")


def _asks(kind: AskKind, quantity: Kind, unit: Unit, high: int) -> Question:
    return Question("s.q", kind, Stake.READING, quantity, unit, Decimal(0), Decimal(high))


QUESTIONS = (
    _asks(AskKind.NUMBER, Kind.PRESSURE, Unit.PSI, 150),
    _asks(AskKind.PAIR, Kind.PRESSURE, Unit.KPA, 1100),
    _asks(AskKind.NUMBER, Kind.LENGTH, Unit.INCH, 6),
    _asks(AskKind.NUMBER, Kind.TIME, Unit.SECOND, 600),
    Question("s.n", AskKind.COUNT, Stake.READING, None, None, Decimal(0), Decimal(20)),
    Question("s.y", AskKind.YES_NO, Stake.CAUTION),
)


def numbers(content: bytes) -> None:
    """Any words under any question: one meaning that is within the range, or none."""
    if not content:
        return
    question = QUESTIONS[content[0] % len(QUESTIONS)]
    by_hand = bool(content[0] & 0x40)
    row = tuple(content[1:200].decode("utf-8", "replace").lower().split())[:12]
    meant = meant_by(row, question, _phrases(), by_hand=by_hand)
    assert meant == meant_by(row, question, _phrases(), by_hand=by_hand)
    if len(meant.meanings) != 1:
        return
    for amount in _amounts(meant.meanings[0]):
        if question.unit is not None and question.low is not None and question.high is not None:
            assert compare(amount, Amount(question.low, question.unit)) >= 0
            assert compare(amount, Amount(question.high, question.unit)) <= 0


def _amounts(meaning: object) -> tuple[Amount, ...]:
    if isinstance(meaning, Number):
        return (meaning.value,)
    return (meaning.primary, meaning.secondary) if isinstance(meaning, Pair) else ()


def _number_seeds() -> Iterator[bytes]:
    for line in (Path(__file__).parent / "numbers.txt").read_bytes().splitlines():
        for question in range(len(QUESTIONS)):
            yield bytes([question]) + line
            yield bytes([question | 0x40]) + line


# ---------------------------------------------------------------- data files


@cache
def _script_files() -> Mapping[str, bytes]:
    """A script of one step on the shipped states and one act: quick to load."""
    acts = (SCRIPTS / "acts" / "acts.yaml").read_bytes().split(b"\n\n")
    return {
        "one.yaml": b"title: One\nvehicles: [truck]\norder:\n  - level-and-park\n",
        "acts/states.yaml": (SCRIPTS / "acts" / "states.yaml").read_bytes(),
        "acts/acts.yaml": b"\n\n".join(acts[:2]) + b"\n",
    }


def script(content: bytes) -> None:
    """A card file: a script that can be checked, or an error with the file's name."""
    try:
        check_script(load_script("one", {**_script_files(), "steps/one.yaml": content}))
    except ScriptError as bad:
        assert bad.file, bad


def _script_seeds() -> Iterator[bytes]:
    for path in sorted((SCRIPTS / "steps").glob("*.yaml")):
        for card in path.read_bytes().split(b"\n\n"):
            if card.startswith(b"  ") and len(card) < 2500:
                rest = card.partition(b"\n")[2]
                yield b"chapter: One\nsteps:\n  level-and-park:\n" + rest + b"\n"


def rules(content: bytes) -> None:
    """A rule file: a book, or an error with the file's name."""
    try:
        load_rules({"xx.yaml": content})
    except RuleError as bad:
        assert bad.file, bad


def _rule_seeds() -> Iterator[bytes]:
    for path in sorted((ROOT / "tests" / "rules" / "broken").glob("*.yaml")):
        yield path.read_bytes()
    yield (SCRIPTS / "rules" / "nz.yaml").read_bytes()


def profile(content: bytes) -> None:
    try:
        load_profile(content, "mine.yaml")
    except ProfileError as bad:
        assert bad.file, bad


def _profile_seeds() -> Iterator[bytes]:
    for path in sorted((SCRIPTS / "vehicles").glob("*.yaml")):
        yield path.read_bytes()


def phrases(content: bytes) -> None:
    try:
        load_phrases(content, "xx.yaml")
    except PhraseError as bad:
        assert bad.file, bad


def _phrase_seeds() -> Iterator[bytes]:
    whole = (SCRIPTS / "phrases" / "en.yaml").read_bytes()
    yield whole
    yield whole[:2000]


# ---------------------------------------------------------------- records


def journal(content: bytes) -> None:
    """What is read is whole, is replayable as events, and is summed up or refused."""
    for after_crash in (False, True):
        try:
            reading = read_journal(content, after_crash=after_crash)
        except JournalError:
            continue
        assert content[: reading.whole_bytes] + reading.torn_tail == content
        again = read_journal(content[: reading.whole_bytes])
        assert again.entries == reading.entries
        try:
            events(reading.entries)
            summarise(reading, None)
        except JournalError:
            continue


def _journal_seeds() -> Iterator[bytes]:
    yield forging.JOURNAL
    lines = forging.JOURNAL.splitlines(keepends=True)
    yield b"".join(lines[:4])
    yield b"".join(lines[:9]) + lines[9][:50]


def record(content: bytes) -> None:
    """Only the true record is trusted, whatever is put before the verifier."""
    report = verify(content, forging.TRUST)
    assert report.trusted is (content in (forging.RECORD, forging.PACKED))
    assert report.lines()


def _record_seeds() -> Iterator[bytes]:
    yield forging.RECORD
    yield forging.PACKED
    for content, _ in test_forgeries.ALL.values():
        if len(content) < 8000:
            yield content


def payload(content: bytes) -> None:
    """Any payload, truly signed by a trusted key: refused, or a page can be made of it."""
    report = verify(forging.line_with_payload(content), forging.TRUST, journal=forging.JOURNAL)
    alone = verify(forging.line_with_payload(content), forging.TRUST)
    assert report.intact is (content == forging.PAYLOAD)
    if alone.intact:
        page = page_of(alone.payload, signed=True)
        assert b"<script" not in page.lower()


def _payload_seeds() -> Iterator[bytes]:
    yield forging.PAYLOAD
    yield b"{}"


def packed(content: bytes) -> None:
    """Whatever is packed in a truly signed record: unpacked within the limit, or refused."""
    try:
        unpacked = unpack(content, 20_000)
    except ValueError:
        unpacked = None
    assert unpacked is None or len(unpacked) <= 20_000
    line = forging.line(forging.PACKED_HEADER, content)
    assert verify(line, forging.TRUST).intact is (unpacked == forging.PAYLOAD)


def _packed_seeds() -> Iterator[bytes]:
    yield pack(forging.PAYLOAD)
    for content in (b"", b"{}", b"a" * 5000, bytes(range(256))):
        yield pack(content)


SECOND = TrustList((*forging.TRUST.keys, TrustedKey(STRANGER.public, (WalkKind.WALK,), "b", "")))
COUNTERSIGNED = countersign(
    forging.RECORD, STRANGER, WalkKind.WALK, walk_id="walk-0001", remarks="a", signer="b", at="c"
)


def countersignature(content: bytes) -> None:
    """No countersignature but the true one counts, and none takes anything from the record."""
    report = verify(forging.RECORD, SECOND, countersignatures={"c": content})
    (weighed,) = report.countersignatures
    assert report.trusted
    assert (weighed.worth is Worth.COUNTS) is (content == COUNTERSIGNED)


def _countersignature_seeds() -> Iterator[bytes]:
    yield COUNTERSIGNED
    yield forging.RECORD


def log(content: bytes) -> None:
    """A log is whole or refused, and is continued only after its whole lines."""
    try:
        end = end_of(content)
        assert end.whole_bytes <= len(content)
        read = read_log(content)
        assert read.end == end.position
    except LogError:
        return


def _log_seeds() -> Iterator[bytes]:
    at, lines = START, b""
    for what in (Note(What.OPENED, "t", key=KEY.public), Note(What.BEGUN, "t", walk="w")):
        line, at = write_line(at, what, KEY, WalkKind.WALK)
        lines += line
        yield lines


def trust(content: bytes) -> None:
    """One way to write a list: what is read is what would be written."""
    try:
        assert serialise_trust(parse_trust(content)) == content
    except SigningKeyError:
        return


def _trust_seeds() -> Iterator[bytes]:
    yield serialise_trust(forging.TRUST)


def key_file(content: bytes) -> None:
    try:
        key = parse_public(content)
    except SigningKeyError:
        return
    assert len(key.x) == 32


def _key_seeds() -> Iterator[bytes]:
    yield forging.encoded(KEY.public.jwk())
    yield b'{\n "kty": "OKP", "crv": "Ed25519", "x": "AA"}'


TARGETS: Mapping[str, Target] = {
    "numbers": Target(numbers, _number_seeds, 120),
    "script": Target(script, _script_seeds, 2500),
    "rules": Target(rules, _rule_seeds, 2500),
    "profile": Target(profile, _profile_seeds, 1200),
    "phrases": Target(phrases, _phrase_seeds, 12_000),
    "journal": Target(journal, _journal_seeds, 12_000),
    "record": Target(record, _record_seeds, 8000),
    "payload": Target(payload, _payload_seeds, 6000),
    "packed": Target(packed, _packed_seeds, 3000),
    "countersignature": Target(countersignature, _countersignature_seeds, 1500),
    "log": Target(log, _log_seeds, 2000),
    "trust": Target(trust, _trust_seeds, 2000),
    "key-file": Target(key_file, _key_seeds, 300),
}
