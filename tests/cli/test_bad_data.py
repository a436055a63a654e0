"""Broken, odd and huge files: one sentence with the whole path, before anything is begun."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from tests.cli.home import ROOT, Done, Home, no_traceback
from walkaround.errors import (
    DiskError,
    ModelError,
    ProfileError,
    RuleError,
    ScriptError,
    SigningKeyError,
    UsageError,
)

TRUCK = (ROOT / "scripts" / "vehicles" / "demo-truck.yaml").read_text(encoding="utf-8")


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home(tmp_path)


def _refused(done: Done, code: int, *words: str) -> None:
    no_traceback(done)
    assert done.returncode == code, done.stderr
    for word in words:
        assert word in done.stderr + done.stdout


def _with_profile(home: Home, text: str) -> Done:
    profile = home.folder / "mine.yaml"
    profile.write_text(text, encoding="utf-8")
    done = home.run("walk", "--typed", "--vehicle", profile, "--place", "US",
                    "--records", home.records)  # fmt: skip
    assert not home.records.exists()
    return done


def _changed(key: str, value: str) -> str:
    """The demonstration truck with one line changed or added."""
    lines = [line for line in TRUCK.splitlines() if not line.startswith(f"{key}:")]
    return "\n".join([f"{key}: {value}", *lines]) + "\n"


@pytest.mark.parametrize(
    ("text", "word"),
    [
        (_changed("built", "9999-01-01"), "built"),
        (_changed("built", "1066-10-14"), "built"),
        (_changed("gauge-most", "15000 psi"), "300 psi"),
        (_changed("gauge-most", "30 bar"), "300 psi"),
        (_changed("name", '"\\e[2Jtruck"'), "'name'"),
        (
            TRUCK.replace(
                "brakes:\n",
                "brakes:\n" + "".join(f"  - {{at: b{n}, chamber: clamp 30}}\n" for n in range(99)),
            ),
            "more than any vehicle",
        ),
        (_changed("name", '"' + "x" * 81 + '"'), "'name'"),
        (TRUCK.replace("chamber: clamp 30", "chamber: clamp 31", 1), "clamp 31"),
    ],
)
def test_a_profile_of_no_vehicle(home: Home, text: str, word: str) -> None:
    _refused(_with_profile(home, text), ProfileError.exit_code, word, "mine.yaml")


def test_a_chamber_without_a_published_limit_may_be_named(home: Home) -> None:
    text = TRUCK.replace("chamber: clamp 30", "chamber: other wedge", 1)
    profile = home.folder / "mine.yaml"
    profile.write_text(text, encoding="utf-8")
    done = home.run("walk", "--typed", "--vehicle", profile, "--place", "US",
                    "--records", home.records)  # fmt: skip
    assert done.returncode == 3


def test_a_huge_profile_is_refused_by_its_size(home: Home) -> None:
    began = time.monotonic()
    done = _with_profile(home, TRUCK + "# more\n" * 8_000_000)
    _refused(done, UsageError.exit_code, "larger than", "mine.yaml")
    assert time.monotonic() - began < 30  # it was 42 s; far from both, not a timing


def test_a_profile_that_is_no_file(home: Home) -> None:
    for named in (home.folder / "gone.yaml", home.folder):
        done = home.run("walk", "--typed", "--vehicle", named, "--place", "US")
        _refused(done, UsageError.exit_code, str(named))


@pytest.mark.parametrize(
    ("name", "command", "code"),
    [
        ("scripts/straight-truck.yaml", ("scripts", "straight-truck"), ScriptError.exit_code),
        ("scripts/steps/2-look.yaml", ("scripts", "straight-truck"), ScriptError.exit_code),
        ("scripts/rules/ca-on.yaml", ("rules", "--place", "CA-ON"), RuleError.exit_code),
        ("scripts/rules/ca-on.yaml", ("demo", "--by-text"), RuleError.exit_code),
    ],
)
def test_a_broken_file_of_ones_own_is_named_where_it_lies(
    home: Home, name: str, command: tuple[str, ...], code: int
) -> None:
    own = home.data / "walkaround" / name
    own.parent.mkdir(parents=True)
    own.write_text("a: [\n", encoding="utf-8")
    _refused(home.run(*command), code, f"{own}, line")


def test_a_broken_key_and_a_trust_list_that_is_a_folder_are_named(home: Home) -> None:
    home.store.mkdir(parents=True)
    pem = home.store / "device.pem"
    pem.write_text("no key", encoding="utf-8")
    _refused(home.run("keys", "--export"), SigningKeyError.exit_code, str(pem))
    trust = home.store / "trust.jsonl"
    trust.write_text("{}\n", encoding="utf-8")
    _refused(home.run("keys"), SigningKeyError.exit_code, str(trust))
    trust.unlink()
    trust.mkdir()
    done = home.run("keys")
    _refused(done, DiskError.exit_code, str(trust), "a folder stands where a file is needed")
    assert "--records" not in done.stderr


def test_a_model_that_is_not_there_is_told_even_when_one_is_installed(home: Home) -> None:
    done = home.run("setup", "--model", home.folder / "nowhere")
    _refused(done, ModelError.exit_code, str(home.folder / "nowhere"))


def test_one_measure_alone_is_shown_for_every_place(home: Home) -> None:
    done = home.run("rules", "--measure", "build-up")
    assert done.returncode == 0
    assert done.stdout.count("build-up:") >= 5
    assert "cut-out:" not in done.stdout
    _refused(home.run("rules", "--measure", "buildup"), UsageError.exit_code, "build-up")


def test_the_ids_of_rules_are_whole_on_a_narrow_terminal(home: Home) -> None:
    done = home.run("rules", "--place", "CA-ON", more={"COLUMNS": "60"})
    ids = [line.rpartition("[")[2].rstrip("]") for line in done.stdout.splitlines() if "[" in line]
    assert ids
    for rule_id in ids[:2]:
        assert home.run("rules", "--rule", rule_id).returncode == 0
