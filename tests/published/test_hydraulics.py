"""Friction, valves and pumps against published values."""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from coilward.loop.hydraulics import (
    LOOP_C,
    ROUGHNESS_M,
    SystemCoefficients,
    flow_lpm,
    kv_m3h,
    tube_kpa,
    valve_kpa_per_lpm2,
)
from coilward.loop.sums.flow import flow_at_reynolds_lpm, helix_transition_re
from coilward.loop.water import WATER_KG_M3, kinematic_viscosity_m2_s


def factor(reynolds, inside_m, turn_m=None):
    """Darcy's factor, got back from our pressure loss."""
    lpm = flow_at_reynolds_lpm(reynolds, inside_m, kinematic_viscosity_m2_s(LOOP_C))
    speed = lpm / 60000 / (math.pi / 4 * inside_m**2)
    return tube_kpa(lpm, 1.0, inside_m, turn_m) * 1e3 * inside_m / (WATER_KG_M3 * speed**2 / 2)


@pytest.mark.parametrize(("relative", "expected"), [(1e-7, 0.01799), (1e-3, 0.02217)])
def test_colebrook_at_reynolds_1e5(relative, expected):
    """Calculated by iterating Colebrook: smooth, and relative roughness 0.001."""
    assert factor(1e5, ROUGHNESS_M / relative) == pytest.approx(expected, abs=6e-6)

    def colebrook(f):
        return 1 / math.sqrt(f) + 2 * math.log10(relative / 3.7 + 2.51 / (1e5 * math.sqrt(f)))

    assert brentq(colebrook, 0.005, 0.1) == pytest.approx(expected, abs=6e-6)


def test_laminar_is_64_over_re():
    """Hagen and Poiseuille, exact."""
    assert factor(1000, 0.0136) == pytest.approx(0.064, rel=1e-9)


def test_helix_takes_more_than_a_straight_tube_and_turns_later():
    """Schmidt 1967: 2300 (1 + 8.6 (d/D)^0.45) (from memory, and in the fluids library)."""
    assert helix_transition_re(0.0136, 0.4) == pytest.approx(
        2300 * (1 + 8.6 * (0.0136 / 0.4) ** 0.45)
    )
    for reynolds in (1500, 5000, 20000):
        assert factor(reynolds, 0.0136, 0.4) > factor(reynolds, 0.0136)


def test_kv_of_iec_60534_example_1():
    """IEC 60534-2-1, example 1: 965.4 kg/m3, 680 to 220 kPa, 360 m3/h need Kv 165.

    Example 2 of the same standard (Kv 238) is choked and has fittings attached; our formula has
    neither, and must not reproduce it.
    """
    kv = kv_m3h(360, 4.6, 965.4)
    assert kv == pytest.approx(165, abs=0.5)
    assert abs(kv - 238) > 50


def test_valve_resistance_is_the_same_formula():
    """Kv is the flow of cold water, 1000 kg/m3, at one bar."""
    lpm = 1.7 / 0.06
    assert valve_kpa_per_lpm2(1.7) * lpm**2 == pytest.approx(100 * WATER_KG_M3 / 1000)
    assert kv_m3h(1.7, valve_kpa_per_lpm2(1.7) * lpm**2 / 100, WATER_KG_M3) == pytest.approx(1.7)


def test_affinity_of_crane_7_33():
    """Crane TP-410, example 7.33: 3500 to 1700 rpm, 400 gpm/126 ft to 194.3 gpm/29.73 ft."""
    gpm, foot_kpa = 3.785411784, 2.98907
    rated_lpm, rated_kpa = 400 * gpm, 126 * foot_kpa
    system = SystemCoefficients(
        head0_kpa=1.3 * rated_kpa,
        head1=-0.1 * rated_kpa / rated_lpm,
        head2=-0.2 * rated_kpa / rated_lpm**2,
        loop1=0.0,
        loop2=rated_kpa / rated_lpm**2 - valve_kpa_per_lpm2(1e4),
        kvs_m3h=1e4,
        rangeability=30,
        crack_open=0.0,
        bypass_kv_m3h=0.0,
    )
    assert flow_lpm(system, 1.0, 1.0) == pytest.approx(rated_lpm, rel=1e-9)
    slow = flow_lpm(system, 1.0, 1700 / 3500)
    assert slow / gpm == pytest.approx(194.3, abs=0.05)
    assert rated_kpa * (slow / rated_lpm) ** 2 / foot_kpa == pytest.approx(29.73, abs=0.006)
