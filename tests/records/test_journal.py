"""The journal chains; a torn last line is reported; any other change names its line."""

from __future__ import annotations

import hashlib
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.records.walk_sample import CLOSING, EVENTS, joined, journal, lines, opening
from walkaround.errors import JournalError
from walkaround.records.canonical import Json, canonical
from walkaround.records.journal import (
    EMPTY,
    HEAD_EVERY,
    Closing,
    Ended,
    EntryKind,
    closing_of,
    events,
    next_entry,
    read_journal,
    write_closing,
    write_event,
)
from walkaround.records.signature import WalkKind

LINES = lines()
WHOLE = joined(LINES)


def test_what_was_written_is_read() -> None:
    reading = read_journal(WHOLE)
    assert events(reading.entries) == EVENTS
    assert reading.opening == opening()
    assert closing_of(reading.entries[-1]) == CLOSING
    assert (reading.torn_tail, reading.whole_bytes) == (b"", len(WHOLE))
    assert [entry.seq for entry in reading.entries] == list(range(len(LINES)))
    assert reading.head.complete


def test_heads_are_signed_every_few_entries() -> None:
    kinds = [entry.kind for entry in read_journal(WHOLE).entries]
    assert kinds.count(EntryKind.HEAD) == (len(kinds) - 2) // (HEAD_EVERY + 1)
    assert EntryKind.HEAD not in [entry.kind for entry in read_journal(journal(key=None)).entries]


def test_a_journal_is_continued_from_what_was_read() -> None:
    """Writing on after a reading gives the bytes of a journal never interrupted."""
    for cut in range(1, len(LINES) - 1):
        head = read_journal(joined(LINES[:cut])).head
        plain = json.loads(LINES[cut])
        head = type(head)(head.seq, head.hash, plain["sitting"], head.signed_seq)
        assert next_entry(head, EntryKind(plain["kind"]), plain["body"])[0] == LINES[cut]


# ---------------------------------------------------------------- torn


@pytest.mark.parametrize("lines_cut", [1, 2, 3])
def test_cut_at_every_byte_of_the_last_lines(lines_cut: int) -> None:
    """A crash in the middle of a write loses that line and nothing else."""
    kept = joined(LINES[:-lines_cut])
    last = LINES[-lines_cut]
    for cut in range(len(last)):
        reading = read_journal(kept + last[:cut])
        assert len(reading.entries) == len(LINES) - lines_cut
        assert reading.torn_tail == last[:cut]
        assert reading.whole_bytes == len(kept)


def test_a_last_line_of_zero_bytes_is_torn() -> None:
    """Some file systems lengthen the file before the data arrives."""
    kept, last = joined(LINES[:-1]), LINES[-1]
    for damaged in (b"\0" * 512, last[:40] + b"\0" * (len(last) - 41) + b"\n", b"\0\n" + b"\0" * 9):
        reading = read_journal(kept + damaged)
        assert reading.torn_tail == damaged
        assert reading.whole_bytes == len(kept)


@pytest.mark.parametrize("back", [2, 3, 4])
def test_zero_bytes_in_lines_written_together_are_torn(back: int) -> None:
    """A sector in the middle of the last write was lost, the one after it was not."""
    kept, rest = joined(LINES[:-back]), LINES[-back:]
    damaged = rest[0][:30] + b"\0" * 20 + rest[0][50:] + joined(rest[1:])
    reading = read_journal(kept + damaged)
    assert (reading.torn_tail, reading.whole_bytes) == (damaged, len(kept))


def test_zero_bytes_further_up_are_damage() -> None:
    damaged = LINES[3][:40] + b"\0" + LINES[3][41:]
    with pytest.raises(JournalError, match="line 4 "):
        read_journal(joined([*LINES[:3], damaged, *LINES[4:]]))


@pytest.mark.parametrize("content", [b"", b"\n", LINES[0][:-1], b"\0" * 10], ids=repr)
def test_a_journal_with_no_whole_line(content: bytes) -> None:
    with pytest.raises(JournalError):
        read_journal(content)


# ---------------------------------------------------------------- damaged


def _refused(parts: list[bytes], line: int) -> None:
    with pytest.raises(JournalError, match=f"^line {line} of the journal"):
        read_journal(joined(parts))


@pytest.mark.parametrize("index", range(len(LINES) - 1))
def test_a_line_removed(index: int) -> None:
    _refused([*LINES[:index], *LINES[index + 1 :]], index + 1)


@pytest.mark.parametrize("index", range(len(LINES)))
def test_a_line_repeated(index: int) -> None:
    _refused([*LINES[: index + 1], *LINES[index:]], index + 2)


@pytest.mark.parametrize("index", range(len(LINES) - 1))
def test_two_lines_swapped(index: int) -> None:
    swapped = [*LINES[:index], LINES[index + 1], LINES[index], *LINES[index + 2 :]]
    _refused(swapped, index + 1)


@pytest.mark.parametrize("index", range(len(LINES)))
def test_a_byte_changed_in_each_line(index: int) -> None:
    line = LINES[index]
    for at in range(0, len(line) - 1, 7):
        for value in (line[at] ^ 1, line[at] ^ 0x20, 0x22):
            if value == line[at] or value in (0, 0x0A):
                continue
            damaged = line[:at] + bytes([value]) + line[at + 1 :]
            _refused([*LINES[:index], damaged, *LINES[index + 1 :]], index + 1)


def test_a_line_of_another_journal() -> None:
    other = lines(WalkKind.PRACTICE)
    _refused([*LINES[:5], other[5], *LINES[6:]], 6)


def test_nothing_comes_after_a_complete_walk() -> None:
    head = read_journal(WHOLE).head
    with pytest.raises(JournalError, match="complete"):
        write_event(head, EVENTS[1])


def test_a_stopped_walk_is_taken_up_again() -> None:
    stopped = lines(events=EVENTS[:9], closing=Closing(Ended.STOPPED, 99_000))
    reading = read_journal(joined(stopped))
    line, head = write_event(reading.head, EVENTS[13])
    assert read_journal(joined([*stopped, line])).head == head
    assert head.sitting == 2


def _reforged(index: int, **changes: Json) -> list[bytes]:
    """A line changed and given a hash that matches: only the chain can tell, if anything."""
    plain = json.loads(LINES[index])
    plain.update(changes)
    kind = EntryKind.EVENT if plain["kind"] not in list(EntryKind) else EntryKind(plain["kind"])
    head = read_journal(joined(LINES[:index])).head if index else EMPTY
    line, _ = next_entry(type(head)(head.seq, head.hash, plain["sitting"]), kind, plain["body"])
    return [*LINES[:index], line, *LINES[index + 1 :]]


@pytest.mark.parametrize(
    ("index", "changes"),
    [
        (4, {"body": {"event": {"is": "StayedQuiet"}, "more": 1}}),
        (4, {"sitting": 2}),
        (4, {"body": {}}),
        (4, {"kind": "opening", "body": json.loads(LINES[0])["body"]}),
        (2, {"body": {"event": {"is": "Yes"}}}),
    ],
)
def test_a_line_that_chains_but_says_what_no_line_may(index: int, changes: dict[str, Json]) -> None:
    _refused(_reforged(index, **changes)[: index + 1], index + 1)


@pytest.mark.parametrize(
    "damage",
    [
        lambda line: line.replace(b'"seq"', b' "seq"'),
        lambda line: line.replace(b"\n", b"\r\n"),
        lambda line: b"\xef\xbb\xbf" + line,
        lambda line: line.replace(b'{"body"', b'{"a":1,"body"'),
        lambda line: line.replace(b'"sitting":', b'"sitting":1,"sitting":'),
        lambda line: line.replace(b'"sitting":1', b'"sitting":1.0'),
        lambda line: line.replace(b'"sitting":1', b'"sitting":1e0'),
        lambda line: line[:8] + b"[" * 5000 + b"]" * 5000 + b"\n",
        lambda line: b"\n" + line,
    ],
)
def test_a_second_way_to_write_a_line(damage: object) -> None:
    assert callable(damage)
    changed = damage(LINES[4])
    assert changed != LINES[4]
    _refused([*LINES[:4], changed, *LINES[5:]], 5)


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=200), st.integers(0, len(WHOLE)))
def test_garbage_never_crashes_it(garbage: bytes, at: int) -> None:
    for content in (garbage, WHOLE[:at] + garbage + WHOLE[at:], WHOLE[:at] + garbage):
        try:
            read_journal(content)
        except JournalError:
            continue


def test_the_result_does_not_depend_on_how_the_bytes_were_cut() -> None:
    """Read at every line end, byte by byte in between: entries only ever grow."""
    before = 1
    for at in range(len(LINES[0]), len(WHOLE), 97):
        reading = read_journal(WHOLE[:at])
        assert reading.entries == read_journal(WHOLE).entries[: len(reading.entries)]
        assert before <= len(reading.entries)
        before = len(reading.entries)


def test_a_body_that_is_no_json_is_not_written() -> None:
    with pytest.raises(JournalError):
        next_entry(EMPTY, EntryKind.OPENING, {"x": 1.5})  # type: ignore[dict-item]
    with pytest.raises(JournalError):
        next_entry(EMPTY, EntryKind.OPENING, {"x": "\ud800"})
    with pytest.raises(JournalError, match="too long"):
        next_entry(EMPTY, EntryKind.OPENING, {"x": "x" * 2_000_000})


def test_the_hash_is_over_the_canonical_line_without_it() -> None:
    for raw in LINES:
        plain = json.loads(raw)
        told = plain.pop("hash")
        assert hashlib.sha256(canonical(plain)).hexdigest() == told


def test_closing_keeps_what_stands() -> None:
    head = read_journal(joined(LINES[:-1])).head
    assert write_closing(head, CLOSING)[0] == LINES[-1]
