"""How air moves between vessels: isothermal, in SI units.

An air content is kept as p·V in Pa·m³ (joules): at one temperature it is proportional
to mass, so whatever leaves one vessel must arrive in another or in the open.  All
pressures here are absolute, in Pa.

Sources: fill time t = V·Δp / (q·p_atm) and leak flow q = Δp·V / (p_atm·t) are the usual
receiver formulas (e.g. leakdetectionauthority.com, pressure-drop calculator).  Choked and
unchoked orifice flow and the clearance formula of a reciprocating compressor are textbook
compressible flow and thermodynamics (from memory).
"""

from __future__ import annotations

import math
from decimal import Decimal

from walkaround.quantity import Quantity, Unit

ATMOSPHERE_PA = 101_325.0
PSI_PA = 8896443230521 / 1290320000
CUBIC_INCH_M3 = 0.0254**3
CUBIC_FOOT_PER_MIN_M3_S = 12**3 * CUBIC_INCH_M3 / 60

_GAMMA = 1.4
_GAS_J_PER_KG_K = 287.05
_KELVIN = 293.15
_POLYTROPIC = 1.3
_CRITICAL: float = (2 / (_GAMMA + 1)) ** (_GAMMA / (_GAMMA - 1))
_SOUND_M_S = math.sqrt(_GAMMA * _GAS_J_PER_KG_K * _KELVIN)
_CHOKED_M_S: float = _SOUND_M_S * (2 / (_GAMMA + 1)) ** ((_GAMMA + 1) / (2 * (_GAMMA - 1)))


def absolute(gauge_psi: float) -> float:
    """Pa absolute from psi on a gauge."""
    return gauge_psi * PSI_PA + ATMOSPHERE_PA


def gauge_psi(absolute_pa: float) -> float:
    """psi on a true gauge from Pa absolute."""
    return (absolute_pa - ATMOSPHERE_PA) / PSI_PA


def unit_pa(unit: Unit) -> float:
    """Pa in one psi, kPa or bar."""
    return float(Quantity(Decimal(1), unit).base)


def orifice_flow(area_m2: float, up_pa: float, down_pa: float) -> float:
    """Flow of p·V in Pa·m³/s through an effective area (discharge coefficient included).

    Choked below the critical ratio 0.528, otherwise after Saint-Venant and Wantzel.
    """
    if up_pa <= down_pa or area_m2 <= 0:
        return 0.0
    ratio = down_pa / up_pa
    if ratio <= _CRITICAL:
        return area_m2 * up_pa * _CHOKED_M_S
    shape: float = ratio ** (2 / _GAMMA) - ratio ** ((_GAMMA + 1) / _GAMMA)
    return area_m2 * up_pa * _SOUND_M_S * math.sqrt(2 / (_GAMMA - 1) * shape)


def leak_area(fall_psi_per_min: float, volume_m3: float, at_gauge_psi: float = 120.0) -> float:
    """Effective area in m² that makes a vessel lose that much at that pressure (choked)."""
    flow = fall_psi_per_min * PSI_PA / 60 * volume_m3
    return flow / (absolute(at_gauge_psi) * _CHOKED_M_S)


def volumetric_efficiency(clearance: float, discharge_pa: float) -> float:
    """Share of the swept volume that is delivered: 1 + c - c·(p2/p1)^(1/n), n = 1.3, never < 0."""
    ratio: float = max(1.0, discharge_pa / ATMOSPHERE_PA)
    delivered: float = 1 + clearance - clearance * ratio ** (1 / _POLYTROPIC)
    return max(0.0, delivered)


def fill_seconds(volume_m3: float, rise_pa: float, free_air_m3_s: float) -> float:
    """Time to raise a vessel by so much with a constant flow of free air."""
    return volume_m3 * rise_pa / (free_air_m3_s * ATMOSPHERE_PA)


def exchange_m3(one_m3: float, other_m3: float, settle_s: float, step_s: float) -> float:
    """The Pa·m³ that pass in one step per Pa of difference between two vessels.

    Two vessels joined by a linear conductance approach each other as exp(-t/settle_s);
    integrated exactly over the step, so it can never overshoot.
    """
    joint = one_m3 * other_m3 / (one_m3 + other_m3)
    return joint * -math.expm1(-step_s / settle_s)


def vent_m3(volume_m3: float, settle_s: float, step_s: float) -> float:
    """As `exchange_m3` into the open, whose pressure stays."""
    return volume_m3 * -math.expm1(-step_s / settle_s)
