"""`verify` at the command line: several files, folders, and what lies beside a record."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.cli.home import Done, Home, no_traceback
from walkaround.errors import RecordError, UsageError


@pytest.fixture(scope="module")
def walked(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """A home in which one demo was walked."""
    home = Home(tmp_path_factory.mktemp("walked"))
    assert home.demo().returncode == 0
    return home


@pytest.fixture
def folder(walked: Home, tmp_path: Path) -> Iterator[Path]:
    """A copy of its folder, to be spoiled."""
    yield Path(shutil.copytree(walked.only_walk(), tmp_path / "walk"))


def _verify(home: Home, *paths: Path | str) -> Done:
    done = home.run("verify", *paths)
    no_traceback(done)
    return done


def test_one_that_is_missing_does_not_stop_the_rest(walked: Home, folder: Path) -> None:
    done = _verify(walked, folder / "no.jws", folder / "record.jws", "--brief")
    assert done.returncode == UsageError.exit_code
    assert "no.jws" in done.stderr
    assert "intact, and by a trusted key" in done.stdout
    (folder / "bad.jws").write_bytes(b"bad")
    worst = _verify(walked, folder / "no.jws", folder / "bad.jws")
    assert worst.returncode == RecordError.exit_code


def test_a_folder_means_the_record_in_it(walked: Home, folder: Path) -> None:
    assert _verify(walked, folder).returncode == 0
    assert _verify(walked, folder.parent).returncode == 0
    (folder / "record.jws").unlink()
    done = _verify(walked, folder)
    assert done.returncode == UsageError.exit_code
    assert f"keys --sign {folder}" in done.stderr
    (folder / "journal.jsonl").unlink()
    assert "there is no record.jws in" in _verify(walked, folder).stderr


def test_what_is_not_there_is_said_first_in_both_lengths(walked: Home, folder: Path) -> None:
    (folder / "journal.jsonl").unlink()
    shutil.rmtree(folder / "sources")
    for more in ((), ("--brief",)):
        done = _verify(walked, folder, *more)
        assert done.returncode == 0
        told = done.stdout.splitlines()
        assert "journal is not beside it and was NOT CHECKED" in told[3]
        assert "data files are not beside it and were NOT CHECKED" in told[4]
        assert "not checked" in done.stdout


def test_a_stray_file_is_told_and_a_changed_one_refused(walked: Home, folder: Path) -> None:
    (folder / "sources" / "notes.txt").write_text("my own", encoding="utf-8")
    (folder / "sources" / "a folder").mkdir()
    done = _verify(walked, folder)
    assert done.returncode == 0
    assert "no part of this record and was NOT CHECKED: a folder, notes.txt" in done.stdout
    one = next(at for at in sorted((folder / "sources").iterdir()) if len(at.name) == 64)
    one.chmod(0o644)
    one.write_bytes(one.read_bytes() + b" ")
    assert _verify(walked, folder).returncode == RecordError.exit_code


@pytest.mark.parametrize("change", [b" ", b"<!-- -->"])
def test_a_changed_page_is_refused(walked: Home, folder: Path, change: bytes) -> None:
    page = folder / "record.html"
    page.write_bytes(page.read_bytes() + change)
    done = _verify(walked, folder, "--brief")
    assert done.returncode == RecordError.exit_code
    assert "the record is intact, the page beside it is NOT" in done.stdout
    assert _verify(walked, folder, "--alone").returncode == 0


def test_a_stopped_record_stays_good_when_the_walk_went_on(tmp_path: Path) -> None:
    home = Home(tmp_path)
    home.walk()
    stopped = home.only_walk() / "stopped.jws"
    early = stopped.read_bytes()
    home.walk("--resume", typed="yes\nyes\n")
    stopped.with_name("early.jws").write_bytes(early)
    done = _verify(home, stopped.with_name("early.jws"))
    assert done.returncode == 0
    assert "the walk went on since this was signed" in done.stdout
    journal = stopped.with_name("journal.jsonl")
    lines = journal.read_bytes().splitlines(keepends=True)
    journal.write_bytes(b"".join([*lines[:3], lines[3].replace(b"seq", b"sec"), *lines[4:]]))
    assert _verify(home, stopped.with_name("early.jws")).returncode == RecordError.exit_code


def test_hostile_names_do_not_reach_the_terminal(walked: Home, folder: Path) -> None:
    (folder / "sources" / "\x1b[2Jgone").write_text("", encoding="utf-8")
    done = _verify(walked, folder, folder / "\x1b[31mno.jws")
    assert "\x1b" not in done.stdout + done.stderr
    assert "gone" in done.stdout


def test_what_is_no_part_of_the_record_is_named_as_not_checked(walked: Home, folder: Path) -> None:
    (folder / "simulated-world.json").write_bytes(b"{}")
    (folder / "later.txt").write_text("added", encoding="utf-8")
    (folder / "sources" / "extra.yaml").write_text("added", encoding="utf-8")
    (folder / "sources" / ("0" * 64)).write_text("added", encoding="utf-8")
    done = _verify(walked, folder)
    assert done.returncode == 0
    assert (
        "beside it lies what is no part of this record and was NOT CHECKED: "
        "later.txt, simulated-world.json\n"
    ) in done.stdout
    assert (
        f"in sources lies what is no part of this record and was NOT CHECKED: {'0' * 60}, "
        "extra.yaml\n"
    ) in done.stdout


def test_rubbish_beside_a_record_takes_nothing_from_it(walked: Home, folder: Path) -> None:
    """Anybody can lay a file there: it is listed, in both lengths, and the record stays good."""
    (folder / "countersignature-1.jws").write_bytes(b"\0rubbish")
    (folder / "countersignature-2.jws").mkdir()
    (folder / "countersignature-3.jws").write_bytes(b"x" * 2_000_000)
    (folder / "countersignature-4.jws").write_bytes((folder / "record.jws").read_bytes())
    for more in ((), ("--brief",)):
        done = _verify(walked, folder, *more)
        assert done.returncode == 0
        assert done.stdout.splitlines()[2].strip() == "intact, and by a trusted key"
        for number in (1, 4):
            name = f"countersignature-{number}.jws"
            assert f"{name}: NOT COUNTED, it could not be read" in done.stdout
        for number in (2, 3):
            told = f"a countersignature was NOT CHECKED: {folder}/countersignature-{number}.jws"
            assert told in done.stdout
        assert "it is countersigned" in done.stdout


def test_a_countersignature_by_the_same_device_does_not_count(walked: Home, folder: Path) -> None:
    record = folder / "record.jws"
    done = walked.run("audit", "--countersign", record, "--remarks", "It is all right.")
    assert done.returncode == 0
    assert "does not count" in done.stdout
    assert "Countersigned as" not in done.stdout
    told = _verify(walked, folder, "--brief").stdout
    assert "NOT COUNTED, by the record's own device: no second person" in told
    assert "not checked: " in told and "it is countersigned" in told
