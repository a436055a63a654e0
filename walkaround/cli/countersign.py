"""Signs a second person's remarks over a record: the part of `audit` that writes beside one."""

from __future__ import annotations

import hashlib
from pathlib import Path

from walkaround.cli.beside import read_limited
from walkaround.cli.logs import logs_of
from walkaround.cli.noting import note_countersigned
from walkaround.cli.options import must_be_printable
from walkaround.cli.unlocking import unlocked
from walkaround.devices.clock import wall_now
from walkaround.devices.disk import write_finished
from walkaround.devices.keys import KeyStore
from walkaround.errors import RecordError, SigningKeyError, UsageError
from walkaround.records.countersignature import countersign, read_countersignature
from walkaround.records.signature import LARGEST_BYTES, WalkKind
from walkaround.records.trust import TrustList
from walkaround.records.verify import verify

COUNTERSIGNATURES = "countersignature-*.jws"


def countersign_record(path: Path, remarks: str, signer: str, trust: TrustList) -> int:
    """Verify the record, sign over it with this device's key, write the line beside it.

    Raises UsageError, RecordError or UntrustedKeyError for a record that nobody should sign,
    SigningKeyError for a key that was taken back: it would count for nobody.
    """
    if not remarks.strip():
        raise UsageError("say what you looked at with --remarks; a bare signature tells nothing")
    must_be_printable("--signer", signer)
    line = read_limited(path, LARGEST_BYTES)
    store = KeyStore()
    by_itself = verify(line, trust)
    report = verify(line, trust, log=logs_of(store, (), ()).log_for(by_itself.key_id, line))
    report.require()
    kind, summary = report.kind or WalkKind.WALK, report.summary
    key = unlocked(store, kind)
    own = store.trust()
    if own.revoked(key.thumbprint) is not None:
        raise SigningKeyError("this device's key was taken back; make another and sign with that")
    known = own.find(key.thumbprint)
    name = signer.strip() or (known.name if known else key.thumbprint)
    signed = countersign(
        line,
        key,
        kind,
        walk_id=summary.walk_id if summary else "",
        remarks=remarks,
        signer=name,
        at=wall_now(),
    )
    target = _free(path.parent)
    note_countersigned(key, kind, signed)
    write_finished(target, signed)
    if key.thumbprint == report.key_id:
        print(
            "This device signed the record too: that is no second person's, and does not count. "
            f"It lies in {target}"
        )
    else:
        print(f"Countersigned as {name}: {target}")
    return 0


def _free(folder: Path) -> Path:
    number = 1
    while (folder / f"countersignature-{number}.jws").exists():
        number += 1
    return folder / f"countersignature-{number}.jws"


def beside(path: Path, record: bytes) -> tuple[dict[str, bytes], list[str]]:
    """What lies beside a record and may be a countersignature of it, by name; remarks on the rest.

    One that is whole and over another record is that one's. Nothing that somebody laid there
    stops the record from being verified.
    """
    digest = hashlib.sha256(record).hexdigest()
    lines, remarks = dict[str, bytes](), list[str]()
    for found in sorted(path.parent.glob(COUNTERSIGNATURES)):
        try:
            line = read_limited(found, LARGEST_BYTES)
        except UsageError as bad:
            remarks.append(f"a countersignature was NOT CHECKED: {bad}")
            continue
        if _over(line) in (digest, ""):
            lines[found.name] = line
    return lines, remarks


def _over(line: bytes) -> str:
    try:
        return read_countersignature(line).record
    except RecordError:
        return ""
