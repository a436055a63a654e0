"""Damaged, foreign, half-written, huge and hostile files: listed, and never a reason to stop."""

from __future__ import annotations

import os
import random
from pathlib import Path

import pytest

from tests.audit.auditing import Audited, audited
from tests.audit.fleets import (
    KIND,
    key_of,
    material_of,
    numbers_of,
    signed,
    template,
    truck_of,
    trust_of,
    variant,
    walked,
)
from walkaround.cli.auditing import address
from walkaround.devices.evidence.tree import shown
from walkaround.errors import UsageError
from walkaround.records.signature import WalkKind
from walkaround.records.trust import TrustedKey, TrustList

GIGABYTE = 1_000_000_000


def good(name: str = "a", **more: str) -> bytes:
    """One trusted record by driver 0."""

    dice = random.Random(name)
    told = numbers_of(truck_of("truck", dice), 0, dice)
    payload = variant(template(), told, id=more.pop("id", name), **more)
    payload["key"] = key_of(0).public.jwk()
    return signed(payload, key_of(0))


def put(tree: Path, name: str, content: bytes) -> Path:
    path = tree / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    return path


def of(tree: Path, tmp_path: Path) -> Audited:
    return audited(tree, tmp_path / "cache", trust_of(1))


def why(found: Audited, ending: str) -> str:
    (one,) = [listed for listed in found.listed if listed.path.endswith(ending)]
    return f"{one.standing}: {one.why}"


def test_every_sort_of_bad_file_is_listed_and_the_good_one_is_audited(tmp_path: Path) -> None:
    tree, record = tmp_path / "tree", good()
    put(tree, "good/record.jws", record)
    put(tree, "cut/record.jws", record[: len(record) // 2])
    put(tree, "empty/record.jws", b"")
    put(tree, "flipped/record.jws", record[:-9] + bytes([record[-9] ^ 1]) + record[-8:])
    put(tree, "noise/record.jws", os.urandom(20_000))
    put(tree, "text/record.jws", b"a.b.c")
    put(tree, "deep/record.jws", b"e30." + b"W1" * 100_000 + b".AA")
    put(tree, "half/.record.jws.x7", record[:100])
    put(tree, "foreign/holiday.jpg", b"\xff\xd8\xff")
    put(tree, "journal/journal.jsonl", b'{"body":{}')
    put(tree, "zeros/journal.jsonl", bytes(5000))
    for name in ("huge.jws", "huge/journal.jsonl"):
        with put(tree, name, b"").open("r+b") as file:
            file.truncate(GIGABYTE)
    found = of(tree, tmp_path)
    assert [audit.evidence.walks for audit in found.audits] == [1]
    assert found.looked == {"trusted": 1, "refused": 10, "not ours": 2}
    assert "too many" in why(found, "huge.jws") and "not opened" in why(found, "huge.jws")
    assert "not opened" in why(found, "huge/journal.jsonl")
    # The flipped bit leaves a letter of base64url or it does not: refused either way.
    assert "signature" in why(found, "flipped/record.jws")
    assert "three parts" in why(found, "empty/record.jws")
    assert why(found, "holiday.jpg").startswith("not ours")


def test_links_pipes_and_shut_folders(tmp_path: Path) -> None:
    tree = tmp_path / "tree"
    put(tree, "good/record.jws", good())
    (tree / "loop").symlink_to(tree, target_is_directory=True)
    (tree / "out.jws").symlink_to("/etc/hostname")
    os.mkfifo(tree / "pipe.jws")
    shut = tree / "shut"
    shut.mkdir(mode=0)
    try:
        found = of(tree, tmp_path)
    finally:
        shut.chmod(0o700)
    assert found.audits[0].evidence.walks == 1
    assert "link, not followed" in why(found, "/loop")
    assert "link, not followed" in why(found, "out.jws")
    assert "no plain file" in why(found, "pipe.jws")
    if os.geteuid() != 0:  # nothing is shut to root
        assert "cannot be read" in why(found, "shut")


def test_names_that_are_no_text(tmp_path: Path) -> None:
    tree = tmp_path / "tree"
    name = os.fsdecode(b"truck-\xff\xfe\n<b>")
    put(tree, f"{name}/record.jws", good())
    put(tree, f"{name}/odd.txt", b"")
    found = of(tree, tmp_path)
    assert found.audits[0].evidence.walks == 1
    assert "\\xff" in found.listed[0].path


def test_two_records_with_one_id_are_both_shown(tmp_path: Path) -> None:
    tree = tmp_path / "tree"
    put(tree, "a/record.jws", good("one", id="same"))
    put(tree, "b/record.jws", good("two", id="same"))
    put(tree, "copy-of-a/record.jws", good("one", id="same"))
    found = of(tree, tmp_path)
    (look,) = [look for look in found.looks if look.sort == "doubles"]
    assert len(look.walks) == 2
    assert {Path(found.refs[walk].path).parent.name for walk in look.walks} == {"a", "b"}
    assert found.looked == {"trusted": 3}


def test_a_walk_stopped_and_gone_on_with_is_one_walk(tmp_path: Path) -> None:
    tree = tmp_path / "tree"
    put(tree, "a/stopped.jws", good("stopped", id="same", ended="stopped"))
    put(tree, "a/record.jws", good("whole", id="same"))
    found = of(tree, tmp_path)
    assert found.audits[0].evidence.walks == 1
    assert found.looks == []


def test_a_damaged_journal_leaves_the_record_standing(tmp_path: Path) -> None:
    tree = tmp_path / "tree"
    material = material_of("straight-truck", "demo-truck", ("CA-ON",))
    journal, record = walked(material, key_of(0))
    put(tree, "whole/record.jws", record)
    put(tree, "whole/journal.jsonl", journal)
    whole = of(tree, tmp_path)
    assert (whole.audits[0].evidence.walks, whole.audits[0].evidence.untimed) == (1, 0)
    assert whole.looks == []
    put(tree, "whole/journal.jsonl", journal.replace(b"psi", b"bar", 1))
    damaged = audited(tree, tmp_path / "other", trust_of(1))
    assert (damaged.audits[0].evidence.walks, damaged.audits[0].evidence.untimed) == (1, 1)
    assert "was changed" in why(damaged, "journal.jsonl")


def test_a_journal_without_a_record_is_shown_as_unfinished(tmp_path: Path) -> None:
    tree = tmp_path / "tree"
    material = material_of("straight-truck", "demo-truck", ("CA-ON",))
    journal, _ = walked(material, key_of(0))
    lines = journal.splitlines(keepends=True)
    put(tree, "begun/journal.jsonl", b"".join(lines[:40]) + lines[40][:30])
    found = of(tree, tmp_path)
    assert found.looked == {"unfinished": 1}
    assert found.audits[0].evidence.walks == 0
    assert [ref.who for ref in found.audits[0].shown.unfinished] == ["driver 0"]


def test_practice_and_simulated_walks_stand_apart(tmp_path: Path) -> None:
    tree = tmp_path / "tree"
    put(tree, "real/record.jws", good("real"))
    payload = variant(template(), {}, id="practice", walk="practice")
    put(tree, "practice/record.jws", signed(payload, key_of(0), WalkKind.PRACTICE))
    found = of(tree, tmp_path)
    assert found.looked == {"not trusted": 1, "trusted": 1}  # the key is for real walks only
    assert [audit.kind for audit in found.audits] == [KIND]


def test_a_missing_root_says_so(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="check the path"):
        of(tmp_path / "nowhere", tmp_path)


@pytest.mark.parametrize(
    ("record", "wanted"),
    [
        ("/x/walks/a/record.jws", "./a/record.jws"),
        ("/x/other/record.jws", "../other/record.jws"),
        ("/x/walks/javascript:alert(1)/record.jws", "./javascript%3Aalert%281%29/record.jws"),
        ("/x/walks/a b/<i>&\"'.jws", "./a%20b/%3Ci%3E%26%22%27.jws"),
        (os.fsdecode(b"/x/walks/\xff.jws"), "./%FF.jws"),
    ],
)
def test_an_address_is_always_relative_and_has_no_scheme(record: str, wanted: str) -> None:
    assert address(record, Path("/x/walks")) == wanted


def test_long_and_odd_paths_are_shown_in_one_piece() -> None:
    assert len(shown("x" * 5000)) == 303
    assert shown(os.fsdecode(b"\xff")) == "\\xff"


def test_practice_by_a_key_trusted_for_it_is_audited_apart(tmp_path: Path) -> None:
    tree = tmp_path / "tree"
    put(tree, "real/record.jws", good("real"))
    payload = variant(template(), {}, id="practice", walk="practice")
    payload["key"] = key_of(0).public.jwk()
    put(tree, "practice/record.jws", signed(payload, key_of(0), WalkKind.PRACTICE))
    scope = (WalkKind.WALK, WalkKind.PRACTICE)
    trust = TrustList((TrustedKey(key_of(0).public, scope, "driver 0", ""),))
    found = audited(tree, tmp_path / "cache", trust)
    assert [(audit.kind, audit.evidence.walks) for audit in found.audits] == [
        (WalkKind.WALK, 1),
        (WalkKind.PRACTICE, 1),
    ]


def test_another_order_is_shown_and_is_no_look(tmp_path: Path) -> None:
    """Looking round and the vehicle's facts change places: moved, and nothing else."""
    tree = tmp_path / "tree"
    payload = variant(template(), {}, id="other")
    payload["key"] = key_of(0).public.jwk()
    steps = {body["id"]: body for body in payload["steps"]}
    one, other = (steps[name]["answers"][0] for name in ("nobody-near", "vehicle-facts"))
    one["seq"], other["seq"] = other["seq"], one["seq"]
    put(tree, "a/record.jws", signed(payload, key_of(0)))
    found = of(tree, tmp_path)
    (row,) = found.audits[0].evidence.elsewhere
    assert row.step in ("nobody-near", "vehicle-facts")
    assert (row.how, row.times) == ("moved", 1)
    assert found.looks == []


ODD = (
    "1e308 psi", "9" * 400 + " psi", "0.5 psi", "\u0661\u0662 psi", "1_0 psi",
    "5 psi, 1e400 psi", "7 furlongs",
)  # fmt: skip


def test_odd_numbers_by_a_trusted_key_stop_nothing(tmp_path: Path) -> None:
    """Whoever holds a trusted key can write any text that is well formed."""
    tree = tmp_path / "tree"
    began = ("9999-12-31T23:59:59Z", "0001-01-01T00:00:00Z", "yesterday", "2026-01-01T00:00:00Z")
    for number in range(28):
        odd = ODD[number % len(ODD)]
        payload = variant(
            template(), {}, id=f"odd {number}", began=began[number % 4], duration="1e308 s"
        )
        payload["key"] = key_of(0).public.jwk()
        payload.update(interruptions=2**53 - 1)
        for step in payload["steps"]:
            for answer in step.get("answers", ()):
                answer["said"] = odd if answer["said"][:1].isdigit() else answer["said"]
                if "points" in answer:
                    answer["points"] = [[2**53 - 1, odd], [0, odd]]
            for verdict in step.get("verdicts", ()):
                verdict["value"] = odd
        put(tree, f"{number}/record.jws", signed(payload, key_of(0)))
    found = of(tree, tmp_path)
    assert found.audits[0].evidence.walks == 28
    assert found.looked == {"trusted": 28}
