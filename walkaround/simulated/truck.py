"""A truck's air system in steps of 50 ms: pressures, valves, lamps and the sounds they make.

Isothermal, one temperature throughout; each flow is worked out from the pressures at hand
and taken at once from one vessel and given to another, so no air is made or lost but
through the compressor and into the open (`taken_in` and `let_out` count both, in Pa·m³).
Left out: warming by compression, water as volume, the ride of the needle, brake force.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from walkaround.quantity import Unit
from walkaround.simulated.controls import Controls
from walkaround.simulated.facts import TruckFacts
from walkaround.simulated.flow import (
    ATMOSPHERE_PA,
    PSI_PA,
    absolute,
    gauge_psi,
    orifice_flow,
    unit_pa,
    volumetric_efficiency,
)
from walkaround.simulated.piping import (
    DRAIN_M2,
    HOSE_M2,
    PURGE_M2,
    REAR_VALVE_M2,
    SAFETY_M2,
    STEP_MS,
    STEP_S,
    lay,
)

FULL_PEDAL_PSI = 200.0
_CHECK_CRACK_PA = 1500.0
_AUDIBLE_W = 20.0  # Pa·m³/s into the open that a person beside it hears; estimate
_SPRINGS_FREE_PSI = 60.0  # a spring brake is fully off from here; estimate
_TRAILER_SPRINGS_PSI = (35.0, 45.0)  # the trailer's valve exhausts below, feeds from; estimate
_ACCESSORY_M2 = 1.5e-6
_BOTH = ("primary", "secondary")


class Truck:
    """The air system of one vehicle or combination. Move `controls`, then `advance`."""

    def __init__(self, facts: TruckFacts, start_psi: float = 112.0, trailer_psi: float = 0.0):
        self.facts, self.piping = facts, lay(facts)
        self.controls = Controls()
        self.pressure_pa = dict.fromkeys(self.piping.volumes, ATMOSPHERE_PA)
        for vessel in ("supply", *_BOTH):
            self.pressure_pa[vessel] = absolute(start_psi)
        for unit in self.piping.trailers:
            self.pressure_pa[unit] = absolute(trailer_psi)
        self.steps = 0
        self.loaded = True
        self.warning = start_psi < facts.warning_on_psi
        self.protection_open = False
        self.taken_in = self.let_out = 0.0
        self.last_heard_ms: dict[str, int] = {}
        self.popped_psi: dict[str, float] = {}  # knob -> true pressure of the stronger circuit

    # ------------------------------------------------------------ what can be seen

    @property
    def now_ms(self) -> int:
        return self.steps * STEP_MS

    def true_psi(self, vessel: str) -> float:
        """Gauge pressure of a vessel, without any gauge's error."""
        return gauge_psi(self.pressure_pa[vessel])

    def needle_psi(self, circuit: str) -> float:
        """Where the dash needle of a circuit stands: gain and offset error, stopped at the ends."""
        shown = self.true_psi(circuit) * self.facts.gauge_gain + self.facts.gauge_offset_psi
        return min(max(shown, 0.0), self.facts.gauge_top_psi)

    def read(self, circuit: str) -> Decimal:
        """What an eye makes of the needle, in the dial's unit: to the nearest step of the dial."""
        facts = self.facts
        shown = Decimal(self.needle_psi(circuit) * PSI_PA) / Decimal(unit_pa(facts.dial))
        return (shown / facts.dial_step).to_integral_value() * facts.dial_step

    def lower_needle(self, unit: Unit | None = None) -> float:
        """Where the lower of the needles stands, in the dial's unit or the one named."""
        lower = min(self.needle_psi(circuit) for circuit in self.facts.needles)
        return lower * PSI_PA / unit_pa(unit or self.facts.dial)

    @property
    def warning_lit(self) -> bool:
        """Lamp and buzzer: only with the key on."""
        return self.controls.key_on and self.warning and self.facts.warning_works

    @property
    def springs_on(self) -> bool:
        """The power unit's spring brakes grip."""
        return self.true_psi("springs") < _SPRINGS_FREE_PSI and self.facts.springs_hold

    def trailer_springs_on(self, unit: str) -> bool:
        grips = self.true_psi(f"{unit}-springs") < _SPRINGS_FREE_PSI
        return grips and self.facts.trailer_springs_hold

    def heard_since(self, sound: str, since_ms: int) -> bool:
        return self.last_heard_ms.get(sound, -1) >= since_ms

    def content_j(self) -> float:
        """All air in the vessels as p·V, in Pa·m³."""
        volumes = self.piping.volumes
        return sum(pressure * volumes[name] for name, pressure in self.pressure_pa.items())

    # ------------------------------------------------------------ time

    def advance(self, steps: int = 1) -> None:
        """Let `steps` times 50 ms pass."""
        for _ in range(steps):
            self._govern()
            self._compress()
            self._share()
            self._park()
            self._apply()
            if self.piping.trailers:
                self._tow()
            self._escape()
            self._warn()
            self.steps += 1

    def _govern(self) -> None:
        supply = self.true_psi("supply")
        if self.loaded and supply >= self.facts.cut_out_psi and self.facts.governor_unloads:
            self.loaded = False
            self._sound("unload")
            if self.facts.purge_works:
                self._sound("purge")
        elif not self.loaded and supply <= self.facts.cut_in_psi:
            self.loaded = True

    def _compress(self) -> None:
        rpm = self.controls.engine_rpm
        if rpm and self.loaded:
            made = self.facts.compressor
            swept = made.swept_m3_per_turn * made.turns_per_engine_turn * rpm / 60
            share = volumetric_efficiency(made.clearance, self.pressure_pa["dryer"])
            air = swept * share * ATMOSPHERE_PA * STEP_S
            self.taken_in += air
            self.pressure_pa["dryer"] += air / self.piping.volumes["dryer"]
        elif not self.loaded and self.facts.purge_works:
            self._vent("dryer", PURGE_M2)
        self._check("dryer", "supply", "dryer>supply")

    def _share(self) -> None:
        """Supply to both circuits; a check valve that has failed lets air back."""
        for circuit in _BOTH:
            back = not getattr(self.facts, f"{circuit}_check_holds")
            self._check("supply", circuit, f"supply>{circuit}", back=back)

    def _park(self) -> None:
        controls, best = self.controls, self._stronger()
        held = not self.facts.park_valve_closes or self.true_psi(best) >= self.facts.park_valve_psi
        if controls.parking_released and not held:
            controls.parking_released = False
            self._pop("parking knob", best)
        if controls.parking_released:
            self._check(best, "springs", f"{best}>springs", back=True)
        elif self.true_psi("springs") > 0.5:
            self._vent_share("springs")
            self._sound("springs exhaust")

    def _apply(self) -> None:
        for circuit in _BOTH:
            self._brake(circuit, f"{circuit}-chambers", absolute(self.controls.pedal_psi))

    def _brake(self, tank: str, chambers: str, target_pa: float) -> None:
        """Fill from the tank up to the target, or exhaust down to it."""
        here, source = self.pressure_pa[chambers], self.pressure_pa[tank]
        if here < target_pa and here < source:
            factors, volume = self.piping.factors, self.piping.volumes[chambers]
            name = f"{tank}>chambers" if chambers != "service-line" else f"{tank}>control"
            wanted = (target_pa - here) * volume * factors["fill"]
            self._move(tank, chambers, min(factors[name] * (source - here), wanted))
        elif here > target_pa:
            self._lose(chambers, (here - target_pa) * self.piping.factors[f"{chambers}>open"])

    def _tow(self) -> None:
        self._supply_line()
        self._service_line()
        for unit in self.piping.trailers:
            reached = unit == "trailer-1" or self.facts.rear_reached
            self._trailer(unit, reached)

    def _supply_line(self) -> None:
        controls, best = self.controls, self._stronger()
        line = self.true_psi("supply-line")
        held = controls.supply_held or not self.facts.supply_valve_closes
        if controls.supply_open and not held and line < self.facts.supply_valve_psi:
            controls.supply_open = False
            self._pop("supply knob", best)
        if controls.supply_open:
            self._check(best, "supply-line", f"{best}>line", back=True)
        elif line > 0.5:
            self._vent_share("supply-line")
            self._sound("supply exhaust")
        if not controls.supply_joined:
            self._vent("supply-line", HOSE_M2, "supply coupling")
        if controls.rear_supply_open and self._last_reached():
            self._vent("supply-line", REAR_VALVE_M2, "rear supply valve")

    def _service_line(self) -> None:
        controls, facts = self.controls, self.facts
        line = self.true_psi("supply-line")
        least = facts.protection_shuts_psi if self.protection_open else facts.protection_opens_psi
        self.protection_open = line >= least or not facts.protection_closes
        asked = max(controls.pedal_psi, controls.hand_valve_psi)
        if self.protection_open:
            self._brake(self._stronger(), "service-line", absolute(asked))
        else:
            self._vent_share("service-line")
        if not controls.service_joined:
            self._vent("service-line", HOSE_M2, "service coupling")
        if controls.rear_service_open and self._last_reached():
            self._vent("service-line", REAR_VALVE_M2, "rear service valve")

    def _trailer(self, unit: str, reached: bool) -> None:
        controls, springs = self.controls, f"{unit}-springs"
        crossed = self.facts.lines_crossed
        feed, signal = (
            ("service-line", "supply-line") if crossed else ("supply-line", "service-line")
        )
        fed = reached and (controls.service_joined if crossed else controls.supply_joined)
        heard = reached and (controls.supply_joined if crossed else controls.service_joined)
        line = self.true_psi(feed) if fed else 0.0
        if fed and line > 0:
            self._check(feed, unit, f"line>{unit}")
        exhausts_psi, feeds_psi = _TRAILER_SPRINGS_PSI
        if line >= feeds_psi:
            self._check(feed, springs, f"line>{springs}")
        elif line < exhausts_psi and self.true_psi(springs) > 0.5:
            self._vent_share(springs)
            self._sound(f"{unit} springs exhaust")
        target = self.pressure_pa[signal] if heard and not crossed else ATMOSPHERE_PA
        self._brake(unit, f"{unit}-chambers", target)

    def _escape(self) -> None:
        """Drains, the safety valve, accessories and leaks."""
        for tank in self.controls.drains:
            self._vent(tank, DRAIN_M2, f"{tank} drain")
        if self.true_psi("supply") > self.facts.safety_valve_psi:
            self._vent("supply", SAFETY_M2, "safety valve")
        fed = self.true_psi("secondary") > self.facts.accessory_psi
        if self.controls.accessory_open and fed:
            self._vent("secondary", _ACCESSORY_M2, "accessory")
        for vessel, area in self.facts.leaks_m2.items():
            self._vent(vessel, area, f"leak {vessel}")

    def _warn(self) -> None:
        lower = min(self.true_psi(circuit) for circuit in self.facts.needles)
        if lower < self.facts.warning_on_psi:
            self.warning = True
        elif lower > self.facts.warning_off_psi:
            self.warning = False

    # ------------------------------------------------------------ moving air

    def _stronger(self) -> str:
        """The circuit that a double check valve passes."""
        pressures = self.pressure_pa
        return "primary" if pressures["primary"] >= pressures["secondary"] else "secondary"

    def _last_reached(self) -> bool:
        joined = self.controls.supply_joined and self.controls.service_joined
        return joined and (self.facts.rear_reached or len(self.piping.trailers) < 2)

    def _check(self, source: str, sink: str, joint: str, *, back: bool = False) -> None:
        """Through a check valve; both ways when it has failed."""
        difference = self.pressure_pa[source] - self.pressure_pa[sink]
        if difference > _CHECK_CRACK_PA:
            self._move(source, sink, self.piping.factors[joint] * (difference - _CHECK_CRACK_PA))
        elif back and difference < 0:
            self._move(source, sink, self.piping.factors[joint] * difference)

    def _move(self, source: str, sink: str, air: float) -> None:
        self.pressure_pa[source] -= air / self.piping.volumes[source]
        self.pressure_pa[sink] += air / self.piping.volumes[sink]

    def _lose(self, vessel: str, air: float) -> None:
        self.pressure_pa[vessel] -= air / self.piping.volumes[vessel]
        self.let_out += air

    def _vent(self, vessel: str, area_m2: float, sound: str = "") -> None:
        here = self.pressure_pa[vessel]
        most = (here - ATMOSPHERE_PA) * self.piping.volumes[vessel]
        flow = orifice_flow(area_m2, here, ATMOSPHERE_PA)
        self._lose(vessel, min(flow * STEP_S, most))
        if sound and flow > _AUDIBLE_W:
            self._sound(sound)

    def _vent_share(self, vessel: str) -> None:
        """Through a wide port: a fixed share of what is above the open air, each step."""
        above = self.pressure_pa[vessel] - ATMOSPHERE_PA
        self._lose(vessel, above * self.piping.factors[f"{vessel}>open"])

    def _pop(self, knob: str, circuit: str) -> None:
        self.popped_psi[knob] = self.true_psi(circuit)
        self._sound(f"{knob} pops")

    def _sound(self, name: str) -> None:
        self.last_heard_ms[name] = self.now_ms

    # ------------------------------------------------------------ keeping

    def to_state(self) -> dict[str, Any]:
        """Everything that changes, as plain JSON values; facts are not in it."""
        return {
            "steps": self.steps,
            "pressure_pa": dict(self.pressure_pa),
            "controls": self.controls.to_state(),
            "loaded": self.loaded,
            "warning": self.warning,
            "protection_open": self.protection_open,
            "taken_in": self.taken_in,
            "let_out": self.let_out,
            "last_heard_ms": dict(self.last_heard_ms),
            "popped_psi": dict(self.popped_psi),
        }

    @classmethod
    def from_state(cls, facts: TruckFacts, state: dict[str, Any]) -> Truck:
        """The same vehicle as it was. Raises KeyError when the state is of another shape."""
        truck = cls(facts)
        truck.steps = int(state["steps"])
        truck.pressure_pa = {name: float(state["pressure_pa"][name]) for name in truck.pressure_pa}
        truck.controls = Controls.from_state(state["controls"])
        truck.loaded, truck.warning = bool(state["loaded"]), bool(state["warning"])
        truck.protection_open = bool(state["protection_open"])
        truck.taken_in, truck.let_out = float(state["taken_in"]), float(state["let_out"])
        truck.last_heard_ms = dict(state["last_heard_ms"])
        truck.popped_psi = dict(state["popped_psi"])
        return truck
