"""Which of the given logs a record is held against."""

from __future__ import annotations

from tests.records.walk_sample import KEY, STRANGER
from walkaround.cli.logs import Logs
from walkaround.records.keys import SigningKey, make_key
from walkaround.records.log import START, DeviceLog, Note, What, read_log, sha256_of, write_line
from walkaround.records.signature import WalkKind

RECORD = b"a record"
SIGNED = Note(What.SIGNED, "", walk="w", sha256=sha256_of(RECORD))


def log_of(key: SigningKey, *notes: Note) -> DeviceLog:
    content, end = write_line(START, Note(What.OPENED, "", key=key.public), key, WalkKind.WALK)
    for note in notes:
        more, end = write_line(end, note, key, WalkKind.WALK)
        content += more
    return read_log(content)


DRIVER = log_of(KEY, SIGNED)
OTHER = log_of(STRANGER, Note(What.BEGUN, "", walk="x"))
TRAINER = log_of(
    make_key(bytes(32)), Note(What.COUNTERSIGNED, "", sha256=sha256_of(b"a countersignature"))
)


def test_the_log_of_the_records_key_is_found_among_several() -> None:
    for given in ((DRIVER,), (OTHER, DRIVER), (TRAINER, DRIVER), (DRIVER, TRAINER, OTHER)):
        assert Logs(given=given).log_for(KEY.thumbprint, RECORD) is DRIVER


def test_a_single_one_of_another_device_is_held_against_it_all_the_same() -> None:
    """Else a record that its log leaves out could be shown with somebody else's log."""
    assert Logs(given=(OTHER,)).log_for(KEY.thumbprint, RECORD) is OTHER
    assert Logs(given=(OTHER, TRAINER)).log_for(KEY.thumbprint, RECORD) is None


def test_the_log_of_who_countersigned_is_not() -> None:
    assert Logs(given=(TRAINER,)).log_for(KEY.thumbprint, RECORD) is None
    assert Logs(given=(TRAINER,), own=(DRIVER,)).log_for(KEY.thumbprint, RECORD) is DRIVER
    assert Logs(given=(TRAINER,), own=(DRIVER,)).countersigners == (TRAINER, DRIVER)
