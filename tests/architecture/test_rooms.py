"""The laws of the rooms that an import contract cannot state."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "walkaround"
SOURCES = sorted(PACKAGE.rglob("*.py"))
ALL_SOURCES = SOURCES + sorted((ROOT / "tests").rglob("*.py"))
EDGE = ("devices", "cli", "__main__.py")

MOST_LINES = 400
MOST_FUNCTION_LINES = 50
BRAKE_WORDS = re.compile(
    r"\b(brake|psi|kpa|trailer|tractor|chock|parking|governor|compressor|pedal|gauge|reservoir|"
    r"tank|leak|stroke)s?\b",
    re.IGNORECASE,
)
CLOCK_CALLS = {"now", "today", "utcnow", "monotonic", "perf_counter", "sleep", "time_ns"}


def _name(path: Path) -> str:
    return str(path.relative_to(ROOT))


@pytest.mark.parametrize("path", ALL_SOURCES, ids=_name)
def test_no_file_or_function_is_too_long_to_read(path: Path) -> None:
    text = path.read_text()
    assert len(text.splitlines()) <= MOST_LINES
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            assert length <= MOST_FUNCTION_LINES, f"{node.name} has {length} lines"


@pytest.mark.parametrize("path", sorted((PACKAGE / "engine").glob("*.py")), ids=_name)
def test_the_engine_knows_no_brake(path: Path) -> None:
    code = path.read_text()
    if path.name == "__init__.py":
        code = code.partition('"""')[2].partition('"""')[2]  # the door's law names what is outside
    assert not BRAKE_WORDS.findall(code)


@pytest.mark.parametrize("path", SOURCES, ids=_name)
def test_clock_and_files_are_touched_only_at_the_edge(path: Path) -> None:
    if path.relative_to(PACKAGE).parts[0] in EDGE:
        return
    for node in ast.walk(ast.parse(path.read_text())):
        if not isinstance(node, ast.Call):
            continue
        called = node.func
        if isinstance(called, ast.Name):
            assert called.id != "open", f"line {node.lineno} opens a file"
        if isinstance(called, ast.Attribute) and called.attr in CLOCK_CALLS:
            owner = called.value
            if isinstance(owner, ast.Name) and owner.id in ("time", "datetime", "date"):
                raise AssertionError(f"line {node.lineno} reads a clock")


@pytest.mark.parametrize("path", SOURCES, ids=_name)
def test_only_the_command_line_may_catch_everything(path: Path) -> None:
    if path == PACKAGE / "cli" / "__init__.py":
        return
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ExceptHandler):
            assert node.type is not None, f"line {node.lineno} catches everything"
            names = ast.unparse(node.type)
            assert "BaseException" not in names
            assert not re.search(r"\bException\b", names), f"line {node.lineno} catches everything"


def test_the_rooms_open_one_way() -> None:
    """The import contracts of pyproject.toml, run as a developer would."""
    command = [sys.executable, "-c", "from importlinter.cli import lint_imports_command as c; c()"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_no_module_keeps_state_that_changes() -> None:
    """No module-level list, dict or set that something in the module changes."""
    for path in SOURCES:
        tree = ast.parse(path.read_text())
        assert not any(isinstance(n, ast.Global) for n in ast.walk(tree)), _name(path)
