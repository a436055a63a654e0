"""Pipes, endless devices and huge files where a file of ours belongs: one sentence, at once."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from tests.cli.home import Done, Home, no_traceback

AT_ONCE_S = 30
pytestmark = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with a name: POSIX")


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home(tmp_path)


def _pipe(path: Path) -> Path:
    path.unlink(missing_ok=True)
    os.mkfifo(path)
    return path


def _at_once(home: Home, *arguments: str | Path, typed: str = "") -> Done:
    began = time.monotonic()
    done = home.run(*arguments, typed=typed)
    no_traceback(done)
    assert time.monotonic() - began < AT_ONCE_S
    assert "a mistake of ours" not in done.stderr
    return done


def test_a_key_to_trust_is_a_plain_small_file(home: Home) -> None:
    huge = home.folder / "huge"
    with huge.open("wb") as file:
        file.truncate(10_000_000_000)
    for odd in (_pipe(home.folder / "pipe"), huge, Path("/dev/zero"), home.folder):
        done = _at_once(home, "keys", "--trust", odd)
        assert done.returncode == 2
        assert f"cannot read {odd}" in done.stderr


@pytest.mark.parametrize("name", ["device.pem", "trust.jsonl"])
def test_the_key_store_is_of_plain_files(home: Home, name: str) -> None:
    assert home.run("keys", "--make").returncode == 0
    _pipe(home.store / name)
    for words in (("keys",), ("keys", "--export")):
        done = _at_once(home, *words)
        if (name == "trust.jsonl" and words == ("keys",)) or (name == "device.pem" and words[1:]):
            assert done.returncode != 0
            assert f"{home.store / name}: it is no plain file" in done.stderr


def test_pipes_in_a_walk_s_folder_are_not_waited_for(home: Home) -> None:
    home.walk("--driver", "A. Driver")
    folder = home.only_walk()
    _pipe(folder / "openings.json")
    done = _at_once(home, "verify", folder)
    assert "the particulars were NOT CHECKED" in done.stdout
    (folder / "openings.json").unlink()
    source = next((folder / "sources").iterdir())
    _pipe(source)
    done = _at_once(home, "walk", "--typed", "--resume", folder, "--records", home.records)
    assert done.returncode == 24
    assert f"cannot read {source}" in done.stderr


def test_a_pipe_for_a_device_log_stops_no_walk(home: Home) -> None:
    home.walk()
    (log,) = home.store.glob("device-log.*.jsonl")
    _pipe(log)
    done = home.walk()
    no_traceback(done)
    assert done.returncode == 3
    assert "it is no plain file" in done.stderr
    assert log.is_fifo()


def test_a_page_takes_the_place_of_no_link_and_no_pipe(home: Home) -> None:
    home.demo()
    kept = home.folder / "kept.txt"
    kept.write_text("mine", encoding="utf-8")
    link, pipe = home.folder / "link.html", _pipe(home.folder / "pipe.html")
    link.symlink_to(kept)
    for page in (link, pipe):
        done = _at_once(home, "audit", home.records, "--page", page)
        assert done.returncode == 24
        assert f"cannot write {page}: " in done.stderr
        assert "--records" not in done.stderr
    assert link.is_symlink() and pipe.is_fifo()
    assert kept.read_text(encoding="utf-8") == "mine"
    tables = home.folder / "tables"
    tables.mkdir()
    (tables / "walks.csv").symlink_to(kept)
    done = _at_once(
        home, "audit", home.records, "--page", home.folder / "a.html", "--export", tables
    )
    assert done.returncode == 24
    assert f"cannot write {tables / 'walks.csv'}: " in done.stderr
    assert kept.read_text(encoding="utf-8") == "mine"
    done = _at_once(home, "audit", home.records, "--page", home.folder / "missing" / "x.html")
    assert done.returncode == 24
    assert "the folder is gone" not in done.stderr and "--records" not in done.stderr
    assert "make it first" in done.stderr
