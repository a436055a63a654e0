"""What the program is made of: few packages, each locked by hash, each under a known licence."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LOCKS = (ROOT / ".ci" / "requirements.lock", ROOT / ".ci" / "requirements-dev.lock")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")
_MOST = 60

PERMISSIVE = ("MIT", "BSD", "0BSD", "Apache", "ISC", "Unlicense", "PSF", "Python Software",
              "Zlib", "CC0", "MIT-0")  # fmt: skip
WEAK_COPYLEFT = {"pyttsx3", "certifi", "tqdm"}  # MPL-2.0: file by file, unchanged here
UNDECLARED = {"espeakng-loader"}
"""No licence in its metadata. The wrapper is MIT and the library that it carries, espeak-ng, is
GPL-3.0: it runs in a process of its own (below)."""


def _canonical(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def _required(lines: list[str]) -> list[str]:
    """The names in requirement lines that hold on this machine's Python."""
    found = (_NAME.match(line) for line in lines)
    return [_canonical(match.group()) for match in found if match]


def locked(lock: Path) -> Iterator[tuple[str, str]]:
    """(name, the whole entry) of each package in a lock file."""
    for entry in re.split(r"\n(?=[A-Za-z0-9])", lock.read_text("utf-8").strip()):
        match = _NAME.match(entry)
        assert match is not None, entry[:80]
        yield _canonical(match.group()), entry


@pytest.mark.parametrize("lock", LOCKS, ids=lambda path: path.name)
def test_every_package_is_locked_by_version_and_hash(lock: Path) -> None:
    for name, entry in locked(lock):
        assert re.search(r"==\S+", entry), name
        assert "--hash=sha256:" in entry, name
        assert "http" not in entry, name


def test_what_the_project_asks_for_is_locked() -> None:
    names = {name for name, _ in locked(LOCKS[0])}
    assert set(_required(PROJECT["dependencies"])) <= names
    more = {name for name, _ in locked(LOCKS[1])}
    assert names <= more
    assert set(_required(PROJECT["optional-dependencies"]["dev"])) <= more


def test_they_are_few() -> None:
    assert len(list(locked(LOCKS[0]))) <= _MOST


def test_each_direct_dependency_has_a_row_with_its_licence() -> None:
    """In the table of DEVELOPERS.md, where the reason for it stands too."""
    table = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    for name in _required(PROJECT["dependencies"]):
        assert re.search(rf"^\| {re.escape(name)} \|[^|]+\|[^|]+\|$", table, re.M | re.I), name


def _licences(distribution: metadata.Distribution) -> str:
    told = distribution.metadata
    classes = [each for each in told.get_all("Classifier") or [] if each.startswith("License")]
    named = [told[key] for key in ("License-Expression", "License") if key in told]
    return "; ".join([*named, *classes])


def test_the_licence_of_everything_that_runs_is_known() -> None:
    for name, _ in locked(LOCKS[0]):
        try:
            distribution = metadata.distribution(name)
        except metadata.PackageNotFoundError:
            continue  # for another system
        licences = _licences(distribution)
        if name in UNDECLARED:
            continue
        if name in WEAK_COPYLEFT:
            assert "MPL" in licences or "Mozilla" in licences, name
            continue
        assert any(word in licences for word in PERMISSIVE), (name, licences[:200])
        assert not re.search(r"\bA?GPL", licences), (name, licences[:200])


def _imports(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module.partition(".")[0])
    return names


def test_the_gpl_voice_runs_in_a_process_of_its_own() -> None:
    """espeak-ng is GPL-3.0: only the child's module may load it, and nobody imports that one."""
    inside = [
        path.relative_to(ROOT).as_posix()
        for path in sorted((ROOT / "walkaround").rglob("*.py"))
        if {"pyttsx3", "espeakng_loader"} & _imports(path)
    ]
    assert inside == ["walkaround/devices/voice_process.py"]
    for path in sorted((ROOT / "walkaround").rglob("*.py")):
        assert not re.search(r"^\s*(from|import) .*voice_process", path.read_text("utf-8"), re.M)


def test_nothing_of_it_is_loaded_by_the_program_itself() -> None:
    """Asked of a fresh interpreter, so that this process's own imports do not count."""
    code = (
        "import sys; import walkaround.cli.demo, walkaround.cli.walk; "
        "print(sorted({'pyttsx3', 'espeakng_loader'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"
