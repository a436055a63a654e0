"""What a device's log knows of a walk's earlier records, of which a later one was shown."""

from __future__ import annotations

from tests.records.walk_sample import KEY
from walkaround.records.log import (
    START,
    DeviceLog,
    Note,
    What,
    earlier,
    read_log,
    records_of,
    write_line,
)
from walkaround.records.signature import WalkKind

FIRST, ONE, TWO, OTHER = (f"{n}{n}" * 32 for n in "3456")


def log_of(*signed: tuple[str, str]) -> DeviceLog:
    """A record of (walk, hash) a day, from the first of March on."""
    opened = Note(What.OPENED, "2026-03-01", key=KEY.public)
    content, end = write_line(START, opened, KEY, WalkKind.WALK)
    for day, (walk, sha256) in enumerate(signed, 1):
        note = Note(What.SIGNED, f"2026-03-{day:02}", walk=walk, sha256=sha256)
        line, end = write_line(end, note, KEY, WalkKind.WALK)
        content += line
    return read_log(content)


LOG = log_of(("w", FIRST), ("w", ONE), ("w", TWO), ("w", ONE), ("v", OTHER))


def test_a_record_is_listed_once_however_often_it_was_signed() -> None:
    assert [note.sha256 for note in records_of(LOG, "w")] == [FIRST, ONE, TWO]
    assert records_of(LOG, "u") == ()


def test_earlier_records_of_a_walk_that_was_shown() -> None:
    assert [gap.at for gap in earlier(LOG, [ONE])] == ["2026-03-01", "2026-03-03"]
    assert [gap.at for gap in earlier(LOG, [TWO])] == ["2026-03-01"]  # the last is told of before
    assert [gap.walk for gap in earlier(LOG, [OTHER])] == []
    assert [gap.walk for gap in earlier(LOG, [FIRST, ONE, TWO])] == []
