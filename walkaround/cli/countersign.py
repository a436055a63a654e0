"""Signs a second person's remarks over a record: the part of `audit` that writes beside one."""

from __future__ import annotations

import hashlib
from pathlib import Path

from walkaround.cli.keys import ask_passphrase
from walkaround.devices.clock import wall_now
from walkaround.devices.disk import write_finished
from walkaround.devices.keys import KeyStore
from walkaround.errors import RecordError, UsageError
from walkaround.records.countersignature import countersign, read_countersignature
from walkaround.records.signature import LARGEST_BYTES, WalkKind
from walkaround.records.trust import TrustList
from walkaround.records.verify import verify

COUNTERSIGNATURES = "countersignature-*.jws"


def countersign_record(path: Path, remarks: str, signer: str, trust: TrustList) -> int:
    """Verify the record, sign over it with this device's key, write the line beside it.

    Raises UsageError, RecordError or UntrustedKeyError for a record that nobody should sign.
    """
    if not remarks.strip():
        raise UsageError("say what you looked at with --remarks; a bare signature tells nothing")
    line = read_line(path)
    report = verify(line, trust)
    report.require()
    kind, summary = report.kind or WalkKind.WALK, report.summary
    store = KeyStore()
    key = store.key(kind, ask_passphrase)
    known = store.trust().find(key.thumbprint)
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
    write_finished(target, signed)
    if key.thumbprint == report.key_id:
        print("This device signed the record too: a countersignature should be a second person's.")
    print(f"Countersigned as {name}: {target}")
    return 0


def _free(folder: Path) -> Path:
    number = 1
    while (folder / f"countersignature-{number}.jws").exists():
        number += 1
    return folder / f"countersignature-{number}.jws"


def beside(path: Path, record: bytes) -> list[bytes]:
    """What lies beside a record and may be a countersignature of it.

    One that is whole and over another record is that one's. Raises UsageError.
    """
    digest = hashlib.sha256(record).hexdigest()
    lines = (read_line(found) for found in sorted(path.parent.glob(COUNTERSIGNATURES)))
    return [line for line in lines if _over(line) in (digest, "")]


def _over(line: bytes) -> str:
    try:
        return read_countersignature(line).record
    except RecordError:
        return ""


def read_line(path: Path) -> bytes:
    """A signed line. Raises UsageError when it cannot be read or is too large for one."""
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
    except OSError as bad:
        raise UsageError(f"cannot read {path} ({bad.strerror}); check the path") from bad
    if len(content) > LARGEST_BYTES:
        raise UsageError(f"{path} is larger than a record can be; look for the right file")
    return content
