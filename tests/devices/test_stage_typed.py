"""The typed stage on a real pipe and the real clock: order and shape, no exact times."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator

import pytest

from tests.devices.hearing import PRESSURE, YES_NO
from tests.speech.books import ROOT, english
from walkaround.devices.agenda import Agenda
from walkaround.devices.stage_typed import TypedStage
from walkaround.exchange import StayedQuiet, TimeReached, ToneKind
from walkaround.speech.ports import Closed, Transcript


class Desk:
    """A keyboard made of a pipe, and a screen made of a list."""

    def __init__(self) -> None:
        source, self._keys = os.pipe()
        self.screen: list[str] = []
        self.stage = TypedStage(self.screen.append, source)

    def type(self, text: bytes) -> None:
        os.write(self._keys, text)

    def hang_up(self) -> None:
        os.close(self._keys)


@pytest.fixture
def desk() -> Iterator[Desk]:
    desk = Desk()
    yield desk
    desk.stage.close()


def test_a_line_is_an_answer_to_the_open_question(desk: Desk) -> None:
    desk.stage.listen(PRESSURE, (), None)
    desk.type(b"105 psi\n")
    heard = desk.stage.next()
    assert isinstance(heard, Transcript)
    assert (heard.question, heard.text, heard.typed) == (PRESSURE.id, "105 psi", True)
    assert 0 <= heard.onset_ms <= heard.arrived_ms <= desk.stage.now_ms()


def test_lines_keep_their_order_and_blank_ones_are_nothing(desk: Desk) -> None:
    desk.stage.listen(YES_NO, (), None)
    desk.type(b"\n  \nyes\nno\nwa")
    desk.type(b"it\r\n")
    said = [desk.stage.next() for _ in range(3)]
    assert [one.text for one in said if isinstance(one, Transcript)] == ["yes", "no", "wait"]


def test_the_end_of_input_is_closed_for_good(desk: Desk) -> None:
    desk.stage.listen(YES_NO, (), None)
    desk.type(b"yes")  # no newline: the terminal goes away in the middle of a line
    desk.hang_up()
    assert isinstance(desk.stage.next(), Transcript)
    assert isinstance(desk.stage.next(), Closed)
    assert isinstance(desk.stage.next(), Closed)


def test_timers_come_in_their_order_and_can_be_cancelled(desk: Desk) -> None:
    now = desk.stage.now_ms()
    desk.stage.wake_at(now + 60, "late")
    desk.stage.wake_at(now + 20, "soon")
    desk.stage.wake_at(now + 40, "never")
    desk.stage.cancel_wake("never")
    got = [one for one in (desk.stage.next(), desk.stage.next()) if isinstance(one, TimeReached)]
    assert [(one.timer, one.occurred_ms) for one in got] == [("soon", now + 20), ("late", now + 60)]
    assert desk.stage.now_ms() >= now + 60


def test_quiet_is_told_once_and_an_answer_ends_it(desk: Desk) -> None:
    desk.stage.listen(YES_NO, (), 20)
    quiet = desk.stage.next()
    assert isinstance(quiet, StayedQuiet)
    assert quiet.question == YES_NO.id
    desk.stage.listen(YES_NO, (), 10_000)
    desk.type(b"yes\n")
    assert isinstance(desk.stage.next(), Transcript)
    desk.stage.wake_at(desk.stage.now_ms() + 10, "timer")
    assert isinstance(desk.stage.next(), TimeReached)


def test_prompts_and_tones_are_printed(desk: Desk) -> None:
    desk.stage.say((), ["Set the parking brake.", "Say yes or no."])
    desk.stage.tone(ToneKind.HOLD_BEGINS)
    desk.stage.tone(ToneKind.HEARD)
    assert desk.screen == ["Set the parking brake.", "Say yes or no.", "(the hold begins)"]


def test_a_line_that_was_no_answer_brings_what_may_be_typed(desk: Desk) -> None:
    desk.stage.listen(YES_NO, (), None)
    assert desk.screen == []
    desk.type(b"yeah\n")
    desk.stage.next()
    desk.stage.listen(YES_NO, (), None)
    assert desk.screen[-1].startswith("(type yes or no; or repeat, help")
    desk.type(b"yes\n")
    desk.stage.next()
    desk.stage.listen(PRESSURE, (), None)
    assert len(desk.screen) == 1
    desk.type(b"lots\n")
    desk.stage.next()
    desk.stage.listen(PRESSURE, (), None)
    assert "a number, such as 105" in desk.screen[-1]


def test_every_command_is_among_what_may_be_typed(desk: Desk) -> None:
    desk.stage.listen(YES_NO, (), None)
    desk.type(b"yeah\n")
    desk.stage.next()
    desk.stage.listen(YES_NO, (), None)
    hint = desk.screen[-1].partition("; or ")[2].rstrip(")")
    readme = (ROOT / "README.md").read_text(encoding="utf-8").replace("\n", " ")
    told = re.search(r"Say \*\*(.*?) at any time", readme)
    assert told is not None
    for command, said in english().commands.items():
        assert set(hint.split(", ")) & set(said), command
        assert set(re.split(r", |\*\* or \*\*|\*\*", told[1])) & set(said), command


def test_what_is_no_text_does_not_break_it(desk: Desk) -> None:
    desk.stage.listen(YES_NO, (), None)
    desk.type(b"\xff\xfe\n" + b"x" * 50_000 + b"\nyes\n")
    said = [desk.stage.next() for _ in range(3)]
    assert isinstance(said[1], Transcript)
    assert len(said[1].text) <= 1000
    assert isinstance(said[2], Transcript)
    assert said[2].text == "yes"


def test_an_agenda_gives_the_earliest_first() -> None:
    agenda = Agenda()
    agenda.wake_at(100, "a")
    agenda.quiet_at(50, "q")
    agenda.wake_at(10, "b")
    assert agenda.due(5) is None
    assert agenda.wait_s(5) == pytest.approx(0.005)
    assert agenda.due(200) == TimeReached("b", 10, 200)
    assert agenda.due(200) == StayedQuiet("q", 50, 200)
    assert agenda.due(200) == TimeReached("a", 100, 200)
    assert agenda.due(200) is None
    assert agenda.wait_s(200, 7.0) == 7.0
