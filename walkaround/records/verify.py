"""Is a record intact, and whose is it? A numbered list, carried out in this order.

The record itself:
  1. it is one line of three parts and of a possible size
  2. its header is canonical and has alg, kid and typ and nothing else, but that it is packed
  3. its algorithm is Ed25519
  4. its typ says that it is a record, and of which kind of walk
  5. its payload, unpacked up to a limit, is one object in canonical JSON, no member twice,
     nothing after it
  6. its payload is a summary of that kind of walk
  7. its key is the one that its header names
  8. its signature is by that key
Whose it is:
  9. the key is on the trust list
 10. the key is trusted for this kind of walk
What lies beside it, when it is given:
 11. the journal is whole and chains
 12. the journal is the one that the record was made from
 13. the heads inside the journal are signed by the same key
 14. the summary made again from the journal is the signed one
 15. the data files are those that the record names
 16. the particulars are those that the record commits to
The device's log, when it is given:
 17. the log is whole and chains, each line signed by the key then in force
 18. the log holds the heads that were copied from it earlier
 19. the record stands in the log, after the line that its walk was begun with
Whether the key still stands:
 20. the key was not taken back, or a copied head of the log covers the record
Who else has looked at it:
 21. it is countersigned, by a second key that is trusted and stands; else that is a gap, and
     shown as one, with what is wrong with each countersignature that was given
What was recorded as sound, when it is given:
 22. the recordings are those that the journal names; deleted ones are counted, no more

Nothing is read, fetched, run or changed.  A step that fails ends the list, except that
whose it is (9, 10, 20) and its place in the log (17 to 19) do not: the file may be intact
all the same.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from types import MappingProxyType

from walkaround.errors import (
    JournalError,
    LogError,
    RecordError,
    RevokedKeyError,
    SigningKeyError,
)
from walkaround.records.case import Case, NotCheckedError
from walkaround.records.journal import EntryKind, JournalReading, head_payload, read_journal
from walkaround.records.keys import public_key
from walkaround.records.log import DeviceLog, read_log, sha256_of
from walkaround.records.particulars import open_commitment, read_openings
from walkaround.records.report import LOG_STEPS, TRUST_STEPS, Checked, Outcome, Report
from walkaround.records.second import Countersigned, Weighed, Worth
from walkaround.records.signature import (
    Paper,
    check_algorithm,
    is_signed_by,
    kind_and_paper,
    parse_line,
    read_content,
    read_header,
    read_payload,
    read_signature,
    split,
)
from walkaround.records.sound import clips_of, match_sounds
from walkaround.records.standing import copied_heads, covered, signed_line
from walkaround.records.summary import summarise
from walkaround.records.trust import TrustList
from walkaround.records.view import read_summary

_FAILURES = (RecordError, JournalError, SigningKeyError, LogError, RevokedKeyError)


def verify(
    record: bytes,
    trust: TrustList,
    *,
    journal: bytes | None = None,
    attachments: Mapping[str, bytes] | None = None,
    openings: bytes | None = None,
    log: bytes | DeviceLog | None = None,
    heads: Sequence[bytes] = (),
    countersignatures: Mapping[str, bytes] = MappingProxyType({}),
    countersigners: Sequence[DeviceLog] = (),
    sounds: Mapping[str, bytes] | None = None,
) -> Report:
    """Go through the list. Never raises for a bad record: the report says what failed.

    `attachments` are data files, by any name to call them by in the report; `openings`
    is the openings file of the particulars; `log` the device's log (its bytes, or read once
    for many records) and `heads` lines that were copied from it earlier, beside those that
    the trust list has seen; `countersignatures` are lines by any name to call them by, and
    `countersigners` the logs of the devices that made them: needed for keys taken back only;
    `sounds` are recordings of answers, by any name.
    """
    beside = (journal, attachments, openings, log, heads)
    case = Case(record, trust, *beside, countersignatures, countersigners, sounds)
    checked: list[Checked] = []
    failed = False
    for number, (title, step) in enumerate(_STEPS, start=1):
        if failed:
            checked.append(Checked(number, title, Outcome.NOT_CHECKED, "a step before it failed"))
            continue
        try:
            checked.append(Checked(number, title, Outcome.PASSED, step(case)))
        except NotCheckedError as why:
            checked.append(Checked(number, title, Outcome.NOT_CHECKED, str(why)))
        except _FAILURES as bad:
            checked.append(Checked(number, title, Outcome.FAILED, str(bad)))
            failed = number not in (*TRUST_STEPS, *LOG_STEPS)
    told = (case.kind, case.key_id, case.payload, case.summary)
    return Report(tuple(checked), *told, case.countersigned, case.signed_later)


# ---------------------------------------------------------------- the record itself


def _one_line(case: Case) -> str:
    case.parts = split(case.record)
    return f"{len(case.record)} bytes"


def _header(case: Case) -> str:
    case.header = read_header(case.parts[0])
    return ""


def _algorithm(case: Case) -> str:
    check_algorithm(case.header)
    return ""


def _kind(case: Case) -> str:
    kind, paper = kind_and_paper(case.header)
    if paper is not Paper.RECORD:
        raise RecordError(f"this is a signed {paper}, not a record; look for the right file")
    case.kind = kind
    return kind.value


def _payload(case: Case) -> str:
    case.payload = read_payload(read_content(case.header, case.parts[1]))
    return ""


def _summary(case: Case) -> str:
    case.summary = read_summary(case.payload)
    if case.summary.walk is not case.kind:
        raise RecordError(
            f"its header says {case.kind}, its payload {case.summary.walk}; do not use this file"
        )
    case.signed_later = case.summary.signed_later
    return case.summary.walk_id


def _key(case: Case) -> str:
    key = public_key(case.payload.get("key"))
    known = case.trust.find(case.key_id)
    if known is not None and known.key == key:
        key = known.key  # the same, and ready to verify with
    if key.thumbprint != case.key_id:
        raise RecordError("the key in it is not the one its header names; do not use this file")
    case.key = key
    return key.thumbprint


def _signature(case: Case) -> str:
    signature = read_signature(case.parts[2])
    message = case.parts[0] + b"." + case.parts[1]
    if case.key is None or not case.key.verifies(signature, message):
        raise RecordError("the signature does not fit: it was changed; ask for the original")
    return ""


# ---------------------------------------------------------------- whose it is


def _trusted(case: Case) -> str:
    found = case.trust.find(case.key_id)
    if found is None:
        raise SigningKeyError(
            f"the key {case.key_id} is not on the trust list; "
            "compare its thumbprint with its owner by another way and import it"
        )
    return found.name


def _scope(case: Case) -> str:
    found = case.trust.find(case.key_id)
    if found is None:
        raise NotCheckedError("the key is not on the trust list")
    scope = ", ".join(found.scope)
    if case.kind not in found.scope:
        raise SigningKeyError(
            f"the key of '{found.name}' is trusted for {scope} only, and this is {case.kind}; "
            "do not take it for more"
        )
    return scope


# ---------------------------------------------------------------- what lies beside it


def _chain(case: Case) -> str:
    if case.journal is None:
        raise NotCheckedError("no journal was given")
    case.reading = read_journal(case.journal)
    if case.reading.torn_tail:
        raise JournalError(
            f"{len(case.reading.torn_tail)} bytes follow the journal's last line; use your copy"
        )
    return f"{len(case.reading.entries)} entries"


def _read(case: Case) -> JournalReading:
    if case.reading is None:
        raise NotCheckedError("no journal was given")
    return case.reading


def _same_journal(case: Case) -> str:
    reading = _read(case)
    if (case.told.journal_entries, case.told.journal_hash) != (
        len(reading.entries),
        reading.head.hash,
    ):
        raise JournalError("this journal is not the one the record was made from; find that one")
    return reading.head.hash


def _heads(case: Case) -> str:
    reading = _read(case)
    heads = [entry for entry in reading.entries if entry.kind is EntryKind.HEAD]
    if not heads:
        case.signed_later |= not reading.opening.device
        raise NotCheckedError("no head was signed while walking: the key was not at hand")
    for entry in heads:
        where = f"the head in line {entry.seq + 1} of the journal"
        line = parse_line(str(entry.body["jws"]).encode("utf-8"))
        if line.paper is not Paper.HEAD or line.kind is not case.kind:
            raise JournalError(f"{where} is of another kind; do not use it")
        if line.payload() != head_payload(entry.seq - 1, entry.prev):
            raise JournalError(f"{where} signs another entry; do not use it")
        if case.key is None or not is_signed_by(line, case.key):
            raise JournalError(f"{where} is not signed by the record's key; do not use it")
    return f"{len(heads)} heads"


def _made_again(case: Case) -> str:
    reading = _read(case)
    again = summarise(reading, case.key.jwk() if case.key else None)
    if "cty" not in case.header and "signed_later" not in case.payload:
        again.pop("signed_later", None)  # records that are not packed are older than that member
    if again != case.payload:
        names = sorted(
            name for name in {*again, *case.payload} if again.get(name) != case.payload.get(name)
        )
        raise RecordError(
            f"the journal gives another summary ({', '.join(names)[:200]} differ); do not use it"
        )
    return ""


def _attachments(case: Case) -> str:
    if not case.attachments:
        raise NotCheckedError("no data files were given")
    wanted = {source.sha256: source.name for source in case.told.sources}
    left = dict(wanted)
    for name, content in case.attachments.items():
        digest = hashlib.sha256(content).hexdigest()
        if digest not in wanted:
            raise RecordError(f"the file '{name[:80]}' is not one that was used; find that one")
        left.pop(digest, None)
    missing = f"; not given: {', '.join(left.values())[:200]}" if left else ""
    return f"{len(wanted) - len(left)} files{missing}"


def _particulars(case: Case) -> str:
    if case.openings is None:
        raise NotCheckedError("no openings were given")
    opened = read_openings(case.openings)
    for name, opening in opened.items():
        if not open_commitment(case.told.particulars, name, opening):
            raise RecordError(
                f"the record was not made with this '{name[:80]}'; find the right file"
            )
    return ", ".join(opened)


# ---------------------------------------------------------------- the device's log


def _log(case: Case) -> str:
    if case.log is None:
        raise NotCheckedError("no log of the device was given")
    log = read_log(case.log) if isinstance(case.log, bytes) else case.log
    case.device_log = log
    back = ", ".join(str(seq + 1) for seq in log.clock_went_back()[:8])
    return f"{len(log.lines)} lines" + (f"; the clock went back before line {back}" if back else "")


def _read_log(case: Case) -> DeviceLog:
    if case.device_log is None:
        raise NotCheckedError("there is no log to look at")
    return case.device_log


def _copied_heads(case: Case) -> str:
    count = copied_heads(_read_log(case), case.heads, case.trust)
    if not count:
        raise NotCheckedError("no head was copied from this log earlier")
    return f"{count} heads"


def _stands_in_log(case: Case) -> str:
    log = _read_log(case)
    began = case.reading.opening.log if case.reading else None
    line = signed_line(log, sha256_of(case.record), began)
    if (line.kind, line.key_id, line.note.walk) != (case.kind, case.key_id, case.told.walk_id):
        raise LogError("the log names this record as another walk's; do not use it")
    case.signed_in = line
    return f"line {line.position.seq + 1} of {len(log.lines)}"


def _not_revoked(case: Case) -> str:
    revoked = case.trust.revoked(case.key_id)
    return "" if revoked is None else covered(revoked, case.device_log, case.signed_in)


def _countersigned(case: Case) -> str:
    if not case.countersignatures:
        raise NotCheckedError("no countersignature was given")
    case.countersigned = tuple(_weighed(case))
    counting = [one.whose for one in case.countersigned if one.worth is Worth.COUNTS]
    if not counting:
        raise NotCheckedError(f"none of the {len(case.countersigned)} that were given counts")
    return f"by {', '.join(counting)}"


def _weighed(case: Case) -> Iterator[Weighed]:
    told, log = case.told, case.device_log
    own = [key.thumbprint for key in log.keys] if log is not None else []
    over = Countersigned(
        sha256_of(case.record),
        told.walk_id,
        told.walk,
        own if case.key_id in own else [case.key_id],
    )
    return over.weigh(case.countersignatures, case.trust, case.countersigners)


def _sounds(case: Case) -> str:
    reading = _read(case)
    clips = clips_of(entry.body for entry in reading.entries if entry.kind is EntryKind.SOUND)
    if not clips:
        raise NotCheckedError("no sound was recorded")
    if case.sounds is None:
        raise NotCheckedError("no recordings were given")
    return match_sounds(clips, case.sounds)


_STEPS: tuple[tuple[str, Callable[[Case], str]], ...] = (
    ("it is one line of three parts", _one_line),
    ("its header is in order", _header),
    ("its algorithm is Ed25519", _algorithm),
    ("it is a record of a known kind", _kind),
    ("its payload is canonical", _payload),
    ("its payload is a summary of that kind", _summary),
    ("its key is the one its header names", _key),
    ("its signature is by that key", _signature),
    ("the key is on the trust list", _trusted),
    ("the key is trusted for this kind", _scope),
    ("the journal is whole and chains", _chain),
    ("the record was made from this journal", _same_journal),
    ("the journal's heads are signed by the key", _heads),
    ("the summary made again is the signed one", _made_again),
    ("the data files are those it names", _attachments),
    ("the particulars are those it commits to", _particulars),
    ("the device's log is whole and chains", _log),
    ("the log holds the heads copied earlier", _copied_heads),
    ("the record stands in the log", _stands_in_log),
    ("the key was not taken back", _not_revoked),
    ("it is countersigned", _countersigned),
    ("the recordings are those it names", _sounds),
)

STEP_TITLES = tuple(title for title, _ in _STEPS)
