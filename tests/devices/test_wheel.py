"""The wheel carries the program's data: built, installed elsewhere, run isolated from here."""

from __future__ import annotations

import json
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

import pytest

from walkaround.devices.library import Library

ROOT = Path(__file__).resolve().parents[2]
pytestmark = pytest.mark.skipif(
    not (ROOT / "README.md").is_file(), reason="there is no README.md to build the wheel with"
)
_LIST = """
import json, sys
sys.path.append(sys.argv[1])  # the libraries that are installed already; no walkaround is there
import walkaround
from walkaround.devices.library import Library, Layer, standard_layers
from pathlib import Path
library = Library(standard_layers(Path(sys.argv[2])))
found = {kind: {name: [one.origin, one.sha256] for name, one in library.read_all(kind).items()}
         for kind in library.kinds()}
print(json.dumps({"package": walkaround.__file__, "found": found}))
"""
_HELP = """
import sys
sys.path.append(sys.argv.pop(1))
import runpy
sys.argv[0] = "walkaround"
runpy.run_module("walkaround", run_name="__main__", alter_sys=True)
"""


@pytest.fixture(scope="module")
def python(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The Python of an environment that has the wheel and nothing else."""
    folder = tmp_path_factory.mktemp("elsewhere")
    build = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "-w", str(folder), "."]
    made = subprocess.run(build, cwd=ROOT, capture_output=True, text=True, check=False)
    if made.returncode != 0 and "No matching distribution found for hatchling" in made.stderr:
        pytest.skip("no network to fetch the build tool (hatchling)")
    assert made.returncode == 0, made.stderr
    (wheel,) = folder.glob("walkaround-*.whl")
    venv.create(folder / "env", with_pip=True)
    python = folder / "env" / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")
    install = [str(python), "-m", "pip", "install", "--quiet", "--no-deps", str(wheel)]
    subprocess.run(install, check=True)
    return python


def _run(python: Path, code: str, *words: str) -> subprocess.CompletedProcess[str]:
    libraries = sysconfig.get_paths()["purelib"]
    return subprocess.run(
        [str(python), "-I", "-c", code, libraries, *words],
        cwd=python.parent,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


def test_the_wheel_has_every_data_file_of_the_checkout(python: Path, tmp_path: Path) -> None:
    ran = _run(python, _LIST, str(tmp_path))
    assert ran.returncode == 0, ran.stderr
    answer = json.loads(ran.stdout)
    assert str(ROOT) not in answer["package"]
    here = Library()
    for kind in here.kinds():
        wanted = {name: ["wheel", one.sha256] for name, one in here.read_all(kind).items()}
        assert answer["found"][kind] == wanted
        assert wanted, f"there is no {kind} at all"


def test_the_wheels_command_runs_isolated(python: Path) -> None:
    ran = _run(python, _HELP, "--help")
    assert ran.returncode == 0, ran.stderr
    assert "air-brake check" in ran.stdout
    listed = _run(python, _HELP, "scripts", "straight-truck")
    assert listed.returncode == 0, listed.stderr + listed.stdout
