"""The device's log: whole or refused; what it shows of records withheld, back-dated, revoked."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import pytest

from tests.records.forging import RECORD, SUMMARY, TRUST
from tests.records.walk_sample import CLOSING, EVENTS, KEY, STRANGER, joined, opening
from walkaround.errors import LogError, RevokedKeyError, UntrustedKeyError
from walkaround.records.base64url import from_text
from walkaround.records.canonical import Json
from walkaround.records.journal import open_journal, read_journal, write_closing, write_event
from walkaround.records.keys import SigningKey, make_key
from walkaround.records.log import (
    START,
    Note,
    What,
    absent,
    end_of,
    read_head,
    read_log,
    sha256_of,
    write_line,
)
from walkaround.records.opening import Opening
from walkaround.records.position import Position
from walkaround.records.report import Outcome, Report
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.summary import summarise
from walkaround.records.trust import Revoked, SeenHead, TrustedKey, TrustList
from walkaround.records.verify import verify

WALK = WalkKind.WALK
NEXT = make_key(b"n" * 32)
HASH = sha256_of(RECORD)

Row = tuple[Note, SigningKey]


def _note(what: What, day: int, **more: Any) -> Note:
    return Note(what, f"2026-03-{day:02}T08:00:00.000Z", **more)


ROWS: tuple[Row, ...] = (
    (_note(What.OPENED, 1, key=KEY.public), KEY),
    (_note(What.BEGUN, 1, walk="walk-0000"), KEY),
    (_note(What.SIGNED, 1, walk="walk-0000", sha256="00" * 32), KEY),
    (_note(What.BEGUN, 2, walk="walk-0001"), KEY),
    (_note(What.SIGNED, 2, walk="walk-0001", sha256=HASH), KEY),
    (_note(What.BEGUN, 3, walk="walk-0002"), KEY),
    (_note(What.ROTATED, 4, key=NEXT.public), KEY),
    (_note(What.BEGUN, 5, walk="walk-0003"), NEXT),
    (_note(What.SIGNED, 5, walk="walk-0003", sha256="33" * 32), NEXT),
)


def log_of(rows: tuple[Row, ...], kind: WalkKind = WALK) -> list[bytes]:
    lines, end = list[bytes](), START
    for note, key in rows:
        line, end = write_line(end, note, key, kind)
        lines.append(line)
    return lines


LINES = log_of(ROWS)
LOG = joined(LINES)
READ = read_log(LOG)


def position(number: int) -> Position:
    return READ.lines[number].position


def test_what_was_written_is_read() -> None:
    assert [line.note for line in READ.lines] == [note for note, _ in ROWS]
    assert [line.key_id for line in READ.lines] == [key.thumbprint for _, key in ROWS]
    assert READ.keys == (KEY.public, NEXT.public)
    assert READ.end == position(-1)
    assert READ.clock_went_back() == ()
    line = READ.signed(HASH)
    assert line is not None
    assert line.position == position(4)


def test_the_chain_is_sha_256_of_each_line() -> None:
    """With hashlib and json alone: what another program needs to check it."""
    prev = "0" * 64
    for seq, raw in enumerate(LOG.splitlines()):
        payload = json.loads(from_text(raw.split(b".")[1]))
        assert (payload["seq"], payload["prev"]) == (seq, prev)
        prev = hashlib.sha256(raw).hexdigest()
        assert position(seq) == Position(seq, prev)


# ---------------------------------------------------------------- changed


@pytest.mark.parametrize("index", range(len(LINES)))
def test_a_line_taken_out_moved_or_twice(index: int) -> None:
    without = [*LINES[:index], *LINES[index + 1 :]]
    twice = [*LINES[: index + 1], *LINES[index:]]
    if index < len(LINES) - 1:  # a log that merely ends earlier is whole: a copied head tells
        with pytest.raises(LogError):
            read_log(joined(without))
        swapped = [*LINES[:index], LINES[index + 1], LINES[index], *LINES[index + 2 :]]
        with pytest.raises(LogError):
            read_log(joined(swapped))
    with pytest.raises(LogError):
        read_log(joined(twice))


def test_every_byte_of_the_log_counts() -> None:
    for at in range(len(LOG)):
        changed = LOG[:at] + bytes([LOG[at] ^ 1]) + LOG[at + 1 :]
        with pytest.raises(LogError):
            read_log(changed)


def _raw(payload: dict[str, Json], key: SigningKey, paper: Paper = Paper.LOG) -> bytes:
    return sign(payload, key, WALK, paper) + b"\n"


def _payload(seq: int, prev: str, **more: Json) -> dict[str, Json]:
    return {"at": "t", "prev": prev, "seq": seq, **more}


END = READ.end
WRONG: dict[str, bytes] = {
    "empty": b"",
    "a blank line": LOG + b"\n",
    "cut short": LOG[:-1],
    "no signed line": LOG + b"hello\n",
    "opened twice": LOG + write_line(END, ROWS[0][0], NEXT, WALK)[0],
    "not opened": joined(log_of(ROWS[1:3])),
    "by the key that was given up": LOG + write_line(END, ROWS[1][0], KEY, WALK)[0],
    "by a stranger": LOG + write_line(END, ROWS[1][0], STRANGER, WALK)[0],
    "opened by another key than it names": write_line(START, ROWS[0][0], STRANGER, WALK)[0],
    "rotated by the new key itself": joined(LINES[:6])
    + write_line(position(5), ROWS[6][0], NEXT, WALK)[0],
    "a number left out": LOG + write_line(Position(END.seq + 1, END.hash), *ROWS[8], WALK)[0],
    "a record in place of a line": LOG + RECORD + b"\n",
    "a head in place of a line": LOG
    + _raw(_payload(9, END.hash, what="begun", walk="w"), NEXT, Paper.HEAD),
    "what is unknown": LOG + _raw(_payload(9, END.hash, what="burnt"), NEXT),
    "signed, but no hash": LOG + _raw(_payload(9, END.hash, what="signed", walk="w"), NEXT),
    "begun, but no walk": LOG + _raw(_payload(9, END.hash, what="begun"), NEXT),
    "a member more": LOG + _raw(_payload(9, END.hash, what="begun", walk="w", more=1), NEXT),
    "rotated to no key": LOG + _raw(_payload(9, END.hash, what="rotated", key={}), NEXT),
    "a number that is a text": LOG
    + _raw({**_payload(9, END.hash, what="begun", walk="w"), "seq": "9"}, NEXT),
}


@pytest.mark.parametrize("name", WRONG)
def test_a_log_out_of_order(name: str) -> None:
    with pytest.raises(LogError):
        read_log(WRONG[name])


def test_a_clock_set_back_shows() -> None:
    rows = (*ROWS[:4], (_note(What.SIGNED, 1, walk="walk-0001", sha256=HASH), KEY))
    log = joined(log_of(rows))
    assert read_log(log).clock_went_back() == (4,)
    report = verify(RECORD, TRUST, log=log)
    assert report.trusted
    assert "the clock went back before line 5" in report.steps[16].detail


# ---------------------------------------------------------------- continued


def test_a_log_is_continued_from_its_last_whole_line() -> None:
    for count in range(1, len(LINES) + 1):
        whole = joined(LINES[:count])
        end = end_of(whole)
        assert (end.position, end.whole_bytes) == (position(count - 1), len(whole))
        assert end.due == (KEY if count < 7 else NEXT).thumbprint
    assert end_of(b"").position == START


def test_cut_at_every_byte_of_the_last_line() -> None:
    kept = joined(LINES[:-1])
    for cut in range(len(LINES[-1])):
        end = end_of(kept + LINES[-1][:cut])
        assert (end.position, end.whole_bytes) == (position(-2), len(kept))
    zeros = LINES[-1][:40] + b"\0" * 30 + b"\n"
    assert end_of(kept + zeros).whole_bytes == len(kept)
    assert end_of(b"\0\0\n").whole_bytes == 0


# ---------------------------------------------------------------- beside a record


def _failed(report: Report) -> list[int]:
    return [step.number for step in report.steps if step.outcome is Outcome.FAILED]


def test_a_record_in_its_log() -> None:
    report = verify(RECORD, TRUST, log=LOG)
    assert report.trusted
    assert report.steps[18].detail == "line 5 of 9"
    assert report == verify(RECORD, TRUST, log=READ)


def test_a_record_made_later_and_dated_back_is_not_in_the_log() -> None:
    """Truly signed by the trusted key, with a date of its own choosing."""
    began: dict[str, Json] = {**SUMMARY, "began": "2026-03-01T06:00:00Z", "id": "walk-0000b"}
    forged = sign(began, KEY, WALK, Paper.RECORD)
    assert verify(forged, TRUST).trusted
    report = verify(forged, TRUST, log=LOG)
    assert _failed(report) == [19]
    assert (report.intact, report.trusted) == (True, False)
    assert "does not bear it out" in report.verdict
    with pytest.raises(LogError, match="no line for this record"):
        report.require()


@pytest.mark.parametrize(
    ("note", "key", "kind"),
    [
        (_note(What.SIGNED, 2, walk="walk-0009", sha256=HASH), KEY, WALK),
        (_note(What.SIGNED, 2, walk="walk-0001", sha256=HASH), STRANGER, WALK),
        (_note(What.SIGNED, 2, walk="walk-0001", sha256=HASH), KEY, WalkKind.PRACTICE),
    ],
)
def test_a_log_that_names_it_as_anothers(note: Note, key: SigningKey, kind: WalkKind) -> None:
    first, end = write_line(START, _note(What.OPENED, 1, key=key.public), key, kind)
    line, _ = write_line(end, note, key, kind)
    assert _failed(verify(RECORD, TRUST, log=first + line)) == [19]


def test_a_withheld_record_shows_as_a_gap() -> None:
    told = absent(READ, [HASH])
    assert [(gap.walk, gap.what) for gap in told] == [
        ("walk-0000", What.SIGNED),
        ("walk-0002", What.BEGUN),
        ("walk-0003", What.SIGNED),
    ]
    assert absent(READ, ["00" * 32, HASH, "33" * 32])[0].walk == "walk-0002"


def test_a_walk_signed_twice_counts_by_its_last_record() -> None:
    rows = (*ROWS[:5], (_note(What.SIGNED, 3, walk="walk-0000", sha256="99" * 32), KEY))
    log = read_log(joined(log_of(rows)))
    assert [gap.walk for gap in absent(log, [HASH, "99" * 32])] == []
    assert [gap.walk for gap in absent(log, [HASH, "00" * 32])] == ["walk-0000"]


def _begun_at(began: Position | None) -> tuple[bytes, bytes]:
    """A walk whose opening names a line of the log: its journal and its record."""
    first = opening(WALK)
    fields = {name: getattr(first, name) for name in first.__slots__}
    line, head = open_journal(Opening(**{**fields, "log": began}))
    parts = [line]
    for event in EVENTS:
        line, head = write_event(head, event)
        parts.append(line)
    line, _ = write_closing(head, CLOSING)
    journal = joined([*parts, line])
    assert read_journal(journal).opening.log == began
    summary = summarise(read_journal(journal), KEY.public.jwk())
    return journal, sign(summary, KEY, WALK, Paper.RECORD)


@pytest.mark.parametrize(
    ("began", "fails"),
    [
        (position(3), []),
        (None, []),
        (position(1), [19]),  # the line of another walk
        (position(2), [19]),  # no line that begins one
        (Position(3, "0" * 64), [19]),
        (Position(400, "0" * 64), [19]),
        (Position(-1, "0" * 64), [19]),
    ],
)
def test_a_walk_stands_after_the_line_it_was_begun_with(
    began: Position | None, fails: list[int]
) -> None:
    journal, record = _begun_at(began)
    note = _note(What.SIGNED, 2, walk="walk-0001", sha256=sha256_of(record))
    line, _ = write_line(position(3), note, KEY, WALK)
    report = verify(record, TRUST, journal=journal, log=joined(LINES[:4]) + line)
    assert _failed(report) == fails


def test_a_walk_begun_after_its_record_was_signed() -> None:
    """The line exists, but only behind the record: the order was turned round."""
    note = _note(What.SIGNED, 2, walk="walk-0001", sha256="11" * 32)
    line, end = write_line(position(2), note, KEY, WALK)
    begun, at = write_line(end, ROWS[3][0], KEY, WALK)
    journal, record = _begun_at(at)
    note = _note(What.SIGNED, 2, walk="walk-0001", sha256=sha256_of(record))
    signed, _ = write_line(position(2), note, KEY, WALK)
    later, _ = write_line(at, note, KEY, WALK)
    whole = joined(LINES[:3]) + line + begun + later
    assert verify(record, TRUST, journal=journal, log=whole).trusted
    early = joined(LINES[:3]) + signed
    assert _failed(verify(record, TRUST, journal=journal, log=early)) == [19]


# ---------------------------------------------------------------- heads given away


def test_a_copied_head_pins_the_log() -> None:
    report = verify(RECORD, TRUST, log=LOG, heads=[LINES[5], LINES[8].strip()])
    assert report.trusted
    assert report.steps[17].detail == "2 heads"


def test_a_log_rewritten_after_a_head_was_copied() -> None:
    rewritten = joined(log_of((*ROWS[:4], (_note(What.SIGNED, 2, walk="w", sha256=HASH), KEY))))
    report = verify(RECORD, TRUST, log=rewritten, heads=[LINES[4]])
    assert 18 in _failed(report)
    cut = verify(RECORD, TRUST, log=joined(LINES[:5]), heads=[LINES[5]])
    assert _failed(cut) == [18]


def test_a_head_that_the_trust_list_has_seen() -> None:
    seen = TRUST.with_head(SeenHead(KEY.thumbprint, position(5), ""))
    assert verify(RECORD, seen, log=LOG).steps[17].outcome is Outcome.PASSED
    assert _failed(verify(RECORD, seen, log=joined(LINES[:5]))) == [18]


def test_a_head_is_by_a_trusted_key() -> None:
    head = read_head(LINES[5], [KEY.public])
    assert (head.position, head.key_id) == (position(5), KEY.thumbprint)
    for content in (LINES[7], RECORD, b"", b"hello", LINES[5][:-9]):
        with pytest.raises(LogError):
            read_head(content, [KEY.public])
    stranger = write_line(END, ROWS[1][0], STRANGER, WALK)[0]
    assert _failed(verify(RECORD, TRUST, log=LOG, heads=[stranger])) == [18]


# ---------------------------------------------------------------- keys taken back


def _revoked(covered: Position | None) -> TrustList:
    return TRUST.without(Revoked(KEY.thumbprint, "stolen", "2026-03-06", covered))


@pytest.mark.parametrize("covered", [4, 5, 8])
def test_what_a_copied_head_covers_stays_good(covered: int) -> None:
    report = verify(RECORD, _revoked(position(covered)), log=LOG)
    assert report.trusted, report.lines()
    assert f"covered by line {covered + 1}" in report.steps[19].detail


@pytest.mark.parametrize(
    ("covered", "log"),
    [
        (None, LOG),  # no head was ever copied
        (position(3), LOG),  # the head is older than the record
        (position(4), None),  # the log is not shown
        (position(4), joined(LINES[:4])),  # the log shown does not reach that far
        (Position(4, "0" * 64), LOG),  # the log shown is another
        (Position(99, "0" * 64), LOG),
    ],
)
def test_the_rest_says_so(covered: Position | None, log: bytes | None) -> None:
    report = verify(RECORD, _revoked(covered), log=log)
    assert 20 in _failed(report)
    assert (report.intact, report.trusted) == (True, False)
    told = "revoked key, time not proven"
    assert told in report.steps[19].detail
    if 19 in _failed(report):
        assert report.refusal is LogError
        return
    assert told in report.verdict
    with pytest.raises(RevokedKeyError, match=told):
        report.require()


def test_a_revoked_key_of_the_wrong_kind_is_untrusted_first() -> None:
    trust = TrustList((TrustedKey(KEY.public, (WalkKind.PRACTICE,), "x", ""),))
    trust = trust.without(Revoked(KEY.thumbprint, "lost", ""))
    report = verify(RECORD, trust)
    assert _failed(report) == [10, 20]
    with pytest.raises(UntrustedKeyError, match="practice"):
        report.require()


def test_a_thief_cannot_go_on_before_the_copied_head() -> None:
    """With the stolen key: a log that is the true one up to a line, then the thief's."""
    forged = sign({**SUMMARY, "id": "walk-0666"}, KEY, WALK, Paper.RECORD)
    note = _note(What.SIGNED, 2, walk="walk-0666", sha256=sha256_of(forged))
    for kept in range(1, 6):
        line, _ = write_line(position(kept - 1), note, KEY, WALK)
        thiefs = joined(LINES[:kept]) + line
        report = verify(forged, _revoked(position(5)), log=thiefs)
        assert 20 in _failed(report)
        assert not report.trusted
