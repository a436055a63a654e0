"""A person's own script is looked through before anybody walks by it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.walks.stories import library
from walkaround.cli.material import Files, files_from_library, load
from walkaround.devices.library import Origin
from walkaround.errors import ScriptError


def _acts_of_my_own(was: str, now: str) -> Files:
    files = files_from_library(library(), "straight-truck", "demo-truck")
    ours = files["acts"]["acts"]
    text = ours.content.decode()
    assert was in text
    mine = replace(ours, content=text.replace(was, now).encode(), origin=Origin.USER)
    return {**files, "acts": {**files["acts"], "acts": mine}}


def test_one_that_leaves_a_caution_out_is_refused() -> None:
    caution = "    caution: Chocks in place, foot on the pedal?\n"
    with pytest.raises(ScriptError, match="releases the parking brakes") as caught:
        load(_acts_of_my_own(caution, ""), "straight-truck", ("CA-ON",))
    assert caught.value.exit_code == 11


def test_one_that_says_it_in_other_words_is_walked_by() -> None:
    own = _acts_of_my_own("title: Key on\n", "title: Turn the key\n")
    assert load(own, "straight-truck", ("CA-ON",)).plan.step("key-on").title == "Turn the key"
