"""The device's keys, trust list and log on a real disk: made, continued, rotated, torn."""

from __future__ import annotations

import stat
import threading
from pathlib import Path

import pytest

from tests.records.walk_sample import STRANGER
from walkaround.devices.keys import KeyStore
from walkaround.errors import LogError, SigningKeyError
from walkaround.records.log import Note, What, read_log
from walkaround.records.signature import WalkKind
from walkaround.records.trust import TrustList

WALK = WalkKind.WALK
NOTE = Note(What.BEGUN, "2026-03-01T08:00:00.000Z", walk="walk-0001")


def test_a_key_is_made_at_its_first_use_and_trusted_here(tmp_path: Path) -> None:
    store = KeyStore(tmp_path / "config")
    for kind in WalkKind:
        key = store.key(kind)
        assert store.key(kind).thumbprint == key.thumbprint
        trusted = store.trust().find(key.thumbprint)
        assert trusted is not None
        assert kind in trusted.scope
    assert store.key(WALK).thumbprint == store.key(WalkKind.PRACTICE).thumbprint
    assert store.key(WALK).thumbprint != store.key(WalkKind.SIMULATED).thumbprint
    assert stat.S_IMODE(store.path(WALK).stat().st_mode) == 0o600


def test_a_locked_key_asks(tmp_path: Path) -> None:
    store = KeyStore(tmp_path)
    key = store.make(WALK, b"chocks before keys")
    assert store.is_locked(WALK)
    assert store.key(WALK, lambda: b"chocks before keys").thumbprint == key.thumbprint
    with pytest.raises(SigningKeyError, match="locked"):
        store.key(WALK)
    with pytest.raises(SigningKeyError, match="already"):
        store.make(WALK, None)


def test_the_trust_list_is_never_made_shorter(tmp_path: Path) -> None:
    store = KeyStore(tmp_path)
    store.key(WALK)
    before = store.trust()
    with pytest.raises(SigningKeyError, match="only grows"):
        store.save_trust(TrustList())
    assert store.trust() == before


# ---------------------------------------------------------------- the log


def test_the_log_opens_with_the_key_and_goes_on(tmp_path: Path) -> None:
    store = KeyStore(tmp_path)
    key, log = store.key(WALK), store.log(WALK)
    with pytest.raises(LogError, match="walk first"):
        log.head()
    positions = [log.note(NOTE, key, WALK) for _ in range(3)]
    read = read_log(log.read())
    assert [line.note.what for line in read.lines] == [What.OPENED, *[What.BEGUN] * 3]
    assert [line.position for line in read.lines[1:]] == positions
    assert read.end == positions[-1]
    assert log.head() + b"\n" == log.read().splitlines(keepends=True)[-1]
    assert not store.log(WalkKind.SIMULATED).read()


def test_a_line_cut_at_any_byte_is_written_again(tmp_path: Path) -> None:
    store = KeyStore(tmp_path)
    key, log = store.key(WALK), store.log(WALK)
    log.note(NOTE, key, WALK)
    whole = log.read()
    last = whole.splitlines(keepends=True)[-1]
    (path,) = log.paths()
    for cut in range(len(last)):
        path.write_bytes(whole[: len(whole) - len(last) + cut])
        log.note(NOTE, key, WALK)
        assert log.read() == whole


def test_each_key_has_a_log_of_its_own(tmp_path: Path) -> None:
    """Another key opens another; the first goes on when its key is put back."""
    store = KeyStore(tmp_path)
    key, log = store.key(WALK), store.log(WALK)
    log.note(NOTE, key, WALK)
    log.note(NOTE, STRANGER, WALK)
    log.note(NOTE, key, WALK)
    lengths = {read.keys: len(read.lines) for read in map(read_log, log.read_all())}
    assert lengths == {(key.public,): 3, (STRANGER.public,): 2}


def test_a_damaged_log_is_not_written_on(tmp_path: Path) -> None:
    store = KeyStore(tmp_path)
    key, log = store.key(WALK), store.log(WALK)
    log.note(NOTE, key, WALK)
    (path,) = log.paths()
    path.write_bytes(path.read_bytes() + b"damage\n")
    with pytest.raises(LogError, match="put it aside"):
        log.note(NOTE, key, WALK)
    log.note(NOTE, STRANGER, WALK)  # another key is not kept from its own
    assert path.read_bytes().endswith(b"damage\n")


def test_two_walks_write_to_one_log(tmp_path: Path) -> None:
    store = KeyStore(tmp_path)
    key = store.key(WALK)

    def write() -> None:
        for _ in range(10):
            KeyStore(tmp_path).log(WALK).note(NOTE, key, WALK)

    threads = [threading.Thread(target=write) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(read_log(store.log(WALK).read()).lines) == 41


# ---------------------------------------------------------------- another key


def test_a_key_is_rotated_in_the_log_and_on_the_trust_list(tmp_path: Path) -> None:
    store = KeyStore(tmp_path)
    old, log = store.key(WALK), store.log(WALK)
    log.note(NOTE, old, WALK)
    new = store.rotate(WALK, old, None)
    assert store.key(WALK).thumbprint == new.thumbprint != old.thumbprint
    log.note(NOTE, new, WALK)
    read = read_log(log.read())
    assert read.keys == (old.public, new.public)
    trust = store.trust()
    taken = trust.revoked(old.thumbprint)
    assert taken is not None
    assert taken.covered == read.lines[2].position
    assert trust.revoked(new.thumbprint) is None
    assert [at.name for at in tmp_path.glob("*.next")] == []
    assert len(log.paths()) == 1


@pytest.mark.parametrize("after", ["the key", "the log", "the trust list"])
def test_a_change_of_keys_that_was_cut_short(tmp_path: Path, after: str) -> None:
    """The states that a crash leaves, made by putting the earlier files back."""
    store = KeyStore(tmp_path)
    old, log = store.key(WALK), store.log(WALK)
    log.note(NOTE, old, WALK)
    files = {at.name: at.read_bytes() for at in tmp_path.iterdir()}
    new = store.rotate(WALK, old, None)
    (tmp_path / "device.next").write_bytes((tmp_path / "device.pem").read_bytes())
    (tmp_path / "device.pem").write_bytes(files["device.pem"])
    if after != "the trust list":
        (tmp_path / "trust.jsonl").write_bytes(files["trust.jsonl"])
    if after == "the key":
        log.paths()[0].write_bytes(files[log.paths()[0].name])
    wanted = old if after == "the key" else new
    assert store.key(WALK).thumbprint == wanted.thumbprint
    log.note(NOTE, store.key(WALK), WALK)
    read = read_log(log.read())
    assert read.keys[-1] == wanted.public
    assert store.trust().revoked(new.thumbprint) is None
    assert (store.trust().revoked(old.thumbprint) is None) is (after == "the key")


def test_the_old_key_writes_no_more(tmp_path: Path) -> None:
    store = KeyStore(tmp_path)
    old, log = store.key(WALK), store.log(WALK)
    store.rotate(WALK, old, None)
    before = log.read()
    with pytest.raises(LogError, match="took over"):
        log.note(NOTE, old, WALK)
    assert log.read() == before


def test_a_new_key_without_the_old_one_begins_a_new_log(tmp_path: Path) -> None:
    store = KeyStore(tmp_path)
    log = store.log(WALK)
    log.note(NOTE, store.key(WALK), WALK)
    first = log.read()
    store.path(WALK).unlink()
    log.note(NOTE, store.key(WALK), WALK)
    assert first in log.read_all()
    assert [len(read_log(content).lines) for content in log.read_all()] == [2, 2]
