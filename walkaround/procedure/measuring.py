"""What judging needs of the vehicle and its gauges, out of the profile and the rule book."""

from __future__ import annotations

from walkaround.air.measured import GaugeFacts
from walkaround.air.plausible import Bounds
from walkaround.air.reservoir import chamber_volume, required_volume, volume_ratio
from walkaround.procedure.profile import Profile
from walkaround.quantity import Quantity, Unit, from_base
from walkaround.rules.book import RuleBook
from walkaround.rules.model import Vehicle

TANKS = "tank-volume"
"""The fact of a vehicle that says how much its compressor fills."""
_TOWING = ("supply", "primary", "secondary")


def gauge_facts(book: RuleBook, accuracy: Quantity | None = None) -> GaugeFacts:
    """What readings are taken with, from the book's constants. Raises KeyError without them.

    `accuracy` is the gauge's own error where it is to be counted.
    """
    sizes = {name: constant.value for name, constant in book.constants.items()}
    return GaugeFacts(
        needle=sizes["needle-step"],
        timing=sizes["interval-timing"],
        accuracy=accuracy,
        length=sizes.get("length-step"),
        temperature=sizes.get("temperature-step"),
    )


def vehicle_of(profile: Profile, book: RuleBook) -> Vehicle:
    """The facts of a profile that decide which rule holds and what its limit is a share of.

    The reservoir ratio of FMVSS 121 S5.1.1 is formed from the power unit's supply and
    service reservoirs and its own chambers; not when a combination's profile does not say
    which brakes are the trailers'.
    """
    facts = dict(profile.sizes)
    tanks = _tanks(profile)
    if tanks is not None:
        facts[TANKS] = tanks
    ratio = _ratio(profile, book)
    if ratio is not None:
        facts["volume-ratio"] = ratio
    return Vehicle(
        kind=profile.kind,
        units=profile.units,
        built=profile.built,
        circuits=int(profile.chosen["circuits"]),
        facts=facts,
        chambers={brake.at: brake.chamber for brake in profile.brakes},
    )


def _tanks(profile: Profile) -> Quantity | None:
    """The power unit's supply and service reservoirs; None when one of them is not known."""
    tanks = [profile.reservoirs[name] for name in _TOWING if name in profile.reservoirs]
    if len(tanks) < len(_TOWING):
        return None
    return from_base(sum((tank.base for tank in tanks), tanks[0].base * 0), Unit.CUBIC_INCH)


def _ratio(profile: Profile, book: RuleBook) -> Quantity | None:
    actual = _tanks(profile)
    chambers = [brake.chamber for brake in profile.brakes if brake.unit == 1]
    factor = book.constants.get("truck-reservoir-factor")
    mixed = profile.units > 1 and len(chambers) == len(profile.brakes)
    if mixed or actual is None or factor is None:
        return None
    if any(chamber not in book.chamber_volumes for chamber in chambers):
        return None
    required = required_volume(chamber_volume(chambers, book.chamber_volumes), factor.value)
    return volume_ratio(actual, required)


def bounds_of(book: RuleBook, vehicle: Vehicle, gauge: GaugeFacts) -> Bounds:
    """What readings are held against to be believed; what the book does not give is not looked
    at."""
    sizes = {name: constant.value for name, constant in book.constants.items()}
    return Bounds(
        needle=gauge.needle,
        apart=sizes.get("circuits-apart"),
        flow=sizes.get("compressor-most"),
        volume=vehicle.facts.get(TANKS),
        atmosphere=sizes.get("atmosphere"),
    )
