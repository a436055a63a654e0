"""`walkaround scripts`: check the inspection scripts and show what they ask, where, how long."""

from __future__ import annotations

import argparse

from rich.console import Console
from rich.table import Table

from walkaround.cli.material import (
    DEMO_VEHICLES,
    at_its_path,
    files_from_library,
    naming_whole_paths,
    script_of,
)
from walkaround.cli.screen import must_have_output
from walkaround.devices.library import Library
from walkaround.errors import ScriptError
from walkaround.exchange import Wording
from walkaround.procedure.check import check_plan, check_script
from walkaround.procedure.expand import plan_for
from walkaround.procedure.model import Plan
from walkaround.procedure.profile import load_profile
from walkaround.procedure.report import report


def add(parser: argparse.ArgumentParser) -> None:
    """The command's options."""
    parser.add_argument("script", nargs="?", default="", help="the script to show; none: all")
    parser.add_argument("--vehicle", metavar="NAME|FILE", default="", help="a vehicle profile")
    parser.add_argument(
        "--place", action="append", metavar="CODE", default=[], help="as it is walked there"
    )
    parser.add_argument("--steps", action="store_true", help="list every step")


def run(arguments: argparse.Namespace) -> int:
    """Prints one line a script, or its faults with file and line. Exit code of ScriptError then."""
    must_have_output()
    library, console = Library(), Console()
    names = [arguments.script] if arguments.script else list(DEMO_VEHICLES)
    faults = 0
    for name in names:
        faults += _show(library, console, name, arguments)
    return ScriptError.exit_code if faults else 0


def _show(library: Library, console: Console, name: str, arguments: argparse.Namespace) -> int:
    vehicle = arguments.vehicle or DEMO_VEHICLES.get(name, "demo-truck")
    places = tuple(arguments.place) or ("US",)
    files = files_from_library(library, name, vehicle)
    with naming_whole_paths(files):
        script = script_of(files, name)
    found = files["vehicles"]["vehicle"]
    profile = load_profile(found.content, found.file)
    faults = (*check_script(script), *check_plan(script, profile, places))
    for fault in faults:
        console.print(str(at_its_path(fault, files)), style="bold", markup=False, highlight=False)
    if faults:
        return len(faults)
    plan = plan_for(script, profile, places)
    told = report(plan, Wording.SHORT)
    console.print(
        f"{name}: {told.steps} steps, {told.questions} questions, {told.cautions} cautions, "
        f"{told.trips} trips, about {told.expected_s // 60} min "
        f"({told.shortest_s // 60} to {told.longest_s // 60}), with {profile.name}"
    )
    if arguments.steps:
        _print_steps(console, plan)
    return 0


def _print_steps(console: Console, plan: Plan) -> None:
    table = Table("step", "where", "asks", "caution")
    for step in plan.steps:
        table.add_row(step.id, step.where, ", ".join(str(a.kind) for a in step.asks), step.caution)
    console.print(table)
