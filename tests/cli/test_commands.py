"""The entrance: only what is asked for is imported, every option says what it does, a package
that is broken is told of."""

from __future__ import annotations

import argparse
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from tests.cli.home import ROOT, Home
from walkaround.cli import commands

OURS = ("demo", "walk", "verify", "rules", "scripts", "keys", "setup")
HEAVY = {"duckdb", "fsrs", "soundfile", "vosk", "scipy"}
_LOOK = (
    "import sys; from walkaround.cli import _parser; _parser(sys.argv[1:]); "
    "print(*sorted(name for name in sys.modules if '.' not in name))"
)


@pytest.mark.parametrize("command", ["walk", "demo", "verify", "rules", "--help"])
def test_a_command_does_not_load_what_others_need(command: str) -> None:
    done = subprocess.run(
        [sys.executable, "-c", _LOOK, command],
        capture_output=True, text=True, check=True, timeout=60, cwd=ROOT,
    )  # fmt: skip
    assert not HEAVY & set(done.stdout.split())


@pytest.mark.parametrize("command", OURS)
def test_every_option_says_what_it_does(command: str) -> None:
    parser = argparse.ArgumentParser()
    import_module(f"walkaround.cli.{command}").add(parser)
    for action in parser._actions:
        assert action.help, f"{command} {action.option_strings or action.dest}"


def test_every_command_is_listed_with_what_it_is_for() -> None:
    parser = argparse.ArgumentParser()
    commands.add_all(parser, [])
    for command in OURS:
        assert command in parser.format_help()


@pytest.mark.parametrize("content", ["", "\0", "def (", "raise OSError('cut short')"])
def test_a_broken_package_is_one_sentence(tmp_path: Path, content: str) -> None:
    """One that is there in name only stands in the way of the real one."""
    (tmp_path / "platformdirs.py").write_text(content, encoding="utf-8")
    home = Home(tmp_path / "home")
    path = f"{tmp_path}:{home.environment['PYTHONPATH']}"
    done = home.run("rules", more={"PYTHONPATH": path})
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert len(done.stderr.splitlines()) == 1
    if content:
        assert "missing or broken" in done.stderr
