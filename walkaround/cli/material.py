"""Everything a walk is made from: files found, loaded, checked, and named for the record."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from walkaround.devices.disk import read_copy
from walkaround.devices.library import Found, Library, Origin, data_file
from walkaround.errors import ProfileError, RuleError, ScriptError, SheetError, UsageError
from walkaround.exchange import Verdict, Wanted
from walkaround.procedure.check import check_plan, check_script
from walkaround.procedure.expand import plan_for
from walkaround.procedure.judging import judge_all
from walkaround.procedure.load import load_script
from walkaround.procedure.measuring import gauge_facts, vehicle_of
from walkaround.procedure.model import Plan
from walkaround.procedure.profile import Profile, load_profile
from walkaround.procedure.script import Script
from walkaround.records.opening import Opening, Source
from walkaround.rules.book import RuleBook
from walkaround.rules.load import load_rules
from walkaround.speech.phrases import load_phrases
from walkaround.speech.thresholds import load_thresholds
from walkaround.walk import JudgeOf, Language

Files = Mapping[str, Mapping[str, Found]]
"""Kind of data file -> name -> what was found."""

LANGUAGE = "en"
DEMO_VEHICLES: Mapping[str, str] = {
    "straight-truck": "demo-truck",
    "tractor-trailer": "demo-tractor",
    "bus": "demo-bus",
}
"""The invented vehicle that each script of ours is demonstrated with."""


@dataclass(frozen=True, slots=True)
class Material:
    """Loaded and checked, with the files it came from."""

    plan: Plan
    profile: Profile
    places: tuple[str, ...]
    book: RuleBook
    language: Language
    files: Files

    def found(self) -> Iterator[tuple[str, Found]]:
        """(kind, file) of everything used."""
        for kind, files in sorted(self.files.items()):
            for _, found in sorted(files.items()):
                yield kind, found

    def sources(self) -> tuple[Source, ...]:
        """As the record names them."""
        return tuple(Source(kind, f.name, f.sha256, str(f.origin)) for kind, f in self.found())


def files_from_library(library: Library, script: str, vehicle: str) -> Files:
    """The current files. `vehicle` is a name in the library or the path of a profile.

    Raises UsageError with the names that exist.
    """
    return {
        "scripts": {script: library.read("scripts", script)},
        "steps": library.read_all("steps"),
        "acts": library.read_all("acts"),
        "rules": library.read_all("rules"),
        "phrases": {LANGUAGE: library.read("phrases", LANGUAGE)},
        "vehicles": {"vehicle": _vehicle(library, vehicle)},
        "thresholds": {"thresholds": library.read("thresholds", "thresholds")},
    }


def _vehicle(library: Library, vehicle: str) -> Found:
    path = Path(vehicle)
    if path.suffix not in (".yaml", ".yml") and path.name == vehicle:
        return library.read("vehicles", vehicle)
    if not path.is_file():
        raise UsageError(f"there is no vehicle profile {path}; check the path")
    return data_file(path, path.stem, Origin.USER)


def files_from_copies(opening: Opening, copies: Path) -> Files:
    """The very files that a walk began with, from the copies beside its journal.

    Raises DiskError when one is missing or was changed.
    """
    files: dict[str, dict[str, Found]] = {}
    for source in opening.sources:
        content = read_copy(copies, source.sha256)
        name = "vehicle" if source.what == "vehicles" else source.name
        files.setdefault(source.what, {})[name] = Found(
            source.name, content, Origin(source.origin), source.sha256, f"{source.name}.yaml"
        )
    return files


def load(files: Files, script: str, places: Sequence[str]) -> Material:
    """Load everything; raises the error of the first file that is broken, or PlaceError."""
    with naming_whole_paths(files):
        return _load(files, script, places)


def _load(files: Files, script: str, places: Sequence[str]) -> Material:
    book = load_rules(_contents(files["rules"], ""))
    for place in places:
        book.place(place)
    vehicle = files["vehicles"]["vehicle"]
    profile = load_profile(vehicle.content, vehicle.file)
    codes = tuple(place.upper() for place in places)
    written = script_of(files, script)
    _check_own(written, profile, codes, files)
    plan = plan_for(written, profile, codes)
    phrases, thresholds = files["phrases"][LANGUAGE], files["thresholds"]["thresholds"]
    language = Language(
        load_phrases(phrases.content, phrases.file),
        load_thresholds(thresholds.content, thresholds.file),
    )
    return Material(plan, profile, codes, book, language, files)


def _check_own(script: Script, profile: Profile, places: Sequence[str], files: Files) -> None:
    """A person's own script is looked through like ours before anybody walks by it: no step that
    can hurt somebody without its caution, none that cannot be reached. Raises the first fault."""
    parts = (found for kind in ("scripts", "steps", "acts") for found in files[kind].values())
    if any(found.origin is Origin.USER for found in parts):
        faults = (*check_script(script), *check_plan(script, profile, places))
        if faults:
            raise faults[0]


def script_of(files: Files, name: str) -> Script:
    """The inspection script, put together from its parts. Raises ScriptError."""
    return load_script(
        name,
        {
            **_contents(files["scripts"], ""),
            **_contents(files["steps"], "steps/"),
            **_contents(files["acts"], "acts/"),
        },
    )


def _contents(files: Mapping[str, Found], folder: str) -> dict[str, bytes]:
    return {f"{folder}{name}.yaml": found.content for name, found in files.items()}


@contextmanager
def naming_whole_paths(files: Files) -> Iterator[None]:
    """A fault in a data file names the file as it lies on the disk, not only its name in the set:
    a person's own file may stand in place of one of ours."""
    try:
        yield
    except SheetError as bad:
        raise at_its_path(bad, files) from None


def at_its_path(bad: SheetError, files: Files) -> SheetError:
    """The same error with the whole path, where it is known."""
    paths = {
        f"{_FOLDERS.get(kind, '')}{name}.yaml": found.file
        for kind, named in files.items()
        for name, found in named.items()
        if kind in _ERRORS and isinstance(bad, _ERRORS[kind])
    }
    path = paths.get(bad.file)
    return bad if path is None else type(bad)(bad.problem, file=path, line=bad.line, key=bad.key)


_FOLDERS: Mapping[str, str] = {"steps": "steps/", "acts": "acts/"}
_ERRORS: Mapping[str, type[SheetError]] = {
    "scripts": ScriptError,
    "steps": ScriptError,
    "acts": ScriptError,
    "rules": RuleError,
}


def check_vehicle(material: Material) -> None:
    """Raises ProfileError for a brake chamber that no rule knows: its stroke would go unjudged."""
    book = material.book
    known = set(book.chamber_volumes) | {
        rule.holds_for.chamber
        for authority in book.authorities
        for rule in authority.rules
        if rule.holds_for.chamber
    }
    for brake in material.profile.brakes:
        if brake.chamber not in known and not brake.chamber.startswith("other"):
            raise ProfileError(
                f"no rule knows the chamber '{brake.chamber}' of {brake.at}; known are "
                f"{', '.join(sorted(known))}; write 'other' for one without a published limit",
                file=material.files["vehicles"]["vehicle"].file,
            )


def judge_of(material: Material) -> JudgeOf:
    """Air and rules put together for this vehicle on this trip."""
    vehicle = vehicle_of(material.profile, material.book)
    gauge = gauge_facts(material.book)

    def judge(_step: str, wanted: Sequence[Wanted]) -> tuple[Verdict, ...]:
        return judge_all(wanted, material.book, material.places, vehicle, gauge)

    return judge
