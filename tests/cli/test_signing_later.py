"""A walk that ended without a record gets one from its journal, and only by the right key."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.home import Home, no_traceback
from walkaround.errors import JournalError, SigningKeyError, UsageError
from walkaround.records.keys import make_key, serialise_key
from walkaround.records.wording import SIGNED_LATER


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home(tmp_path)


def test_a_record_made_later_is_the_one_made_at_the_end(home: Home) -> None:
    assert home.demo().returncode == 0
    folder = home.only_walk()
    record, page = (folder / "record.jws"), (folder / "record.html")
    was = record.read_bytes(), page.read_bytes()
    record.unlink()
    page.unlink()
    done = home.run("keys", "--sign", folder)
    assert done.returncode == 0, done.stderr
    assert str(record) in done.stdout
    assert (record.read_bytes(), page.read_bytes()) == was
    assert home.run("verify", record).returncode == 0


def test_a_walk_with_a_locked_key_is_kept_and_signed_later(home: Home) -> None:
    """No terminal is there to ask the passphrase from."""
    key = make_key(bytes(range(32)))
    home.store.mkdir(parents=True)
    pem = home.store / "device.pem"
    pem.write_bytes(serialise_key(key, b"a long pass phrase"))
    done = home.walk()
    assert done.returncode == 3
    assert "kept unsigned" in done.stderr
    assert f"keys --sign {home.only_walk()}" in done.stdout
    assert not (home.only_walk() / "stopped.jws").exists()
    locked = home.run("keys", "--sign", home.only_walk())
    assert locked.returncode == SigningKeyError.exit_code
    pem.write_bytes(serialise_key(key, None))
    assert home.run("keys", "--sign", home.only_walk()).returncode == 0
    public = home.folder / "public.json"
    public.write_text(json.dumps(key.public.jwk()))
    trusted = ("keys", "--trust", public, "--thumbprint", key.public.thumbprint)
    assert home.run(*trusted).returncode == 0
    done = home.run("verify", home.only_walk() / "stopped.jws")
    assert done.returncode == 0
    assert SIGNED_LATER in done.stdout


def test_one_bound_to_no_key_says_so_wherever_it_is_read(home: Home) -> None:
    """Any key at hand can sign it, so nobody may take it for more than it is."""
    home.store.mkdir(parents=True)
    (home.store / "device.pem").write_bytes(serialise_key(make_key(bytes(range(32))), b"locked"))
    home.walk()
    folder = home.only_walk()
    (home.store / "device.pem").unlink()
    done = home.run("keys", "--sign", folder)
    assert done.returncode == 0
    assert SIGNED_LATER in done.stdout
    page = (folder / "stopped.html").read_text(encoding="utf-8")
    assert "SIGNED LATER: no key was at hand while walking." in page
    for more in (("--brief",), (), ("--alone",)):
        told = home.run("verify", folder / "stopped.jws", *more)
        assert told.returncode == 0
        assert told.stdout.splitlines()[1:3] == [
            "  intact, and by a trusted key", f"  {SIGNED_LATER}",
        ]  # fmt: skip
        assert told.stdout.count(SIGNED_LATER) == 1


def test_another_key_does_not_sign(home: Home) -> None:
    home.walk()
    (home.only_walk() / "stopped.jws").unlink()
    (home.store / "device.pem").unlink()
    done = home.run("keys", "--sign", home.only_walk())
    assert done.returncode == SigningKeyError.exit_code
    assert not (home.only_walk() / "stopped.jws").exists()


def test_what_is_no_walk_is_told(home: Home) -> None:
    done = home.run("keys", "--sign", home.folder / "nowhere")
    assert done.returncode == UsageError.exit_code
    home.walk()
    journal = home.only_walk() / "journal.jsonl"
    journal.write_bytes(journal.read_bytes().replace(b"straight", b"bent____", 1))
    done = home.run("keys", "--sign", home.only_walk())
    assert done.returncode == JournalError.exit_code
    assert str(journal) in done.stderr
    no_traceback(done)
