"""What `walkaround audit` does: reads records, writes the page, exports the tables, prints."""

from __future__ import annotations

import argparse
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from urllib.parse import quote

from walkaround.audit.conclude import Audit, conclude
from walkaround.audit.evidence import WalkRef
from walkaround.audit.page import Files, page_of
from walkaround.cli.countersign import countersign_record
from walkaround.cli.logs import logs_of
from walkaround.cli.screen import plain, show
from walkaround.devices.disk import disk_error, write_finished
from walkaround.devices.evidence.ask import Asker
from walkaround.devices.evidence.export import export
from walkaround.devices.evidence.gather import gather
from walkaround.devices.evidence.reader import TRUSTED
from walkaround.devices.evidence.scripts import own_files
from walkaround.devices.evidence.store import Store
from walkaround.devices.keys import KeyStore
from walkaround.devices.library import Library
from walkaround.devices.regular import LIST_BYTES, must_be_replaceable, read_regular
from walkaround.errors import DiskError, UsageError
from walkaround.records.trust import TrustList, parse_trust

_MOST_PRINTED = 20
_ANOTHER_PAGE = "or name another with --page"


def run(arguments: argparse.Namespace) -> int:
    """Exit code 0 however much there is to look at; files that are not ours do not stop it."""
    trust = _trust(arguments.trust)
    if arguments.countersign is not None:
        if arguments.paths:
            raise UsageError("countersign one record at a time, without other paths")
        return countersign_record(arguments.countersign, arguments.remarks, arguments.signer, trust)
    if not arguments.paths:
        raise UsageError("name a folder with records, such as 'walkaround audit walks/'")
    if arguments.processes < 1:
        raise UsageError("--processes must be 1 or more")
    _must_be_writable(arguments.page)
    logs = logs_of(KeyStore(), arguments.log, ())
    processes = min(arguments.processes, os.cpu_count() or 1)  # more would only wait
    with Store(arguments.cache, trust, threads=processes) as store:
        gather(
            arguments.paths,
            store,
            trust,
            own_files(Library()),
            journals=not arguments.records_only,
            processes=processes,
            logs=logs.countersigners,
        )
        asker = Asker(store)
        audits = concluded(asker)
        _write_page(arguments.page, asker, audits)
        if arguments.export is not None:
            looks = [(audit.kind.value, look) for audit in audits for look in audit.looks]
            export(store, looks, arguments.export)
        looked, taken = asker.looked(), asker.records()
    _print(audits, looked, arguments)
    for gap in logs.gaps(taken):
        show(f"  {gap}")
    return 0


def _trust(path: Path | None) -> TrustList:
    if path is None:
        return KeyStore().trust()
    try:
        return parse_trust(read_regular(path, LIST_BYTES))
    except OSError as bad:
        raise UsageError(f"cannot read {path} ({bad.strerror}); check the path") from bad


def concluded(asker: Asker) -> tuple[Audit, ...]:
    """Every kind of walk that is there, real ones first."""
    audits = []
    for kind in asker.kinds():
        evidence = asker.evidence(kind)
        named = {note.walk for note in evidence.notes}
        named |= {walk for walks in evidence.doubles for walk in walks}
        audits.append(conclude(kind, evidence, asker.walks(named), asker.shown(kind)))
    return tuple(audits)


def _write_page(page: Path, asker: Asker, audits: Sequence[Audit]) -> None:
    named = {walk for audit in audits for walk in audit.walks_named}
    listed = [(one.path, one.size, one.standing, one.why) for one in asker.listed()]
    files = Files(asker.looked(), listed)
    folder = page.resolve().parent

    def link(ref: WalkRef) -> str:
        return address(ref.path, folder)

    content = page_of(audits, files, asker.walks(named), link)
    write_finished(page, content, elsewhere=_ANOTHER_PAGE)


def _must_be_writable(page: Path) -> None:
    """Said before the records are read, which may take long. Raises DiskError."""
    if not page.parent.is_dir():
        raise DiskError(
            f"cannot write {page}: {page.parent} is no folder; make it first, {_ANOTHER_PAGE}"
        )
    try:
        must_be_replaceable(page)
    except OSError as bad:
        raise disk_error(page, bad, _ANOTHER_PAGE) from bad


def address(record: str, folder: Path) -> str:
    """A relative reference from the page to a record's own page, or to the record itself.

    It begins with a dot, so that nothing in a file's name can pass for a scheme.
    """
    page = Path(record).with_suffix(".html")
    target = os.fspath(page) if page.is_file() else record
    relative = os.path.relpath(target, folder).replace(os.sep, "/")
    dotted = relative if relative.startswith("../") else f"./{relative}"
    return quote(os.fsencode(dotted), safe="/")


# ---------------------------------------------------------------- what is printed


def counted(audits: Sequence[Audit]) -> str:
    """How many walks of each kind."""
    return ", ".join(f"{audit.evidence.walks} {audit.kind}" for audit in audits) or "none"


def _print(
    audits: Sequence[Audit], looked: Mapping[str, int], arguments: argparse.Namespace
) -> None:
    show(f"Records by trusted keys: {counted(audits)}")
    others = [f"{count} {standing}" for standing, count in looked.items() if standing != TRUSTED]
    if others:
        show(f"Other files: {', '.join(others)}")
    for audit in audits:
        for look in audit.looks[:_MOST_PRINTED]:
            whose = ", ".join(name for name in (look.who, look.vehicle) if name)
            where = f"{audit.title(look.step)}: " if look.step else ""
            show(plain(f"  {audit.kind}: {whose}: {where}{look.says}", keep=""))
        if len(audit.looks) > _MOST_PRINTED:
            show(f"  and {len(audit.looks) - _MOST_PRINTED} more on the page")
        if not audit.looks:
            show(f"  {audit.kind}: nothing stands out")
    show(f"To read: {arguments.page}")
    if arguments.export is not None:
        show(f"Tables:  {arguments.export}")
    show("A look is a reason to open the record and to ask, never an accusation.")
