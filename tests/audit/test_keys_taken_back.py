"""The audit treats a key that was taken back as `verify` does, and counts second persons only."""

from __future__ import annotations

import json
import pickle
from dataclasses import replace
from pathlib import Path

from tests.audit.auditing import Audited, audited
from tests.audit.fleets import (
    key_of,
    material_of,
    signed,
    template,
    trust_of,
    variant,
    walked,
)
from walkaround.audit import page_parts
from walkaround.records.countersignature import countersign
from walkaround.records.keys import SigningKey
from walkaround.records.log import START, DeviceLog, Note, What, read_log, sha256_of, write_line
from walkaround.records.signature import WalkKind
from walkaround.records.trust import Revoked, TrustList

KIND = WalkKind.WALK
DRIVER, TRAINER = key_of(0), key_of(1)
TRUST = trust_of(2)


def record(tree: Path, walk_id: str) -> bytes:
    """A record by the driver's key in a folder of its own."""
    payload = variant(template(), {}, id=walk_id)
    payload["key"] = DRIVER.public.jwk()
    line = signed(payload, DRIVER)
    (tree / walk_id).mkdir(parents=True)
    (tree / walk_id / "record.jws").write_bytes(line)
    return line


def log_of(key: SigningKey, *notes: Note) -> DeviceLog:
    lines, end = write_line(START, Note(What.OPENED, "2026-03-01", key=key.public), key, KIND)
    for note in notes:
        more, end = write_line(end, note, key, KIND)
        lines += more
    return read_log(lines)


def taken_back(key: SigningKey, log: DeviceLog | None = None, line: int = 0) -> TrustList:
    covered = log.lines[line].position if log is not None else None
    return TRUST.without(Revoked(key.thumbprint, "stolen", "2026-04-01", covered))


def test_what_a_copied_head_covers_stays_good(tmp_path: Path) -> None:
    tree = tmp_path / "tree"
    early, late = record(tree, "early"), record(tree, "late")
    log = log_of(
        DRIVER,
        Note(What.SIGNED, "2026-03-02", walk="early", sha256=sha256_of(early)),
        Note(What.SIGNED, "2026-03-03", walk="late", sha256=sha256_of(late)),
    )

    def standings(trust: TrustList, *logs: DeviceLog) -> dict[str, int]:
        found = audited(tree, tmp_path / "cache", trust, logs=logs)
        return dict(found.looked)

    assert standings(TRUST) == {"trusted": 2}
    assert standings(taken_back(DRIVER), log) == {"not trusted": 2}
    covered = taken_back(DRIVER, log, 1)
    assert standings(covered) == {"not trusted": 2}  # nothing shows that it is older
    assert standings(covered, log) == {"trusted": 1, "not trusted": 1}


def test_a_log_can_be_handed_to_another_process() -> None:
    log = log_of(DRIVER, Note(What.SIGNED, "2026-03-02", walk="a", sha256="0" * 64))
    assert pickle.loads(pickle.dumps(log)) == log


def countersigned(line: bytes, key: SigningKey, remarks: str) -> bytes:
    return countersign(
        line, key, KIND, walk_id="one", remarks=remarks, signer="A Name", at="2026-03-05"
    )


def counted(found: Audited) -> list[tuple[str, str]]:
    (audit,) = found.audits
    return [(by, remarks) for _, by, _, remarks in audit.shown.countersigned]


def test_only_a_second_person_counts(tmp_path: Path) -> None:
    tree = tmp_path / "tree"
    line = record(tree, "one")
    beside = tree / "one" / "countersignature-1.jws"
    beside.write_bytes(countersigned(line, DRIVER, "I am fine."))
    assert counted(audited(tree, tmp_path / "cache", TRUST)) == []
    second = countersigned(line, TRAINER, "Looked.")
    beside.write_bytes(second)
    assert counted(audited(tree, tmp_path / "cache", TRUST)) == [("driver 1, as A Name", "Looked.")]
    log = log_of(TRAINER, Note(What.COUNTERSIGNED, "2026-03-05", sha256=sha256_of(second)))
    gone = taken_back(TRAINER)
    found = audited(tree, tmp_path / "cache", gone, logs=[log])
    assert counted(found) == []
    assert [one.why for one in found.listed] == ["NOT COUNTED, revoked key, time not proven"]
    covered = taken_back(TRAINER, log, 1)
    assert counted(audited(tree, tmp_path / "cache", covered)) == []
    assert len(counted(audited(tree, tmp_path / "cache", covered, logs=[log]))) == 1
    stranger = TrustList(tuple(key for key in TRUST.keys if key.key != TRAINER.public))
    assert counted(audited(tree, tmp_path / "cache", stranger)) == []


def test_a_walk_is_borne_out_once_however_many_signed_and_however_many_are_listed(
    tmp_path: Path,
) -> None:
    tree = tmp_path / "tree"
    line = record(tree, "one")
    record(tree, "two")
    for number in range(230):
        signature = countersigned(line, TRAINER, f"Look number {number}.")
        (tree / "one" / f"countersignature-{number}.jws").write_bytes(signature)
    found = audited(tree, tmp_path / "cache", TRUST)
    (audit,) = found.audits
    assert (len(audit.shown.countersigned), audit.shown.borne_out) == (200, 1)
    told = str(page_parts.countersigned(audit, found.refs, lambda _: "./x"))
    assert "1 of 2 walks have no countersignature" in told


def test_one_that_is_no_longer_there_no_longer_counts(tmp_path: Path) -> None:
    tree = tmp_path / "tree"
    beside = tree / "one" / "countersignature-1.jws"
    line = record(tree, "one")
    beside.write_bytes(countersigned(line, TRAINER, "Looked."))
    assert len(counted(audited(tree, tmp_path / "cache", TRUST))) == 1
    assert len(counted(audited(tree, tmp_path / "cache", TRUST))) == 1  # not verified again
    beside.unlink()
    assert counted(audited(tree, tmp_path / "cache", TRUST)) == []


def test_a_countersignature_for_practice_says_nothing_of_a_walk(tmp_path: Path) -> None:
    wide = tuple(replace(key, scope=(KIND, WalkKind.PRACTICE)) for key in TRUST.keys)
    tree = tmp_path / "tree"
    line = record(tree, "one")
    practice = countersign(
        line, TRAINER, WalkKind.PRACTICE, walk_id="one", remarks="a", signer="b", at=""
    )
    (tree / "one" / "countersignature-1.jws").write_bytes(practice)
    assert counted(audited(tree, tmp_path / "cache", TrustList(wide))) == []


def test_a_journal_alone_that_names_such_a_key_is_told_so(tmp_path: Path) -> None:
    """Nobody signed it as a whole; the name must not make it look better than it is."""
    journal, _ = walked(material_of("bus", "demo-bus", ("US",)), DRIVER)
    tree = tmp_path / "tree"
    tree.mkdir()
    (tree / "journal.jsonl").write_bytes(b"".join(journal.splitlines(keepends=True)[:20]))
    assert json.loads(journal.splitlines()[0])["body"]["device"] == DRIVER.thumbprint
    record(tree, "one")

    def whose(trust: TrustList) -> str:
        (audit,) = audited(tree, tmp_path / "cache", trust).audits
        (ref,) = audit.shown.unfinished
        return ref.who

    assert whose(TRUST) == "driver 0"
    assert whose(taken_back(DRIVER)) == "driver 0 (key taken back)"
