"""The documents say what the program does."""

from __future__ import annotations

import re
import subprocess
import sys

import pytest

from tests.architecture.documents import MADE, ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", MADE)
def test_the_made_parts_are_current(name: str) -> None:
    text = (ROOT / name).read_text(encoding="utf-8")
    assert MADE[name](text) == text, "run python -m tests.architecture.documents"


def _help(*arguments: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "walkaround.cli", *arguments, "--help"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout


def test_every_command_and_option_in_the_readme_exists() -> None:
    for command in set(re.findall(r"walkaround ([a-z]+)", README)):
        told = _help(command)
        for line in re.findall(rf"walkaround {command}([^`\n]*)", README):
            for option in re.findall(r"--[a-z-]+", line):
                assert option in told, f"{command} {option}"


def test_every_dependency_has_its_line_of_reason() -> None:
    project = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    block = project.partition("dependencies = [")[2].partition("]")[0]
    for name in re.findall(r'"([A-Za-z0-9_-]+)', block):
        assert f"| {name} |" in DEVELOPERS, name


def test_the_two_lines_are_what_ci_and_the_readme_say() -> None:
    assert "python3 walkaround demo" in README
    assert "python3 tests" in README
    assert "python3 tests" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")
