"""The commands around keys, logs and heads, as a carrier's office and a yard would use them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.records.walk_sample import joined, lines
from walkaround.devices.keys import KeyStore
from walkaround.errors import LogError, RevokedKeyError, SigningKeyError, UntrustedKeyError
from walkaround.records.journal import read_journal
from walkaround.records.keys import SigningKey, make_key
from walkaround.records.log import Note, What, read_log, sha256_of
from walkaround.records.particulars import commit
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.summary import summarise

ROOT = Path(__file__).resolve().parents[2]
WALK = WalkKind.WALK


class Place:
    """A home of its own: a tablet in the yard, or the office."""

    def __init__(self, home: Path) -> None:
        self.home = home
        self.store = KeyStore(home / "config" / "walkaround")

    def run(self, *arguments: str | Path) -> subprocess.CompletedProcess[str]:
        folders = {f"XDG_{n}_HOME": str(self.home / n.lower()) for n in ("CONFIG", "DATA")}
        return subprocess.run(
            [sys.executable, "-m", "walkaround.cli", *map(str, arguments)],
            env={**os.environ, **folders, "PYTHONPATH": str(ROOT)},
            stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False, timeout=60,
        )  # fmt: skip

    def kept(self, name: str, *arguments: str) -> Path:
        """A command's output in a file, as it would be carried elsewhere."""
        done = self.run(*arguments)
        assert done.returncode == 0, done.stderr
        path = self.home / name
        path.write_text(done.stdout)
        return path


class Yard(Place):
    """A device that signs: the walk of the tests' sample, under its own key."""

    def walk(self, name: str, *, noted: bool = True) -> Path:
        """A record of that walk; `noted` in the log before and after."""
        key = self.store.key(WALK)
        if noted:
            self._note(key, Note(What.BEGUN, "2026-03-01", walk="walk-0001"))
        journal = joined(lines(WALK, key))
        record = sign(summarise(read_journal(journal), key.public.jwk()), key, WALK, Paper.RECORD)
        # The same walk gives the same record: another place makes it another one.
        folder = self.home / "walks" / name
        folder.mkdir(parents=True)
        (folder / "record.jws").write_bytes(record)
        if noted:
            self._note(key, Note(What.SIGNED, "2026-03-01", "walk-0001", sha256_of(record)))
        return folder / "record.jws"

    def _note(self, key: SigningKey, note: Note) -> None:
        self.store.log(WALK).note(note, key, WALK)

    @property
    def thumbprint(self) -> str:
        return self.store.key(WALK).thumbprint


@pytest.fixture
def yard(tmp_path: Path) -> Yard:
    (tmp_path / "yard").mkdir()
    return Yard(tmp_path / "yard")


@pytest.fixture
def office(tmp_path: Path, yard: Yard) -> Place:
    """It has compared the yard's thumbprint and imported its key."""
    (tmp_path / "office").mkdir()
    office = Place(tmp_path / "office")
    public = yard.kept("key.json", "keys", "--export")
    given = ("--thumbprint", yard.thumbprint, "--name", "yard tablet")
    done = office.run("keys", "--trust", public, *given)
    assert done.returncode == 0, done.stderr
    assert "yard tablet" in done.stdout
    return office


def test_a_strangers_key_is_imported_by_fingerprint_only(yard: Yard, tmp_path: Path) -> None:
    record = yard.walk("one")
    public = yard.kept("key.json", "keys", "--export")
    assert json.loads(public.read_text())["kty"] == "OKP"
    (tmp_path / "stranger").mkdir()
    stranger = Place(tmp_path / "stranger")
    assert stranger.run("verify", record).returncode == UntrustedKeyError.exit_code
    for given in ((), ("--thumbprint", "x" * 43)):
        done = stranger.run("keys", "--trust", public, *given)
        assert done.returncode == SigningKeyError.exit_code
        assert yard.thumbprint in done.stderr
    assert stranger.run("verify", record).returncode == UntrustedKeyError.exit_code


def test_a_log_and_a_head_beside_a_record(yard: Yard, office: Place) -> None:
    record = yard.walk("one")
    head = yard.kept("head.txt", "keys", "--head")
    log = yard.kept("log.jsonl", "keys", "--log")
    assert read_log(log.read_bytes()).end.seq == 2
    done = office.run("verify", record, "--log", log, "--head", head)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "line 3 of 3" in done.stdout
    kept = office.run("keys", "--keep-head", head)
    assert kept.returncode == 0, kept.stderr
    assert "line 3" in kept.stdout


def test_a_record_that_no_line_names(yard: Yard, office: Place) -> None:
    yard.walk("one")
    log = yard.kept("log.jsonl", "keys", "--log")
    # Made up later, with another journal and so another hash, and never noted.
    record = yard.walk("two", noted=False)
    changed = record.read_bytes()
    key = yard.store.key(WALK)
    journal = joined(lines(WALK, key)[:-1])
    summary = summarise(read_journal(journal), key.public.jwk())
    record.write_bytes(sign(summary, key, WALK, Paper.RECORD))
    assert record.read_bytes() != changed
    done = office.run("verify", record, "--log", log)
    assert done.returncode == LogError.exit_code
    assert "the log has no line for this record" in done.stdout
    assert "in the log and not shown: walk-0001, signed" in done.stdout


def test_a_stolen_key_is_good_up_to_the_head_that_was_kept(yard: Yard, office: Place) -> None:
    early = yard.walk("early")
    head = yard.kept("head.txt", "keys", "--head")
    log = yard.kept("log.jsonl", "keys", "--log")
    taken = ("--distrust", yard.thumbprint, "--covered", head, "--why", "stolen")
    done = office.run("keys", *taken)
    assert done.returncode == 0, done.stderr
    assert "taken back" in done.stdout
    alone = office.run("verify", early)
    assert alone.returncode == RevokedKeyError.exit_code
    assert "revoked key, time not proven" in alone.stdout
    shown = office.run("verify", early, "--log", log)
    assert shown.returncode == 0, shown.stdout
    again = office.run("keys", "--trust", yard.home / "key.json", "--thumbprint", yard.thumbprint)
    assert again.returncode == SigningKeyError.exit_code


def test_a_key_that_is_changed_keeps_its_records(yard: Yard) -> None:
    record, old = yard.walk("one"), yard.thumbprint
    done = yard.run("keys", "--rotate")
    assert done.returncode == 0, done.stderr
    assert yard.thumbprint != old
    assert yard.thumbprint in done.stdout
    own = yard.run("verify", record)
    assert own.returncode == 0, own.stdout + own.stderr
    assert "covered by line 4 of the log" in own.stdout


def test_a_damaged_log(yard: Yard) -> None:
    """This device's own is left aside and said to be; one that was given is refused."""
    record = yard.walk("one")
    (path,) = yard.store.log(WALK).paths()
    path.write_bytes(path.read_bytes().replace(b"A", b"B", 1))
    own = yard.run("verify", record)
    assert own.returncode == 0, own.stderr
    assert "is not used" in own.stderr
    given = yard.run("verify", record, "--log", path)
    assert given.returncode == LogError.exit_code
    assert "line 1 of the log" in given.stderr


def test_what_is_asked_of_an_empty_store(tmp_path: Path) -> None:
    empty = Place(tmp_path)
    assert empty.run("keys", "--head").returncode == LogError.exit_code
    assert empty.run("keys", "--rotate").returncode == SigningKeyError.exit_code
    assert empty.run("keys", "--distrust", "x").returncode == SigningKeyError.exit_code


# ---------------------------------------------------------------- forgetting


def test_a_person_is_forgotten_and_every_signature_stays(tmp_path: Path) -> None:
    place = Place(tmp_path)
    records = tmp_path / "walks"
    demo = ("demo", "--by-text", "--quiet", "--place", "CA-ON", "--wording", "cue")
    done = place.run(*demo, "--driver", "A. Person", "--records", records)
    assert done.returncode == 0, done.stderr
    (openings,) = records.glob("*/openings.json")
    folder = openings.parent
    assert b"A. Person" in openings.read_bytes()
    others = [at for at in folder.rglob("*") if at.is_file() and at != openings]
    assert not any(b"Person" in at.read_bytes() for at in others)
    before = place.run("verify", folder)
    assert before.returncode == 0
    assert "the particulars are those it commits to (driver)" in before.stdout
    told = place.run("forget", records)
    assert told.returncode == 0
    assert "removed the particulars" in told.stdout
    after = place.run("verify", folder)
    assert after.returncode == 0, after.stdout
    assert not list(records.glob("*/openings.json"))
    assert "removed nothing" in place.run("forget", folder).stdout
    assert place.run("forget", tmp_path / "absent").returncode == 2


def test_a_commitment_without_its_opening_tells_nothing() -> None:
    commitments, _ = commit({"driver": "A. Person"}, bytes(range(32)))
    again, _ = commit({"driver": "A. Person"}, bytes(32))
    assert commitments != again


def test_a_thumbprint_that_begins_with_a_dash_can_be_given(tmp_path: Path) -> None:
    """One in 64 does."""
    keys = (make_key(number.to_bytes(32, "big")) for number in range(2000))
    key = next(key for key in keys if key.thumbprint.startswith("-"))
    public = tmp_path / "public.json"
    public.write_text(json.dumps(key.public.jwk()))
    office = Place(tmp_path)
    trusted = office.run("keys", "--trust", public, "--thumbprint", key.thumbprint)
    assert trusted.returncode == 0, trusted.stderr
    gone = office.run("keys", "--distrust", key.thumbprint, "--why", "lost")
    assert gone.returncode == 0, gone.stderr
    assert "taken back" in gone.stdout
    bare = office.run("keys", "--distrust")
    assert bare.returncode == 2
