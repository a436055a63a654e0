"""`walkaround drill` as a person runs it, typed: the record, the refusals, the progress."""

from __future__ import annotations

import json
import re
import signal
import subprocess
from pathlib import Path

import pytest

from tests.cli.home import Done, Home, command
from walkaround.cli.drill import drawn_fault
from walkaround.cli.drill_kit import spoken_without_sources
from walkaround.errors import NothingToResumeError, PlaceError, ScriptError, UsageError
from walkaround.simulated.faults import FAULTS

SHORT = ("--typed", "--place", "CA-ON")


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home(tmp_path)


def drill(home: Home, *more: str, typed: str = "") -> Done:
    return home.run("drill", *SHORT, *more, typed=typed)


def folders(home: Home) -> list[Path]:
    practice = home.data / "walkaround" / "practice"
    return sorted(path for path in practice.iterdir() if path.is_dir())


def test_a_drill_ends_in_a_record_that_verify_calls_practice_first(home: Home) -> None:
    done = drill(
        home, "--stage", "recalled", "--steps", "2", "--fault", "belt-loose",
        typed="park level\nchocks in\nloose belt\n",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "Yes: loose belt" in done.stdout
    assert "PRACTICE: no real vehicle was checked" in done.stdout
    assert "To practise next" in done.stdout
    (folder,) = folders(home)
    checked = home.run("verify", folder / "record.jws")
    assert checked.returncode == 0, checked.stdout
    assert checked.stdout.splitlines()[1].strip().startswith("PRACTICE")


def test_input_that_ends_leaves_a_record_that_counts(home: Home) -> None:
    done = drill(home, "--stage", "asked", typed="park level\n")
    assert done.returncode == 0, done.stderr
    (folder,) = folders(home)
    assert (folder / "stopped.jws").exists()
    told = drill(home, "--progress")
    assert "Park on level ground" in told.stdout
    page = (home.data / "walkaround" / "practice" / "progress.html").read_text(encoding="utf-8")
    assert "Practice" in page


def _under_way(home: Home, typed: str, until: str) -> subprocess.Popen[str]:
    """A drill that was answered so far, and asks for the next step."""
    process = subprocess.Popen(
        command("drill", *SHORT, "--stage", "recalled"),
        env=home.environment,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdin is not None and process.stdout is not None
    process.stdin.write(typed)
    process.stdin.flush()
    for line in (until, "Next?"):
        while line not in process.stdout.readline():
            assert process.poll() is None
    return process


def test_a_drill_that_is_told_to_stop_keeps_its_record(home: Home) -> None:
    process = _under_way(home, "park level\n", "Yes: Park on level ground")
    process.send_signal(signal.SIGINT)
    process.communicate(timeout=60)
    assert process.returncode == 0
    (folder,) = folders(home)
    assert home.run("verify", folder / "stopped.jws").returncode == 0
    assert "Park on level ground" in drill(home, "--progress").stdout


def test_an_interrupted_drill_goes_on_where_it_was(home: Home) -> None:
    """The truck, too: what was pumped up is up, what was timed stands in the one record."""
    first = drill(home, "--stage", "told", typed="next\n" * 30)
    (folder,) = folders(home)
    assert f"drill --resume {folder}" in first.stdout
    again = drill(home, "--resume", typed="next\n" * 60)
    assert again.returncode == 0, again.stderr
    steps = re.findall(r"^(\d+) of \d+[.]", first.stdout + again.stdout, re.MULTILINE)
    assert [int(step) for step in steps] == list(range(1, len(steps) + 1))
    assert folders(home) == [folder]
    checked = home.run("verify", folder / "record.jws")
    assert checked.returncode == 0, checked.stdout
    assert "passed       the record stands in the log" in checked.stdout
    assert "there is no unfinished" in drill(home, "--resume").stderr


def test_a_drill_that_was_killed_goes_on_too(home: Home) -> None:
    process = _under_way(home, "park level\nchocks in\n", "Yes: Chock the wheels")
    process.kill()
    process.communicate(timeout=60)
    (folder,) = folders(home)
    again = drill(home, "--resume", str(folder), typed="chocks in\nnobody near\nstop\n")
    assert again.returncode == 0, again.stderr
    assert "Yes: Nobody near" in again.stdout
    assert home.run("verify", folder / "stopped.jws").returncode == 0
    assert "Park on level ground" in drill(home, "--progress").stdout


def test_what_cannot_be_gone_on_with_says_so(home: Home) -> None:
    home.run("drill", *SHORT, "--questions", "2", typed="\n")
    done = drill(home, "--resume")
    assert done.returncode == NothingToResumeError.exit_code
    assert "start a new one" in done.stderr


def test_a_damaged_progress_file_is_told_and_made_anew(home: Home) -> None:
    drill(home, "--stage", "recalled", typed="park level\nstop\n")
    path = home.data / "walkaround" / "practice" / "progress.json"
    before = json.loads(path.read_bytes())
    path.write_bytes(b"\x00garbage")
    told = drill(home, "--progress")
    assert told.returncode == 0
    assert "the progress file is damaged; it is made anew from your practice records" in told.stderr
    assert json.loads(path.read_bytes()) == before


def test_a_changed_record_does_not_count_and_says_so(home: Home) -> None:
    drill(home, "--stage", "recalled", typed="park level\nstop\n")
    (folder,) = folders(home)
    journal = folder / "journal.jsonl"
    journal.write_bytes(journal.read_bytes().replace(b"right at once", b"right at Once"))
    told = drill(home, "--progress")
    assert "does not count" in told.stderr
    assert "Nothing has been practised yet" in told.stdout


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (("--stage", "recaled"), UsageError.exit_code, "did you mean recalled?"),
        (("--stage", "xyz"), UsageError.exit_code, "there are told, asked, recalled, examined"),
        (("--fault", "belt"), UsageError.exit_code, "did you mean"),
        (("--fault", "crossed-lines"), UsageError.exit_code, "needs a trailer"),
        (("--place", "CA-XX"), PlaceError.exit_code, "did you mean"),
        (("--script", "ship"), None, "straight-truck"),
        (("--steps", "0"), UsageError.exit_code, "from 1 to 100"),
        (("--questions", "-3"), UsageError.exit_code, "from 1 to 200"),
        (("--seed", "1", "--fault", "belt-loose"), UsageError.exit_code, "only one of them"),
        (("--learner", "../me"), UsageError.exit_code, "cannot be a learner's name"),
        (("--learner", ".."), UsageError.exit_code, "cannot be a learner's name"),
    ],
)  # fmt: skip
def test_what_is_not_known_is_refused_in_one_sentence_with_a_way_on(
    home: Home, arguments: tuple[str, ...], code: int | None, says: str
) -> None:
    done = drill(home, *arguments, typed="stop\n")
    assert done.returncode != 0
    assert code is None or done.returncode == code
    assert says in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert not (home.data / "walkaround" / "practice").exists()


def test_a_broken_recall_book_is_refused_with_its_line(home: Home) -> None:
    mine = home.data / "walkaround" / "scripts" / "recall"
    mine.mkdir(parents=True)
    (mine / "en.yaml").write_text("language: en\nfillers: [a]\nsame: []\n", encoding="utf-8")
    done = drill(home, typed="stop\n")
    assert done.returncode == ScriptError.exit_code
    assert "en.yaml" in done.stderr


def test_questions_are_answered_with_their_source_and_kept(home: Home) -> None:
    done = drill(home, "--questions", "2", "--seed", "3", typed="next\nnext\n42 psi\nno\nno\nno\n")
    assert done.returncode == 0, done.stderr
    assert "Question 1 of 2" in done.stdout
    assert "Source: " in done.stdout
    (folder,) = folders(home)
    assert home.run("verify", next(folder.glob("*.jws"))).returncode == 0
    assert "Rules and parts: 2 asked so far" in drill(home, "--progress").stdout


def test_the_ear_is_spared_the_citation() -> None:
    told = "CA-ON: 4 psi/min, and the rule wants 3 psi/min (Handbook (Ontario), 6-1-4). Go on."
    assert spoken_without_sources(told) == (
        "CA-ON: four P S I per minute, and the rule wants three P S I per minute.",
        "Go on.",
    )


def test_two_learners_are_kept_apart(home: Home) -> None:
    drill(home, "--stage", "recalled", "--learner", "kim", typed="park level\nstop\n")
    told = drill(home, "--progress", "--learner", "lee")
    assert "Nothing has been practised yet" in told.stdout
    told = drill(home, "--progress", "--learner", "kim")
    assert "Park on level ground" in told.stdout


# ---------------------------------------------------------------- the trainer's seed


def test_a_seed_draws_the_same_fault_each_time_and_every_fault_some_time() -> None:
    drawn = [drawn_fault(seed, 2, True) for seed in range(600)]
    assert drawn == [drawn_fault(seed, 2, True) for seed in range(600)]
    assert {name for names in drawn for name in names} == set(FAULTS) - {"gauge-off"}
    assert 90 < drawn.count(()) < 210


def test_a_seed_draws_only_what_the_vehicle_can_have() -> None:
    for seed in range(300):
        for name in drawn_fault(seed, 0, False):
            assert FAULTS[name].needs_trailers == 0
            assert name != "door-interlock-dead"
