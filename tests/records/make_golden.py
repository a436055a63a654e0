"""Writes the golden files anew: `python -m tests.records.make_golden`.

To be run only when the format of journals or records is meant to change: records made
by earlier versions must stay readable, so keep the old files under another name then.
"""

from __future__ import annotations

from pathlib import Path

from tests.records.walk_sample import KEY, journal
from walkaround.records.journal import read_journal
from walkaround.records.signature import Paper, WalkKind, sign
from walkaround.records.summary import summarise

FOLDER = Path(__file__).parent / "golden"


def golden() -> dict[str, bytes]:
    """File name -> bytes, from a fixed key and a fixed walk."""
    content = journal(WalkKind.SIMULATED)
    summary = summarise(read_journal(content), KEY.public.jwk())
    record = sign(summary, KEY, WalkKind.SIMULATED, Paper.RECORD)
    return {"simulated.jsonl": content, "simulated.jws": record}


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, content in golden().items():
        (FOLDER / name).write_bytes(content)
