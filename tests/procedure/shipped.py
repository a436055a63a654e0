"""The scripts and demo profiles as they are shipped, for the tests of this room."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path

from walkaround.procedure.expand import plan_for
from walkaround.procedure.load import load_script
from walkaround.procedure.model import Plan
from walkaround.procedure.profile import Profile, load_profile
from walkaround.procedure.script import Script

SCRIPTS = Path(__file__).resolve().parents[2] / "scripts"


def files() -> dict[str, bytes]:
    """Everything that scripts are put together from, by its path under `scripts/`."""
    found = [*SCRIPTS.glob("*.yaml"), *SCRIPTS.glob("steps/*.yaml"), *SCRIPTS.glob("acts/*.yaml")]
    return {path.relative_to(SCRIPTS).as_posix(): path.read_bytes() for path in found}


@cache
def script(name: str) -> Script:
    return load_script(name, files())


@cache
def profile(name: str) -> Profile:
    path = SCRIPTS / "vehicles" / f"{name}.yaml"
    return load_profile(path.read_bytes(), path.name)


def plan(script_name: str, vehicle: str, places: Sequence[str] = ("CA-ON",)) -> Plan:
    return plan_for(script(script_name), profile(vehicle), places)
