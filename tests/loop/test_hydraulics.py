"""Pump, valve and pipes: the cheap model against the full sum."""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from coilward.loop.hydraulics import (
    LEAST_RATED_LPM,
    coil_kpa,
    fittings_kpa,
    flow_lpm,
    friction_kpa,
    inherent_kv_m3h,
    pump_polynomial,
    rated_flow_lpm,
    stroke_for_flow,
    system_coefficients,
    valve_kpa_per_lpm2,
)
from tests.loop.examples import REFERENCES, changed, shipped

NAMES = ("boathouse", "greenhouse", "hot-tub")


def full_flow_lpm(loop, stroke, speed):
    """Second method: the whole sum by a root finder, the pump's curve by its affinity law."""
    head0, head1, head2 = pump_polynomial(loop.pump)
    valve = loop.valve
    kv = inherent_kv_m3h(stroke, valve.kvs_m3h, valve.rangeability, valve.crack_open)
    fittings = fittings_kpa(loop) / rated_flow_lpm(loop) ** 2

    def spare(flow):
        head = head0 * speed**2 + head1 * speed * flow + head2 * flow**2
        resistance = fittings + valve_kpa_per_lpm2(kv)
        return head - friction_kpa(flow, loop) - resistance * flow**2

    return brentq(spare, 1e-6, 60)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("speed", [0.7, 1.0, 1.1])
@pytest.mark.parametrize("stroke", [0.35, 0.5, 0.7, 1.0])
def test_cheap_flow_agrees_with_the_full_sum(name, stroke, speed):
    loop = shipped(name)
    cheap = flow_lpm(system_coefficients(loop), stroke, speed)
    assert cheap == pytest.approx(full_flow_lpm(loop, stroke, speed), rel=0.02)


@pytest.mark.parametrize("name", NAMES)
def test_pump_polynomial_runs_through_the_curve(name):
    pump = shipped(name).pump
    head0, head1, head2 = pump_polynomial(pump)
    assert head1 <= 0
    assert head2 <= 0
    for point in pump.curve:
        head = head0 + head1 * point.flow_lpm + head2 * point.flow_lpm**2
        assert head == pytest.approx(point.head_kpa, abs=0.04 * pump.curve[0].head_kpa)


@pytest.mark.parametrize("speed", [0.3, 0.8, 1.0])
@pytest.mark.parametrize("stroke", [0.2, 0.6, 1.0])
def test_closed_form_solves_its_own_balance(stroke, speed):
    system = system_coefficients(shipped("greenhouse"))
    flow = flow_lpm(system, stroke, speed)
    kv = inherent_kv_m3h(stroke, system.kvs_m3h, system.rangeability, system.crack_open)
    head = system.head0_kpa * speed**2 + system.head1 * speed * flow + system.head2 * flow**2
    loss = system.loop1 * flow + (system.loop2 + valve_kpa_per_lpm2(kv)) * flow**2
    assert head == pytest.approx(loss, rel=1e-9)


def test_flow_rises_with_stroke_and_speed_and_is_zero_when_shut():
    system = system_coefficients(shipped("boathouse"))
    flows = [flow_lpm(system, stroke / 50, 1.0) for stroke in range(51)]
    assert flows == sorted(flows)
    assert flow_lpm(system, 0.04, 1.0) == 0  # cracks open at 5 %
    assert flow_lpm(system, 0.05, 1.0) > 0
    assert flow_lpm(system, 1.0, 0.0) == 0
    assert flow_lpm(system, 1.0, 0.5) < flow_lpm(system, 1.0, 1.0)


def test_bypass_passes_its_flow_with_the_valve_shut():
    loop = changed(shipped("boathouse"), valve__bypass_lpm=1.5)
    system = system_coefficients(loop)
    assert flow_lpm(system, 0.0, 1.0) == pytest.approx(1.5, rel=1e-9)
    assert flow_lpm(system, 1.0, 1.0) > flow_lpm(
        system_coefficients(shipped("boathouse")), 1.0, 1.0
    )


def test_bypass_beyond_the_pump_is_an_open_pipe():
    system = system_coefficients(changed(shipped("boathouse"), valve__bypass_lpm=60.0))
    assert 6 < flow_lpm(system, 0.0, 1.0) < 12


def test_losses_beyond_the_pump_leave_no_flow():
    loop = changed(shipped("boathouse"), lines__cold__loss_kpa=150.0)
    assert rated_flow_lpm(loop) == LEAST_RATED_LPM
    assert flow_lpm(system_coefficients(loop), 1.0, 1.0) < 0.2


def test_stroke_for_flow_inverts():
    system = system_coefficients(shipped("greenhouse"))
    for wanted in (2.0, 4.3, 9.0):
        assert flow_lpm(system, stroke_for_flow(system, wanted), 1.0) == pytest.approx(
            wanted, abs=1e-4
        )
    assert stroke_for_flow(system, 99) == 1
    assert stroke_for_flow(system, 0.0) == 0
    assert stroke_for_flow(system, 0.3) == pytest.approx(0.05, abs=1e-5)  # the crack's step


def test_coil_of_a_by_its_worked_example():
    """315 Pa at 1 and 2.0 kPa at 3 L/min, reckoned for a straight tube; a helix takes more."""
    coil = changed(shipped("boathouse").coil, turn_diameter_m=1e6)
    assert coil_kpa(3.0, coil) == pytest.approx(2.0, abs=0.06)
    assert coil_kpa(1.0, coil) == pytest.approx(0.315, rel=0.1)
    assert coil_kpa(3.0, shipped("boathouse").coil) > coil_kpa(3.0, coil)
    assert coil_kpa(0.0, coil) == 0


@pytest.mark.parametrize(("stroke", "lpm"), [(0.1, 0.63), (0.3, 1.17), (0.5, 1.94), (0.7, 2.61)])
def test_installed_characteristic_of_little_authority(stroke, lpm):
    """20 kPa loop and 1 kPa valve at 3 L/min, equal percentage, rangeability 30."""
    constant_kpa, loop, valve = 21.0, 20 / 9, 1 / 9
    kv = inherent_kv_m3h(stroke, 1.0, 30, 0.05)
    assert math.sqrt(constant_kpa / (loop + valve / kv**2)) == pytest.approx(lpm, abs=0.006)


def test_inherent_curve():
    assert inherent_kv_m3h(1.0, 0.95, 30, 0.05) == 0.95
    assert inherent_kv_m3h(0.0, 0.95, 30, 0.0) == 0
    assert inherent_kv_m3h(0.5, 0.9, 30, 0.05) == pytest.approx(0.9 / math.sqrt(30))
    assert inherent_kv_m3h(1.5, 0.95, 30, 0.05) == 0.95
    assert valve_kpa_per_lpm2(0.0) == math.inf
    assert REFERENCES["A"].bore_m == pytest.approx(0.0136)
