"""What a record is and what it is not, in sentences kept by id: a record names the id."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from walkaround.records.signature import WalkKind

DISCLAIMERS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "informs-1": (
            "This record informs; it does not license. It says what was read aloud, what the "
            "cited rule says about it, and what was left undecided.",
            "It does not say that the vehicle is fit for the road. That is for the driver, the "
            "carrier, a licensed mechanic and the local authority to decide.",
            "Where the vehicle maker, the carrier or the local authority asks for more or for "
            "something else, follow them. Limits change: look at the date of each citation.",
            "Chock the wheels before anything else is done. Keep clear of pushrods and spring "
            "chambers, never open a spring chamber, and wear ear and eye protection.",
        ),
    }
)

PROVES: tuple[str, ...] = (
    "The words and numbers in it are those that the device signed; none was changed since.",
    "They were written in this order, each chained to the one before.",
    "The device that signed holds the key whose thumbprint is printed here.",
)

NOT_PROVEN: tuple[str, ...] = (
    "that the readings are true: a driver can say a number that no gauge showed",
    "who spoke: a voice near the microphone answered, and nothing says whose it was",
    "which vehicle was checked: its particulars are as they were entered",
    "that the wall clock was right: it is the device's own",
    "that no other walk was made and withheld",
    "that the key was still in its owner's hands alone",
    "that the gauges were right: they may be off by several percent",
)
"""What no verification of a file can find out."""

SIGNED_LATER = (
    "SIGNED LATER: no key was at hand while walking. Until it was signed, whoever had the folder "
    "could have written its journal anew: the signature says whose key it was then, and no more."
)
"""Said right after the verdict on a record whose journal named no key."""

SOUND_NOTICE = (
    "Your answers will be recorded as sound and kept beside this record until {day}. The record "
    "holds only their hashes: the recordings can be deleted at any time and the record stays "
    "valid. Say stop now if you do not want this."
)
"""Said before a walk whose answers are recorded, which is off unless somebody asks for it."""

BANNERS: Mapping[WalkKind, str] = MappingProxyType(
    {
        WalkKind.SIMULATED: "SIMULATED: no vehicle was checked; a simulated driver spoke",
        WalkKind.PRACTICE: "PRACTICE: made to learn; it stands for no check of a vehicle",
        WalkKind.WALK: "",
    }
)
"""Said before anything else about a record."""
