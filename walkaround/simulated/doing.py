"""The small moves a driver's work is made of, as data; `hands` carries them out."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Put:
    """Set one control: a knob, a pedal, a key, a drain."""

    control: str
    value: object


@dataclass(frozen=True, slots=True)
class Take:
    """Seconds that pass while looking or walking; a person's vary by a fifth."""

    seconds: float


@dataclass(frozen=True, slots=True)
class Until:
    """Wait for something to be seen or heard, but not for ever."""

    sight: str
    most_s: float = 600.0


@dataclass(frozen=True, slots=True)
class Build:
    """As `Until` for a rising needle, pumping when the compressor rests before it is there."""

    sight: str
    most_s: float = 600.0


@dataclass(frozen=True, slots=True)
class Pump:
    """Press and release the pedal again and again until something is seen."""

    psi: float
    until: str
    most: int = 80


@dataclass(frozen=True, slots=True)
class Settle:
    """Wait until the needles stand still, as far as an eye can tell."""

    least_s: float = 4.0
    most_s: float = 120.0


@dataclass(frozen=True, slots=True)
class Throttle:
    """The engine speed that the prompt asks for."""


@dataclass(frozen=True, slots=True)
class Note:
    """Remember both needles under a name."""

    name: str


Move = Put | Take | Until | Build | Pump | Settle | Throttle | Note


@dataclass(frozen=True, slots=True)
class Row:
    """What is done at a question, and the name of what is then told."""

    does: tuple[Move, ...]
    tells: str


def row(tells: str, *does: Move) -> Row:
    return Row(does, tells)
