"""One broken rule file per mistake: one sentence with file, line and key, and exit code 12.

The first line of each file says what must be reported.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from walkaround.errors import RuleError
from walkaround.rules.load import load_rules

FOLDER = Path(__file__).parent / "broken"
GOOD = "good.yaml"
FILES = sorted(path for path in FOLDER.glob("*.yaml") if path.name != GOOD)
EXPECTED = re.compile(r"# line (\d+), key (\S+): (.*)")


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_mistake_is_named_with_file_line_and_key(path: Path) -> None:
    content = path.read_bytes()
    expected = EXPECTED.fullmatch(content.decode().splitlines()[0])
    assert expected is not None
    line, key, said = expected.groups()
    with pytest.raises(RuleError) as refused:
        load_rules({path.name: content})
    error = refused.value
    assert error.exit_code == 12
    assert said in str(error)
    assert str(error).startswith(path.name)
    assert "\n" not in str(error)
    assert error.line == int(line) or (int(line) == 0 and error.line > 0)
    assert error.key == ("" if key == "-" else key)


def test_the_same_file_without_a_mistake_is_taken() -> None:
    (rule,) = load_rules({GOOD: (FOLDER / GOOD).read_bytes()}).rules
    assert rule.id == "xx.cut-out"


def test_two_files_by_one_authority_are_refused() -> None:
    content = (FOLDER / GOOD).read_bytes()
    with pytest.raises(RuleError, match="two files are by the authority 'xx'"):
        load_rules({"one.yaml": content, "two.yaml": content})
