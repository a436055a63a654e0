"""Formulas of air against hand-computed and published cases."""

from __future__ import annotations

import math

import pytest

from walkaround.simulated.flow import (
    ATMOSPHERE_PA,
    CUBIC_FOOT_PER_MIN_M3_S,
    CUBIC_INCH_M3,
    PSI_PA,
    absolute,
    exchange_m3,
    fill_seconds,
    gauge_psi,
    leak_area,
    orifice_flow,
    volumetric_efficiency,
)

TRACTOR_M3 = 5568 * CUBIC_INCH_M3  # 12 x 464 in³, FMVSS 121 S5.1.2.1 with Table V


@pytest.mark.parametrize(("low", "high", "seconds"), [(85, 100, 14.95), (50, 90, 39.87)])
def test_filling_at_a_constant_flow(low: float, high: float, seconds: float) -> None:
    """5568 in³ by 13.2 cfm of free air: t = V Δp / (q p_atm), worked by hand with 14.696 psi."""
    found = fill_seconds(TRACTOR_M3, (high - low) * PSI_PA, 13.2 * CUBIC_FOOT_PER_MIN_M3_S)
    assert found == pytest.approx(seconds, abs=0.02)


def test_a_published_receiver_is_sized_right() -> None:
    """V = t (qout - qin) pa / (P1 - P2): 5 min, 350 and 250 cfm, 14.7 psia, 100 and 60 psig give
    183.75 ft³ (air receiver sizing sheet, scribd.com/document/383780250), turned round here."""
    volume = 183.75 * 12**3 * CUBIC_INCH_M3
    seconds = fill_seconds(volume, 40 * PSI_PA, 100 * CUBIC_FOOT_PER_MIN_M3_S)
    assert seconds == pytest.approx(300 * 14.7 / 14.696, rel=1e-4)


def test_a_leak_of_three_psi_a_minute() -> None:
    """Q = Δp V / (p_atm t): 3 psi/min out of 5568 in³ is 18.6 L/min of free air (by hand)."""
    area = leak_area(3.0, TRACTOR_M3, at_gauge_psi=120)
    flow = orifice_flow(area, absolute(120), ATMOSPHERE_PA)
    assert flow / ATMOSPHERE_PA * 60_000 == pytest.approx(18.6, abs=0.05)


def test_choked_flow_against_the_standard_nozzle() -> None:
    """Air at 20 °C: mass flow = 0.0404 A p / √T (from memory: compressible flow tables)."""
    area, pressure, kelvin = 1e-5, 700_000.0, 293.15
    mass = orifice_flow(area, pressure, ATMOSPHERE_PA) / (287.05 * kelvin)
    assert mass == pytest.approx(0.0404 * area * pressure / math.sqrt(kelvin), rel=2e-3)


def test_flow_is_continuous_where_it_chokes_and_stops_at_no_difference() -> None:
    critical = 0.528281788
    up = 600_000.0
    below = orifice_flow(1e-5, up, up * (critical - 1e-6))
    above = orifice_flow(1e-5, up, up * (critical + 1e-6))
    assert below == pytest.approx(above, rel=1e-5)
    assert orifice_flow(1e-5, up, up) == 0.0
    assert orifice_flow(1e-5, up, up * 1.01) == 0.0


def test_a_compressor_delivers_less_against_more() -> None:
    efficiencies = [volumetric_efficiency(0.04, absolute(psi)) for psi in (0, 50, 100, 150)]
    assert efficiencies[0] == pytest.approx(1.0)
    assert efficiencies == sorted(efficiencies, reverse=True)
    # 1 + c - c (p2/p1)^(1/1.3) with c = 0.04 and a ratio of 1 + 125/14.696, by hand
    by_hand = 1.04 - 0.04 * (1 + 125 / 14.6959) ** (1 / 1.3)
    assert volumetric_efficiency(0.04, absolute(125)) == pytest.approx(by_hand, rel=1e-5)
    assert volumetric_efficiency(0.5, absolute(2000)) == 0.0


def test_two_vessels_never_pass_their_common_pressure() -> None:
    one, other = 0.02, 0.001
    joint = one * other / (one + other)
    assert 0 < exchange_m3(one, other, 0.01, 0.05) <= joint
    # after one settling time the difference has fallen to 1/e
    moved = exchange_m3(one, other, 0.5, 0.5)
    left = 1 - moved / one - moved / other
    assert left == pytest.approx(math.exp(-1))


def test_gauge_and_absolute_are_inverse() -> None:
    assert gauge_psi(absolute(123.4)) == pytest.approx(123.4)
    assert absolute(0) == ATMOSPHERE_PA
