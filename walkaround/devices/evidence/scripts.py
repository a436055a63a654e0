"""The script that a record was made with: from the copies beside it, or from this program's own.

Each is taken only when its hash is the one that the record names.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

from walkaround.audit.extract import Script
from walkaround.audit.timing import litres
from walkaround.devices.evidence.tree import read_source
from walkaround.devices.library import Library
from walkaround.errors import WalkaroundError
from walkaround.procedure.expand import plan_for
from walkaround.procedure.load import load_script
from walkaround.procedure.profile import load_profile
from walkaround.procedure.script import Script as Written
from walkaround.records.view import SourceView, SummaryView

_PARTS = ("scripts", "steps", "acts")
_Key = tuple[object, ...]
_T = TypeVar("_T")


class Scripts:
    """Loads each script and each plan once. `folder` is where the record at hand lies."""

    def __init__(self, own: Mapping[str, bytes]) -> None:
        """`own`: data files of this program by their hash, see `own_files`."""
        self.folder = ""
        self._own = own
        self._written: dict[_Key, Written | None] = {}
        self._plans: dict[_Key, Script | None] = {}

    def of(self, view: SummaryView) -> Script | None:
        """The record's script for its vehicle and places; None when it cannot be had."""
        key = (view.script, view.places, *[source.sha256 for source in view.sources])
        if key not in self._plans:
            used = tuple(source for source in view.sources if source.what in (*_PARTS, "vehicles"))
            self._plans[key] = self._load(view, used)
        return self._plans[key]

    def _load(self, view: SummaryView, used: Sequence[SourceView]) -> Script | None:
        vehicles = [source for source in used if source.what == "vehicles"]
        content = self._read(vehicles[0].sha256) if vehicles else None
        parts = tuple(source for source in used if source.what in _PARTS)
        key = (view.script, tuple(source.sha256 for source in parts))
        if key not in self._written:
            self._written[key] = _or_none(lambda: self._put_together(view.script, parts))
        written = self._written[key]
        if content is None or written is None:
            return None
        profile_bytes = content

        def planned() -> Script:
            profile = load_profile(profile_bytes, vehicles[0].name)
            plan = plan_for(written, profile, view.places)
            return Script(plan, litres(profile.reservoirs))

        return _or_none(planned)

    def _put_together(self, name: str, parts: Sequence[SourceView]) -> Written | None:
        files: dict[str, bytes] = {}
        for source in parts:
            content = self._read(source.sha256)
            if content is None:
                return None
            folder = "" if source.what == "scripts" else f"{source.what}/"
            files[f"{folder}{source.name}.yaml"] = content
        return load_script(name, files)

    def _read(self, sha256: str) -> bytes | None:
        return self._own.get(sha256) or read_source(self.folder, sha256)


def _or_none(load: Callable[[], _T | None]) -> _T | None:
    """A script that another version wrote, or a hostile one, leaves its walks unjudged."""
    try:
        return load()
    except (WalkaroundError, ValueError, RecursionError):
        return None


def own_files(library: Library) -> Mapping[str, bytes]:
    """This program's scripts, steps, acts and vehicles, by hash."""
    return {
        found.sha256: found.content
        for kind in (*_PARTS, "vehicles")
        for found in library.read_all(kind).values()
    }
