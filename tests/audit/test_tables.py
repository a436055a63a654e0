"""The exported tables: as documented, as written, as other tools read them; and the command."""

from __future__ import annotations

import csv
import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import duckdb
import pytest

from tests.audit.fleets import (
    Fleet,
    key_of,
    leaves_out,
    material_of,
    signed,
    template,
    trust_of,
    variant,
    walked,
)
from walkaround.audit.tables import LOOKS, TABLES, Column
from walkaround.cli import main
from walkaround.devices.keys import KeyStore
from walkaround.records.signature import WalkKind
from walkaround.records.trust import TrustedKey, TrustList, serialise_trust

ROOT = Path(__file__).resolve().parents[2]
README = ROOT / "walkaround" / "audit" / "README.md"


def asked(query: str) -> list[Any]:
    """The rows of a question to exported files, put by an engine of our own."""
    return duckdb.connect().execute(query).fetchall()


def documented() -> dict[str, list[tuple[str, str, str]]]:
    """Table -> (column, holds, says) of the room's README."""
    tables: dict[str, list[tuple[str, str, str]]] = {}
    name = ""
    for line in README.read_text().splitlines():
        if heading := re.fullmatch(r"### `(\w+)`", line):
            name = heading[1]
            tables[name] = []
        elif name and (row := re.fullmatch(r"\| `(\w+)` \| ([a-z ]+) \| (.+) \|", line)):
            tables[name].append((row[1], row[2], row[3]))
    return tables


def as_written(columns: tuple[Column, ...]) -> list[tuple[str, str, str]]:
    return [(column.name, column.holds.value, column.says) for column in columns]


def test_the_schema_is_documented_column_by_column() -> None:
    wanted = {name: as_written(columns) for name, columns in TABLES.items()}
    assert documented() == {**wanted, "looks": as_written(LOOKS)}


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    """A small fleet with its trust list beside it."""
    walks = Fleet(habits={0: leaves_out("leak-applied")}, drivers=7, walks=12)
    trust = walks.write(tmp_path / "tree")
    (tmp_path / "trust.jsonl").write_bytes(serialise_trust(trust))
    return tmp_path


def audit(folder: Path, *more: str) -> int:
    return main(
        [
            "audit",
            str(folder / "tree"),
            "--trust",
            str(folder / "trust.jsonl"),
            "--cache",
            str(folder / "cache"),
            "--page",
            str(folder / "audit.html"),
            "--processes",
            "1",
            *more,
        ]
    )


def test_parquet_and_csv_hold_the_same(fleet: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert audit(fleet, "--export", str(fleet / "out")) == 0
    assert "84 walk" in capsys.readouterr().out
    for name, columns in {**TABLES, "looks": LOOKS}.items():
        described = asked(f"DESCRIBE SELECT * FROM '{fleet}/out/{name}.parquet'")
        assert [row[0] for row in described] == [column.name for column in columns]
        with (fleet / "out" / f"{name}.csv").open(newline="") as file:
            rows = list(csv.reader(file))
        assert rows[0] == [column.name for column in columns]
        ((count,),) = asked(f"SELECT count(*) FROM '{fleet}/out/{name}.parquet'")
        assert len(rows) - 1 == count
    walks = asked(f"SELECT kind, who FROM '{fleet}/out/walks.parquet'")
    assert {(kind, who[:7]) for kind, who in walks} == {("walk", "driver ")}


def test_a_reading_is_exported_as_it_was_said(tmp_path: Path) -> None:
    told = {"cut-in.reading": "103 psi, 105 psi", "build-up": "31.25 s"}
    payload = variant(template(), told, id="one")
    payload["key"] = key_of(0).public.jwk()
    (tmp_path / "tree").mkdir()
    (tmp_path / "tree" / "record.jws").write_bytes(signed(payload, key_of(0)))
    (tmp_path / "trust.jsonl").write_bytes(serialise_trust(trust_of(1)))
    audit(tmp_path, "--export", str(tmp_path / "out"))
    row = asked(
        f"SELECT value, second, unit FROM '{tmp_path}/out/readings.parquet' "
        "WHERE question = 'cut-in.reading'"
    )
    assert row == [(103.0, 105.0, "psi")]
    built = asked(
        f"SELECT DISTINCT value, unit FROM '{tmp_path}/out/verdicts.parquet' "
        "WHERE measure = 'build-up'"
    )
    assert built == [(31.25, "s")]
    seen = asked(
        f"SELECT value FROM '{tmp_path}/out/verdicts.parquet' WHERE measure = 'seen-lines'"
    )
    assert {value for (value,) in seen} == {None}


def test_the_page_is_written_and_links_to_the_records(fleet: Path) -> None:
    assert audit(fleet) == 0
    page = (fleet / "audit.html").read_text()
    links = re.findall(r'href="(\./[^"]+)"', page)
    assert links
    for link in links:
        assert (fleet / link).is_file()


def test_step_times_come_from_the_journals(tmp_path: Path) -> None:
    """Each step's time is between nothing and the walk's, and the holds are a minute."""
    journal, record = walked(material_of("bus", "demo-bus", ("US",)), key_of(0))
    (tmp_path / "tree").mkdir()
    (tmp_path / "tree" / "record.jws").write_bytes(record)
    (tmp_path / "tree" / "journal.jsonl").write_bytes(journal)
    (tmp_path / "trust.jsonl").write_bytes(serialise_trust(trust_of(1)))
    audit(tmp_path, "--export", str(tmp_path / "out"))
    steps = asked(f"SELECT step, took_s FROM '{tmp_path}/out/steps.parquet' WHERE NOT act")
    took = dict(steps)
    assert all(seconds > 0 for seconds in took.values())
    assert 60 <= took["leak-applied"] <= 180
    ((total,),) = asked(f"SELECT took_s FROM '{tmp_path}/out/walks.parquet'")
    assert sum(took.values()) <= total


# ---------------------------------------------------------------- the command itself


def command(home: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own, with a home of its own."""
    environment = {
        **os.environ,
        "HOME": str(home),
        "XDG_CONFIG_HOME": str(home / "config"),
        "XDG_CACHE_HOME": str(home / "cache"),
        "PYTHONPATH": str(ROOT),
    }
    return subprocess.run(
        [sys.executable, "-m", "walkaround.cli", *words],
        env=environment, cwd=home, capture_output=True, text=True, check=False,
    )  # fmt: skip


def test_countersigning_and_what_verify_then_says(tmp_path: Path) -> None:
    """A trainer's own device signs over a driver's record; verify shows both."""
    record = tmp_path / "walk" / "record.jws"
    record.parent.mkdir()
    payload = variant(template(), {}, id="one")
    payload["key"] = key_of(0).public.jwk()
    record.write_bytes(signed(payload, key_of(0)))
    store = KeyStore(tmp_path / "config" / "walkaround")
    store.key(WalkKind.WALK)
    driver = TrustedKey(key_of(0).public, (WalkKind.WALK,), "driver 0", "")
    store.save_trust(TrustList((*store.trust().entries, driver)))

    gap = command(tmp_path, "verify", str(record))
    assert gap.returncode == 0
    assert "it is countersigned: no countersignature was given" in gap.stdout
    bare = command(tmp_path, "audit", "--countersign", str(record))
    assert bare.returncode == 2 and "--remarks" in bare.stderr
    words = ("--remarks", "Strokes were called too fast.", "--signer", "T. Rainer")
    done = command(tmp_path, "audit", "--countersign", str(record), *words)
    assert done.returncode == 0, done.stderr
    both = command(tmp_path, "verify", str(record))
    assert both.returncode == 0, both.stdout
    assert "T. Rainer" in both.stdout and "Strokes were called too fast." in both.stdout

    found = command(tmp_path, "audit", "walk", "--page", "audit.html", "--processes", "1")
    assert found.returncode == 0, found.stderr
    page = (tmp_path / "audit.html").read_text()
    assert "Strokes were called too fast." in page
    assert "0 of 1 walks have no countersignature" in page

    signature = record.parent / "countersignature-1.jws"
    line = bytearray(signature.read_bytes())
    line[-3] ^= 1
    signature.write_bytes(bytes(line))
    spoiled = command(tmp_path, "verify", str(record), "--brief")
    assert spoiled.returncode == 0
    assert "not checked: " in spoiled.stdout and "it is countersigned" in spoiled.stdout
    assert "countersignature-1.jws: NOT COUNTED, it could not be read" in spoiled.stdout


def test_a_record_that_was_changed_is_not_countersigned(tmp_path: Path) -> None:
    record = tmp_path / "record.jws"
    line = bytearray(signed(json.loads(template()), key_of(0)))
    line[-3] ^= 1
    record.write_bytes(bytes(line))
    done = command(tmp_path, "audit", "--countersign", str(record), "--remarks", "fine")
    assert done.returncode == 21
    assert list(tmp_path.glob("countersignature*")) == []


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["audit"], "name a folder"),
        (["audit", "nowhere"], "check the path"),
        (["audit", ".", "--processes", "0"], "1 or more"),
        (["audit", ".", "--countersign", "x"], "without other paths"),
        (["audit", ".", "--trust", "nowhere"], "check the path"),
    ],
)
def test_what_cannot_be_done_is_said_in_a_sentence(
    words: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*words, "--cache", str(tmp_path), "--page", str(tmp_path / "page.html")]) == 2
    assert said in capsys.readouterr().err
