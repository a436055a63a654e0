"""The rule book: every authority's rules, found by place, measure and vehicle."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from rapidfuzz.distance import JaroWinkler

from walkaround.errors import PlaceError
from walkaround.quantity import Quantity
from walkaround.rules.model import Authority, Constant, Rule, Vehicle, holds

_NEAREST = 2  # how many names a refusal offers
_UNLIKE = 1 / 2 / 2  # of 1, from where on a place is too unlike to be offered


@dataclass(frozen=True, slots=True)
class RuleBook:
    """Frozen. `place_names` are all the ISO 3166 codes that may be asked for."""

    authorities: tuple[Authority, ...]
    place_names: Mapping[str, str]
    constants: Mapping[str, Constant] = field(default_factory=dict)
    chamber_volumes: Mapping[str, Quantity] = field(default_factory=dict)
    _at: Mapping[str, tuple[Authority, ...]] = field(init=False, repr=False, compare=False)
    _by_measure: Mapping[str, Mapping[str, tuple[Authority, ...]]] = field(
        init=False, repr=False, compare=False
    )

    def __post_init__(self) -> None:
        """What is the same is shared, so that places can be judged together."""
        same: dict[tuple[str, ...], tuple[Authority, ...]] = {}
        at: dict[str, tuple[Authority, ...]] = {}
        known: dict[int, dict[str, tuple[Authority, ...]]] = {}
        for code in self.place_names:
            here = tuple(each for each in self.authorities if _holds_at(each, code))
            at[code] = here = same.setdefault(tuple(each.id for each in here), here)
            if id(here) not in known:
                known[id(here)] = {
                    measure: same.setdefault(tuple(each.id for each in some), some)
                    for measure, some in _by_measure(here).items()
                }
        object.__setattr__(self, "_at", at)
        object.__setattr__(self, "_by_measure", {code: known[id(at[code])] for code in at})

    @property
    def rules(self) -> tuple[Rule, ...]:
        return tuple(rule for each in self.authorities for rule in each.rules)

    def rule(self, rule_id: str) -> Rule:
        """The rule of that id. Raises KeyError."""
        for rule in self.rules:
            if rule.id == rule_id:
                return rule
        raise KeyError(rule_id)

    def place(self, code: str) -> str:
        """The place's name. Raises PlaceError with the nearest names for an unknown code."""
        known = self.place_names.get(code.upper())
        if known is not None:
            return known
        raise PlaceError(_unknown_place(code, self.place_names))

    def at(self, code: str) -> tuple[Authority, ...]:
        """The authorities whose rules hold at a place, the same tuple wherever they are the
        same. Raises PlaceError."""
        found = self._at.get(code.upper())
        if found is None:
            raise PlaceError(_unknown_place(code, self.place_names))
        return found

    def by_measure(self, code: str) -> Mapping[str, tuple[Authority, ...]]:
        """Measure -> those of them that have a rule on it; one mapping for all places under the
        same authorities, one tuple wherever these are the same. Raises PlaceError."""
        found = self._by_measure.get(code) or self._by_measure.get(code.upper())
        if found is None:
            raise PlaceError(_unknown_place(code, self.place_names))
        return found

    def rules_for(
        self, places: Sequence[str], measure: str, vehicle: Vehicle
    ) -> tuple[tuple[str, Rule], ...]:
        """(place, rule) for every rule of the measure that holds there for this vehicle.

        A rule whose holding is not known (an unknown build date) is in: judging it says
        so.  A rule that another one at the same place replaces is out.  A stroke rule is
        in for every chamber; the caller picks the one measured.  Raises PlaceError.
        """
        return tuple(
            (place.upper(), rule)
            for place in places
            for rule in rules_of(self.at(place), measure, vehicle)
        )

    def measures(self, places: Sequence[str]) -> tuple[str, ...]:
        """Every measure that some rule judges at these places, sorted."""
        return tuple(
            sorted(
                {
                    measure
                    for place in places
                    for authority in self.at(place)
                    for measure in authority.by_measure
                }
            )
        )

    def procedure_values(
        self, places: Sequence[str], measure: str, vehicle: Vehicle | None = None
    ) -> Mapping[str, str]:
        """What the places' texts ask of the procedure, as words for a prompt.

        One text where all agree ("600 to 900 rpm"); otherwise each with its place
        ("CA-ON: 600 to 900 rpm; CA-QC: not over 1200 rpm").
        """
        said: dict[str, dict[str, list[str]]] = {}
        for place in places:
            for authority in self.at(place):
                for rule in authority.by_measure.get(measure, ()):
                    if vehicle is not None and holds(rule, vehicle) is False:
                        continue
                    for key, value in rule.procedure.items():
                        at = said.setdefault(key, {}).setdefault(value, [])
                        if place.upper() not in at:
                            at.append(place.upper())
        return {key: _words(values) for key, values in said.items()}


def rules_of(authorities: Sequence[Authority], measure: str, vehicle: Vehicle) -> tuple[Rule, ...]:
    """The authorities' rules of the measure for this vehicle, without those that are replaced."""
    here = [rule for authority in authorities for rule in holding(authority, measure, vehicle)]
    gone = {old for rule in here for old in rule.replaces}
    return tuple(rule for rule in here if rule.id not in gone)


def holding(authority: Authority, measure: str, vehicle: Vehicle) -> tuple[Rule, ...]:
    """One authority's rules of the measure, those included of which it is not known whether
    they hold for this vehicle."""
    return tuple(
        rule for rule in authority.by_measure.get(measure, ()) if holds(rule, vehicle) is not False
    )


def _by_measure(authorities: Sequence[Authority]) -> dict[str, tuple[Authority, ...]]:
    found: dict[str, tuple[Authority, ...]] = {}
    for authority in authorities:
        for measure in authority.by_measure:
            found[measure] = (*found.get(measure, ()), authority)
    return found


def _holds_at(authority: Authority, code: str) -> bool:
    country = code.partition("-")[0]
    return code in authority.places or (code != country and f"{country}-*" in authority.places)


def _words(values: Mapping[str, Sequence[str]]) -> str:
    if len(values) == 1:
        return next(iter(values))
    return "; ".join(f"{', '.join(places)}: {value}" for value, places in values.items())


def _unknown_place(code: str, names: Mapping[str, str]) -> str:
    """The places whose code, its second part or name is most like it; likeness of the beginning
    counts more, for who mistypes a place mostly gets its beginning right."""
    asked = code.upper()

    def unlike(at: str) -> float:
        written = (at, at.partition("-")[2], names[at].upper())
        return min(JaroWinkler.normalized_distance(asked, each) for each in written)

    near = sorted((at for at in names if unlike(at) < _UNLIKE), key=unlike)[:_NEAREST]
    if not near:
        return (
            f"the rule book knows no place '{code}'; places have ISO 3166 codes such as "
            "CA-ON, US-NC or NZ"
        )
    offered = " or ".join(f"{at} ({names[at]})" for at in near)
    return f"the rule book knows no place '{code}'; did you mean {offered}?"
