"""Parts of the documents that are made from the program: `python -m tests.architecture.documents`
writes them anew, and a test compares."""

from __future__ import annotations

import re
from pathlib import Path

from tests.walks.stories import GOLDEN
from walkaround.engine.diagram import mermaid

ROOT = Path(__file__).resolve().parents[2]
_WHO = {"prompt": "  ", "driver": "> ", "tone": "~ "}
_TO = 24


def between(name: str, part: str, text: str) -> str:
    """The document with what stands between `name:begin` and `name:end` replaced."""
    pattern = re.compile(rf"(<!-- {name}:begin -->\n).*?(<!-- {name}:end -->)", re.DOTALL)
    assert pattern.search(text), f"the marks of '{name}' are gone"
    return pattern.sub(lambda found: found[1] + part + found[2], text)


def walk_excerpt() -> str:
    """A piece of a golden walk, as the demo prints it."""
    golden = (GOLDEN / "straight-truck-in-ontario.txt").read_text(encoding="utf-8").splitlines()
    start = next(i for i, line in enumerate(golden) if "Hold the pedal hard" in line) - 1
    lines = [line.split(maxsplit=2) for line in golden[start : start + _TO]]
    shown = [f"{at}  {_WHO[who]}{words}" for at, who, words in lines]
    return "```\n" + "\n".join(shown) + "\n```\n"


def readme(text: str) -> str:
    return between("walk", walk_excerpt(), text)


def developers(text: str) -> str:
    return between("diagram", f"```mermaid\n{mermaid()}\n```\n", text)


MADE = {"README.md": readme, "DEVELOPERS.md": developers}


def main() -> None:
    for name, make in MADE.items():
        path = ROOT / name
        path.write_text(make(path.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main()
