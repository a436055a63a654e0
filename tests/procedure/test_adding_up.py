"""Springs and a pedal on the floor add up and strain the brakes: no step asks for both.

Newfoundland and Labrador's manual has the parking brake released "to prevent compounding";
Ontario's Truck Handbook 6-1-6 has the springs released first where nothing keeps them apart.
"""

from __future__ import annotations

import re

from tests.procedure.shipped import script
from walkaround.exchange import Wording
from walkaround.procedure.script import ALWAYS, Card
from walkaround.procedure.wording import cards_of

_PRESSED = re.compile(r"pedal (is |was |be )?(pressed|held)|(press|hold)\b.*pedal|to the floor")
_LIGHT = re.compile(r"lightly, never to the floor")


def _pressed() -> dict[str, Card]:
    cards = {
        card.id: card for name in ("tractor-trailer", "bus") for card in cards_of(script(name))
    }
    return {
        card.id: card
        for card in cards.values()
        for ask in card.asks
        if _PRESSED.search(_LIGHT.sub("", ask.texts.get(Wording.FULL, "").lower()))
    }


def test_the_steps_with_a_pressed_pedal_are_found() -> None:
    assert {"leak-applied", "stroke-applied", "service-coupling-closed"} <= set(_pressed())


def test_a_pedal_is_pressed_only_with_the_springs_off_or_while_rolling() -> None:
    for name, card in _pressed().items():
        always = {need.clause.any_of for need in card.needs if need.when == ALWAYS}
        rolling = (("chocks", ("out",)),) in always
        assert rolling or (("parking", ("released",)),) in always, name
