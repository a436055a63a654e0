"""A practice is a signed record like a walk's, says PRACTICE first, and is what counts."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from tests.learning.drills import DRILLS, WALL, Practice, drilled
from tests.learning.recall_books import book
from tests.walks.stories import STORIES, tell
from walkaround.errors import JournalError, RecordError
from walkaround.exchange import Command, Event, Heard, Said, SittingOpened
from walkaround.learning.drill import Mark, Stage
from walkaround.learning.evidence import key_of, note_name, reviews_of, wall_time
from walkaround.learning.memory import Key, Review
from walkaround.learning.progress import (
    Progress,
    next_steps,
    parse_progress,
    serialise_progress,
)
from walkaround.records.journal import (
    Closing,
    Ended,
    open_journal,
    read_journal,
    write_closing,
    write_event,
)
from walkaround.records.keys import make_key
from walkaround.records.opening import Opening, outline_of
from walkaround.records.page import page_of
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.summary import summarise
from walkaround.records.trust import TrustedKey, TrustList
from walkaround.records.verify import verify

KEY = make_key(bytes(range(32)))
CARDS = tuple(book().why)


def trust(*kinds: WalkKind) -> TrustList:
    return TrustList((TrustedKey(KEY.public, kinds, "the desk", WALL),))


@pytest.mark.parametrize("name", DRILLS)
def test_a_drill_of_each_stage_is_a_whole_signed_record_of_practice(name: str) -> None:
    done = drilled(DRILLS[name], KEY)
    summary = summarise(read_journal(done.journal), KEY.public.jwk())
    record = sign(summary, KEY, WalkKind.PRACTICE, Paper.RECORD)
    report = verify(record, trust(WalkKind.WALK, WalkKind.PRACTICE), journal=done.journal)
    assert report.trusted, report.lines()
    assert report.lines()[0].startswith("PRACTICE")
    assert b"PRACTICE" in page_of(summary, signed=True)


def test_practice_never_passes_for_a_walk() -> None:
    done = drilled(DRILLS["asked"], KEY)
    summary = summarise(read_journal(done.journal), KEY.public.jwk())
    record = sign(summary, KEY, WalkKind.PRACTICE, Paper.RECORD)
    report = verify(record, trust(WalkKind.WALK))
    assert report.intact
    assert not report.trusted
    with pytest.raises(RecordError):
        verify(sign(summary, KEY, WalkKind.WALK, Paper.RECORD), trust(WalkKind.WALK)).require()


@pytest.mark.parametrize("name", DRILLS)
def test_what_counts_is_what_the_drill_itself_marked(name: str) -> None:
    done = drilled(DRILLS[name], KEY)
    found = {
        review.key.item.removeprefix("step:"): review.mark
        for review in reviews_of(read_journal(done.journal), CARDS)
    }
    drill = done.drill.marks if done.drill.ended else {}
    marked = {done.kit.card(step): mark for step, mark in done.drill.marks.items()}
    if drill:
        assert found == marked
    assert all(marked.get(card, mark) is mark for card, mark in found.items())


def test_it_counts_at_the_place_and_the_time_of_the_practice() -> None:
    practice = Practice(Stage.RECALLED, ("park level", "stop"), places=("CA-ON", "CA-QC"))
    reviews = reviews_of(read_journal(drilled(practice).journal), CARDS)
    assert {review.key for review in reviews} == {
        Key("step:level-and-park", "CA-ON"),
        Key("step:level-and-park", "CA-QC"),
    }
    assert wall_time(WALL) < reviews[0].at < wall_time(WALL) + timedelta(minutes=5)


def test_told_only_proves_no_memory() -> None:
    practice = Practice(Stage.TOLD, ("next",) * 5)
    assert reviews_of(read_journal(drilled(practice).journal), CARDS) == ()


# ---------------------------------------------------------------- real walks


def _walk(*said: tuple[str, Command], not_done: dict[str, str] | None = None) -> bytes:
    """A real walk's journal in which these commands were given."""
    plan = drilled(Practice(Stage.TOLD)).material.plan
    opening = Opening(
        WalkKind.WALK, "a-walk", "walkaround", plan.script, ("CA-ON",), (), outline_of(plan)
    )
    line, head = open_journal(opening)
    lines = [line]
    heard = [Heard(at, Said(what), str(what), 1000, 1000) for at, what in said]
    events: list[Event] = [SittingOpened(1, WALL, "boot", 0), *heard]
    for event in events:
        line, head = write_event(head, event)
        lines.append(line)
    line, head = write_closing(head, Closing(Ended.COMPLETE, 2000, not_done=not_done or {}))
    return b"".join([*lines, line])


def test_a_real_walk_counts_for_help_asked_and_for_what_was_left_out() -> None:
    journal = _walk(
        ("cut-in.reading", Command.EXPLAIN),
        ("leak-applied.start", Command.CORRECTION),
        ("cut-out.reading", Command.REPEAT),
        not_done={"stroke-applied": "unable"},
    )
    found = {r.key.item: r.mark for r in reviews_of(read_journal(journal), CARDS)}
    assert found == {
        "step:cut-in": Mark.HELPED,
        "step:leak-applied": Mark.HELPED,
        "step:stroke-applied": Mark.WRONG,
    }


def test_a_simulated_walk_shows_nothing_of_a_person() -> None:
    told = tell(STORIES["a-driver-who-slips"])
    assert told.journal
    opening = Opening(
        WalkKind.SIMULATED, "a", "w", told.material.plan.script, ("US",), (),
        outline_of(told.material.plan),
    )  # fmt: skip
    line, _ = open_journal(opening)
    assert reviews_of(read_journal(line), CARDS) == ()


# ---------------------------------------------------------------- kept progress

AT = datetime(2026, 1, 31, 8, tzinfo=UTC)


def test_progress_is_read_back_as_it_was_written() -> None:
    reviews = (
        Review(Key("step:cut-in", "US"), AT, Mark.RIGHT),
        Review(Key("rule:ca-on.build-up", "CA-ON"), AT, Mark.FORGOTTEN),
    )
    progress = Progress().with_journal("ab", reviews).with_journal("cd", ())
    assert parse_progress(serialise_progress(progress)) == progress
    assert progress.only(["cd"]).reviews == ()


@pytest.mark.parametrize(
    "damaged",
    [
        b"",
        b"{",
        b"\x00\xff",
        b'{"format":"walkaround-progress-1"}',
        b'{"format":"walkaround-progress-9","journals":{}}',
        b'{"format":"walkaround-progress-1","journals":{"ab":[{"at":"yesterday","item":"x",'
        b'"mark":"right at once","place":"US"}]}}',
        b'{"format":"walkaround-progress-1","journals":{"ab":[{"at":"2026-01-31T08:00:00Z",'
        b'"item":"x","mark":"perfect","place":"US"}]}}',
    ],
)
def test_a_damaged_progress_file_is_refused_in_one_sentence(damaged: bytes) -> None:
    with pytest.raises(RecordError) as refused:
        parse_progress(damaged)
    assert "\n" not in str(refused.value)


def test_a_journal_with_a_time_that_is_none_is_refused() -> None:
    for text in ("yesterday", "2026-01-31T08:00:00"):
        with pytest.raises(JournalError):
            wall_time(text)


def test_a_questions_name_in_a_record_can_be_read_back() -> None:
    for item in ("rule:ca-on.build-up", "part:governor.does", "rule:us-federal.stroke.clamp-30"):
        key = Key(item, "CA-ON")
        assert key_of(note_name(key)) == key
        assert "." not in note_name(key)


def test_what_is_next_is_what_is_due_then_what_is_new() -> None:
    done = drilled(Practice(Stage.TOLD))
    plan, cards = done.material.plan, {s.id: done.kit.card(s.id) for s in done.material.plan.steps}
    reviews = (
        Review(Key("step:cut-in", "CA-ON"), AT, Mark.WRONG),
        Review(Key("step:level-and-park", "CA-ON"), AT, Mark.RIGHT),
        Review(Key("step:level-and-park", "CA-ON"), AT + timedelta(days=1), Mark.RIGHT),
        Review(Key("step:park-hold-trailer", "US"), AT, Mark.WRONG),
    )
    found = next_steps(Progress({"ab": reviews}), plan, cards, AT + timedelta(days=1, hours=1))
    assert [memory.key.item for memory in found.due] == ["step:cut-in"]
    assert "cut-in" not in found.new
    assert "level-and-park" not in found.cards()
    assert found.new[0] == "wheels-chocked"


def test_the_record_names_no_learner() -> None:
    """A person's name is a folder's name on this machine and goes into no record."""
    done = drilled(replace(DRILLS["recalled"]), KEY)
    assert b"learner" not in done.journal
