"""Thermometers, pulses and switches."""

from __future__ import annotations

import math

import pytest

from coilward.simulator import slots as at
from coilward.simulator.parameters import noise_table
from coilward.simulator.sensors import (
    BAD_FRAME,
    FROZEN,
    NOISE_POINTS,
    OPEN,
    lags,
    pulses,
    read,
    thermometers,
)
from tests.simulator.plants import Plant

SILENT = [0.0] * NOISE_POINTS


def test_lag_is_the_exact_answer_to_a_step():
    """1 - exp(-t/tau) (exact)."""
    plant = Plant("boathouse")
    lag_s = plant.loop.sensors.coil_outlet_a.lag_s
    plant.y[at.LAGGED_] = 0.0
    plant.y[at.TRUE_] = plant.y[at.STUB] = 100.0
    for _ in range(round(lag_s / 0.25)):
        lags(plant.y, plant.p, 1)
    assert plant.y[at.LAGGED_] == pytest.approx(100 * (1 - math.exp(-1)), rel=1e-9)


def test_lag_does_not_depend_on_the_length_of_the_steps():
    short, long = Plant("boathouse"), Plant("boathouse")
    for plant, n in ((short, 1), (long, 8)):
        plant.y[at.LAGGED_] = plant.y[at.TRUE_] = 20.0
        for k in range(16 // n):
            plant.y[at.STUB] = 20.0 + 0.5 * (k + 1) * n
            lags(plant.y, plant.p, n)
    assert short.y[at.LAGGED_] == pytest.approx(long.y[at.LAGGED_], rel=1e-12)


def test_reading_is_offset_noise_and_quantum():
    plant = Plant("boathouse")
    plant.p[at.OFFSET_K_] = 0.4
    plant.y[at.LAGGED_] = 50.02
    thermometers(plant.y, plant.p, SILENT, 0)
    quantum = plant.loop.sensors.coil_outlet_a.quantum_k
    assert plant.y[at.SEEN_] == pytest.approx(round(50.42 / quantum) * quantum)


def test_noise_has_the_stated_size():
    plant = Plant("boathouse")
    plant.p[at.QUANTUM_K_] = 0.0
    noise, seen = noise_table(3), []
    for tick in range(4000):
        thermometers(plant.y, plant.p, noise, tick)
        seen.append(plant.y[at.SEEN_] - plant.y[at.LAGGED_])
    spread = math.sqrt(sum(x * x for x in seen) / len(seen))
    assert spread == pytest.approx(plant.loop.sensors.coil_outlet_a.noise_k, rel=0.1)


def test_digital_thermometers_convert_once_a_second():
    plant = Plant("boathouse")
    for tick in range(1, 9):
        plant.y[at.LAGGED_ + at.OUTLET_B] = 40.0 + tick
        thermometers(plant.y, plant.p, SILENT, tick)
        if tick < 4:
            assert plant.y[at.SEEN_ + at.OUTLET_B] < 60.0
            assert plant.y[at.SEEN_ + at.OUTLET_B] != pytest.approx(40.0 + tick, abs=0.1)
    assert plant.y[at.SEEN_ + at.OUTLET_B] == pytest.approx(48.0, abs=0.05)


@pytest.mark.parametrize(
    ("mode", "expected"), [(OPEN, math.nan), (FROZEN, 33.0), (BAD_FRAME, 85.0)]
)
def test_broken_thermometers(mode, expected):
    plant = Plant("boathouse")
    plant.y[at.SEEN_ + at.OUTLET_B] = 33.0
    plant.p[at.MODE_ + at.OUTLET_B] = mode
    thermometers(plant.y, plant.p, SILENT, 4)
    assert plant.y[at.SEEN_ + at.OUTLET_B] == pytest.approx(expected, nan_ok=True)


def test_channels_that_are_not_fitted_are_not_known():
    plant = Plant("hot-tub")
    thermometers(plant.y, plant.p, SILENT, 0)
    readings = read(plant.y, plant.p, 0.0)
    assert math.isnan(readings.radiator_inlet_c)
    assert math.isnan(readings.radiator_outlet_c)
    assert math.isnan(readings.fan_a)
    assert math.isnan(readings.co_ppm)
    assert readings.tank_c == pytest.approx(plant.y[at.TANK_BOTTOM], abs=0.1)


def test_meter_counts_its_pulses_for_every_litre():
    plant = Plant("boathouse")
    plant.y[at.FLOW_LPM] = 3.7
    for _ in range(4 * 600):
        pulses(plant.y, plant.p, SILENT)
    assert plant.y[at.PULSES] == pytest.approx(37.0 * plant.loop.meter.pulses_per_litre, abs=1)
    assert plant.y[at.PULSE_LPM] == pytest.approx(3.7, rel=1e-9)
    assert 0 <= plant.y[at.PULSE_AGE_S] < 60 / (3.7 * plant.loop.meter.pulses_per_litre)


def test_a_pulse_is_timed_inside_the_tick():
    """Slow pulses: the period between two of them is right though no tick falls on one."""
    plant = Plant("boathouse")
    plant.p[at.PULSES_PER_L] = 100.0
    plant.p[at.METER_LOWEST_LPM] = 0.2
    plant.y[at.FLOW_LPM] = 0.37
    period_s = 60 / (0.37 * 100)
    for _ in range(60):
        pulses(plant.y, plant.p, SILENT)
        assert plant.y[at.PULSE_AGE_S] < period_s
    assert plant.y[at.PULSE_LPM] == pytest.approx(0.37, rel=1e-9)


def test_pulse_age_grows_without_flow_and_a_slow_turbine_stops():
    plant = Plant("boathouse")
    pulses(plant.y, plant.p, SILENT)
    plant.y[at.FLOW_LPM] = 0.45
    age_s = plant.y[at.PULSE_AGE_S]
    for _ in range(8):
        pulses(plant.y, plant.p, SILENT)
    assert plant.y[at.PULSE_AGE_S] == pytest.approx(age_s + 2.0)


def test_meter_reads_under_the_truth_near_its_lowest_flow():
    plant = Plant("boathouse")
    plant.y[at.FLOW_LPM] = 0.8
    for _ in range(100):
        pulses(plant.y, plant.p, SILENT)
    assert plant.y[at.PULSE_LPM] == pytest.approx(0.8 * 0.6, rel=1e-6)


def test_switches():
    plant = Plant("boathouse")
    plant.run(20)
    assert read(plant.y, plant.p, 0.0).flow_switch == 1.0
    assert read(plant.y, plant.p, 0.0).damper_shut == 0.0
    plant.y[at.TOLD_DAMPER] = 0.0
    plant.pump(on=False)
    plant.run(20)
    readings = read(plant.y, plant.p, 1.0)
    assert (readings.flow_switch, readings.damper_shut) == (0.0, 1.0)
    assert (readings.pump_a, readings.pump_contact) == (0.0, 0.0)
    assert (readings.level_low, readings.level_low_low) == (0.0, 0.0)
    plant.p[at.LEVEL] = 0.6
    assert read(plant.y, plant.p, 1.0).level_low == 1.0
    assert read(plant.y, plant.p, 1.0).level_low_low == 0.0
