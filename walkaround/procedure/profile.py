"""The vehicle's profile: what the script must know of it to ask the right things.

Its facts are a table, so that a new fact is a new row.  `Profile.facts` is what `when:` in
a script is held against.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction

from walkaround.errors import ProfileError
from walkaround.quantity import Kind, Quantity, Unit, from_base, quantity
from walkaround.sheet import Reader, read_sheet

KINDS = ("truck", "tractor", "bus")
GAUGE_UNITS = (Unit.PSI, Unit.KPA, Unit.BAR)
_YES_NO = ("yes", "no")
_COUNTS = ("0", "1", "2")

_CHOICES: Mapping[str, tuple[tuple[str, ...], str]] = {
    "trailers": (_COUNTS, "0"),
    "dolly": (_YES_NO, "no"),
    "circuits": (("1", "2"), "2"),
    "compressor": (("belt", "gear"), "gear"),
    "cooling": (("air", "coolant"), "coolant"),
    "dryer": (("separate", "integrated", "none"), "separate"),
    "hand-valve": (_YES_NO, "no"),
    "trailer-springs": (_YES_NO, "yes"),
    "adjusters": (("automatic", "manual"), "automatic"),
    "thermometer": (_YES_NO, "no"),
    "lengths": (("in", "mm"), "in"),
    "temperatures": (("C", "F"), "F"),
}
"""Facts with a closed set of values: name -> (values, what holds when it is not said)."""

ACCESSORIES = ("horn", "seat", "suspension", "doors", "kneeling", "wipers", "fan")

FACTS: Mapping[str, tuple[str, ...]] = {
    **{name: values for name, (values, _) in _CHOICES.items()},
    "kind": KINDS,
    "gauge": tuple(str(unit) for unit in GAUGE_UNITS),
    "accessories": ACCESSORIES,
    "belt-width": ("known", "unknown"),
    "cut-out": ("known", "unknown"),
    "pressure-most": ("known", "unknown"),
}
"""Every fact that a script may ask for under `when`, with the values it can have."""

_LONGEST_NAME = 80
_MOST_BRAKES = 60
_FIRST_YEAR, _LAST_YEAR = 1930, 2100
_LARGEST_GAUGE = "300 psi"  # common practice, no source: gauges in cabs end at 150 or 200 psi

_SIZES = {
    "belt-width": Kind.LENGTH,
    "cut-out": Kind.PRESSURE,  # where the governor stops the compressor
    "pressure-most": Kind.PRESSURE,  # the maker's maximum operating pressure
}
"""Sizes that a profile may tell; what it does not tell is not supposed."""
_TOLD = ("belt-width", "cut-out", "pressure-most")
_SHARE = Fraction(8, 10)  # of the cut-out, to which Western Australia times: r. 334(1)(a)
RESERVOIRS = ("supply", "primary", "secondary", "trailer-1", "trailer-2")


@dataclass(frozen=True, slots=True)
class Brake:
    """One wheel brake: where it is and its chamber, as `clamp 30` or `clamp 30 long`."""

    at: str  # "axle-2-left"
    chamber: str
    unit: int = 1  # 1: the power unit; 2 and 3: the trailers, a dolly counted with what follows

    @property
    def spoken(self) -> str:
        """`axle 2 left, clamp 30 long`."""
        return f"{self.at.replace('-', ' ')}, {self.chamber}"


@dataclass(frozen=True, slots=True)
class Profile:
    """A vehicle, or a combination of vehicles, as its carrier describes it."""

    name: str
    kind: str
    gauge: Unit
    gauge_most: Decimal  # what the gauge can show, in its unit
    brakes: tuple[Brake, ...]
    chosen: Mapping[str, str]  # the facts of `_CHOICES`
    accessories: tuple[str, ...] = ()
    built: date | None = None
    sizes: Mapping[str, Quantity] = field(default_factory=dict)  # belt-width, cut-out ...
    reservoirs: Mapping[str, Quantity] = field(default_factory=dict)

    @property
    def units(self) -> int:
        """Vehicles in the combination: 1 for a single one."""
        return 1 + int(self.chosen["trailers"])

    @property
    def dual(self) -> bool:
        return self.chosen["circuits"] == "2"

    @property
    def length_unit(self) -> Unit:
        return Unit.INCH if self.chosen["lengths"] == "in" else Unit.MILLIMETRE

    @property
    def temperature_unit(self) -> Unit:
        return Unit.CELSIUS if self.chosen["temperatures"] == "C" else Unit.FAHRENHEIT

    def facts(self) -> dict[str, tuple[str, ...]]:
        """Fact -> its values, for `when:`."""
        facts: dict[str, tuple[str, ...]] = {name: (value,) for name, value in self.chosen.items()}
        facts["kind"] = (self.kind,)
        facts["gauge"] = (str(self.gauge),)
        facts["accessories"] = self.accessories
        for name in _TOLD:
            facts[name] = ("known" if name in self.sizes else "unknown",)
        return facts

    def marks(self) -> dict[str, str]:
        """Pressures of this vehicle that a prompt may name, on its own gauge: `{share}` of the
        cut-out, never less than it, and `{most}`.  Those that are not told are not there."""
        step = Decimal("0.1") if self.gauge is Unit.BAR else Decimal(1)
        found = {}
        for name, fact, part in (("share", "cut-out", _SHARE), ("most", "pressure-most", 1)):
            if fact in self.sizes:
                exact = from_base(self.sizes[fact].base * part, self.gauge).value
                steps = (exact / step).to_integral_value(rounding=ROUND_CEILING)
                found[name] = f"{steps * step} {self.gauge}"
        return found


def load_profile(content: bytes, file: str) -> Profile:
    """Read a profile. Raises ProfileError naming file, line and key."""
    reader = Reader(read_sheet(content, file, ProfileError), ProfileError, "vehicle profile")
    kind = reader.choice("kind", KINDS)
    chosen = {name: reader.choice(name, *row) for name, row in _CHOICES.items()}
    most = _size(reader, "gauge-most", Kind.PRESSURE, reader.text("gauge-most"))
    profile = Profile(
        name=reader.text("name"),
        kind=kind,
        gauge=most.unit,
        gauge_most=most.value,
        brakes=_brakes(reader),
        chosen=chosen,
        accessories=reader.texts("accessories"),
        built=_date(reader),
        sizes={
            key: _size(reader, key, quantity_kind, text)
            for key, quantity_kind in _SIZES.items()
            if (text := reader.text(key, ""))
        },
        reservoirs=_reservoirs(reader),
    )
    reader.done()
    _check(reader, profile)
    _check_sense(reader, profile)
    return profile


def _check_sense(reader: Reader, profile: Profile) -> None:
    """What no vehicle is, and what no terminal should be sent."""
    if not profile.name.isprintable() or len(profile.name) > _LONGEST_NAME:
        raise reader.fail(f"'name' is a line of at most {_LONGEST_NAME} plain letters", "name")
    if profile.built is not None and not _FIRST_YEAR <= profile.built.year <= _LAST_YEAR:
        raise reader.fail(f"'built: {profile.built}' is no year of a vehicle; correct it", "built")
    if Quantity(profile.gauge_most, profile.gauge).base > quantity(_LARGEST_GAUGE).base:
        raise reader.fail(
            f"no air gauge of a vehicle shows more than {_LARGEST_GAUGE}; write what is printed at "
            "the end of its scale",
            "gauge-most",
        )


def _check(reader: Reader, profile: Profile) -> None:
    trailers = profile.units - 1
    if profile.gauge not in GAUGE_UNITS or profile.gauge_most <= 0:
        raise reader.fail(
            "'gauge-most' must be in psi, kPa or bar, such as '150 psi'", "gauge-most"
        )
    if profile.kind == "tractor" and not trailers:
        raise reader.fail("a tractor needs 'trailers: 1' or 'trailers: 2'", "trailers")
    if profile.kind != "tractor" and trailers:
        raise reader.fail(f"a {profile.kind} has no trailers here; use kind: tractor", "trailers")
    for accessory in profile.accessories:
        if accessory not in ACCESSORIES:
            raise reader.fail(
                f"'{accessory}' is not among the accessories {', '.join(ACCESSORIES)}",
                "accessories",
            )
    if max(brake.unit for brake in profile.brakes) > profile.units:
        raise reader.fail(
            f"a brake is on a unit that is not there; there are {profile.units}", "brakes"
        )
    if profile.chosen["dolly"] == "yes" and trailers < 2:
        raise reader.fail("a dolly stands between two trailers", "dolly")


def _brakes(reader: Reader) -> tuple[Brake, ...]:
    brakes = []
    rows = reader.rows("brakes")
    if len(rows) > _MOST_BRAKES:
        raise reader.fail(f"{len(rows)} brakes are more than any vehicle has; correct it", "brakes")
    for row in rows:
        inner = Reader(row, ProfileError, "brake")
        unit = inner.choice("unit", ("1", "2", "3"), "1")
        brakes.append(Brake(inner.text("at"), inner.text("chamber"), int(unit)))
        inner.done()
        if brakes[-1].at in [brake.at for brake in brakes[:-1]]:
            raise inner.fail(f"the brake '{brakes[-1].at}' stands here twice; keep one", "at")
        if not brakes[-1].at.replace("-", "").isalnum():
            raise inner.fail("'at' uses letters, digits and '-' only", "at")
    if not brakes:
        raise reader.fail("no brakes are listed; add each wheel under 'brakes'", "brakes")
    return tuple(brakes)


def _size(reader: Reader, key: str, kind: Kind, text: str) -> Quantity:
    try:
        size = quantity(text)
    except ValueError as bad:
        raise reader.fail(f"'{key}': {bad}", key) from None
    if size.kind is not kind:
        raise reader.fail(f"'{key}: {text}' is not a {kind}", key)
    return size


def _date(reader: Reader) -> date | None:
    text = reader.text("built", "")
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise reader.fail(f"'built: {text}' must look like 2016-05-31", "built") from None


def _reservoirs(reader: Reader) -> dict[str, Quantity]:
    table = reader.table_at("reservoirs")
    if table is None:
        return {}
    inner = Reader(table, ProfileError, "reservoirs")
    sizes = {
        name: _size(inner, name, Kind.VOLUME, text)
        for name in RESERVOIRS
        if (text := inner.text(name, ""))
    }
    inner.done()
    return sizes


__all__ = ["FACTS", "GAUGE_UNITS", "KINDS", "Brake", "Profile", "load_profile"]
