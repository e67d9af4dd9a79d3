"""Thermometers, meter, clock and switches that tell the board what is not so."""

from __future__ import annotations

import math

import pytest

from coilward.simulator import slots as at
from coilward.simulator.parameters import noise_table
from coilward.simulator.sensors import NOISE_POINTS, SHORT, lags, pulses, read, thermometers
from tests.simulator.plants import Plant

SILENT = [0.0] * NOISE_POINTS


@pytest.mark.parametrize(("scale", "seen_c"), [(1.0, 75.0), (1.03, 76.5), (0.9, 70.0)])
def test_a_scale_turns_about_25_degrees(scale, seen_c):
    plant = Plant("boathouse")
    plant.p[at.QUANTUM_K_] = 0.0
    plant.y[at.LAGGED_], plant.p[at.SCALE_] = 75.0, scale
    thermometers(plant.y, plant.p, SILENT, 0)
    assert plant.y[at.SEEN_] == pytest.approx(seen_c)


def test_a_short_reads_the_hot_end():
    plant = Plant("boathouse")
    plant.p[at.MODE_ + at.TANK] = SHORT
    thermometers(plant.y, plant.p, SILENT, 0)
    assert read(plant.y, plant.p, 0.0).tank_c == 150.0


def second_lag(first_s, second_s, time_s):
    """Two first-order lags in a row after a step from 0 to 1 (exact, Laplace)."""
    fast, slow = math.exp(-time_s / first_s), math.exp(-time_s / second_s)
    return 1.0 - (first_s * fast - second_s * slow) / (first_s - second_s)


@pytest.mark.parametrize("extra_s", [20.0, 60.0])
def test_a_lag_that_has_grown_is_a_second_one_in_a_row(extra_s):
    plant = Plant("boathouse")
    lag_s = plant.loop.sensors.coil_outlet_a.lag_s
    plant.p[at.QUANTUM_K_] = 0.0
    plant.p[at.EXTRA_LAG_S_] = extra_s
    plant.y[at.LAGGED_] = plant.y[at.TRUE_] = 0.0
    plant.y[at.PLACE_] = plant.y[at.STUB] = 100.0
    for second in range(1, 121):
        for _ in range(4):
            lags(plant.y, plant.p, 1)
        thermometers(plant.y, plant.p, SILENT, 4 * second)
        assert plant.y[at.SEEN_] == pytest.approx(
            100.0 * second_lag(lag_s, extra_s, second), abs=0.01
        )


def test_a_grown_lag_before_none_is_the_exact_first_order_answer_at_any_step():
    """T + a t - a tau (1 - exp(-t/tau)) behind a ramp (exact)."""
    for n in (1, 4, 16):
        plant = Plant("boathouse")
        plant.p[at.EXTRA_LAG_S_] = 30.0
        for row in range(at.STEPS + 1):
            first = at.LAG_ + 3 * at.CHANNEL_COUNT * row
            plant.p[first : first + 3] = [0.0, 0.0, 1.0]
        plant.y[at.LAGGED_] = plant.y[at.PLACE_] = plant.y[at.TRUE_] = 20.0
        for k in range(1, 240 // n + 1):
            plant.y[at.STUB] = 20.0 + 0.125 * k * n
            lags(plant.y, plant.p, n)
        assert plant.y[at.LAGGED_] == pytest.approx(
            20.0 + 0.5 * 60 - 0.5 * 30 * (1 - math.exp(-2)), rel=1e-12
        )


def test_a_lag_begins_to_grow_from_what_was_seen():
    plant = Plant("boathouse")
    for _ in range(400):
        plant.run(0.25)
        lags(plant.y, plant.p, 1)
    seen_c = plant.y[at.LAGGED_]
    plant.p[at.EXTRA_LAG_S_] = 60.0
    lags(plant.y, plant.p, 1)
    assert plant.y[at.LAGGED_] == pytest.approx(seen_c, abs=0.01)


@pytest.mark.parametrize(("slot", "air_c"), [(at.OUTDOOR_AIR, -10.0), (at.ROOM_AIR, 15.0)])
def test_a_thermometer_that_fell_off_shows_the_air(slot, air_c):
    plant = Plant("boathouse")
    plant.run(10)
    plant.p[at.SOURCE_] = slot
    for tick in range(1, 600):
        plant.run(0.25)
        lags(plant.y, plant.p, 1)
        thermometers(plant.y, plant.p, SILENT, tick)
    assert read(plant.y, plant.p, 0.0).coil_outlet_a_c == pytest.approx(air_c, abs=0.5)


def test_two_thermometers_that_are_swapped_show_each_other_s_place():
    plant = Plant("boathouse")
    plant.p[at.SOURCE_], plant.p[at.SOURCE_ + at.TANK] = at.TANK_BOTTOM, at.STUB
    for tick in range(1, 600):
        plant.run(0.25)
        lags(plant.y, plant.p, 1)
        thermometers(plant.y, plant.p, SILENT, tick)
    readings = read(plant.y, plant.p, 0.0)
    assert readings.tank_c == pytest.approx(plant.y[at.STUB], abs=0.5)
    assert readings.coil_outlet_a_c == pytest.approx(plant.y[at.TANK_BOTTOM], abs=0.5)


def test_false_pulses_count_at_a_standstill():
    plant = Plant("boathouse")
    plant.y[at.FLOW_LPM], plant.p[at.METER_ADDS_LPM] = 0.0, 2.0
    for _ in range(4 * 60):
        pulses(plant.y, plant.p, SILENT)
    assert plant.y[at.PULSES] == pytest.approx(2.0 * plant.loop.meter.pulses_per_litre, abs=1)
    assert plant.y[at.PULSE_LPM] == pytest.approx(2.0, rel=1e-9)


def test_false_pulses_come_on_top_of_true_ones():
    plant = Plant("boathouse")
    plant.y[at.FLOW_LPM], plant.p[at.METER_ADDS_LPM] = 4.0, 2.0
    for _ in range(40):
        pulses(plant.y, plant.p, SILENT)
    assert plant.y[at.PULSE_LPM] == pytest.approx(6.0, rel=1e-9)


def test_a_wild_meter_is_never_seen_to_turn_backwards():
    plant = Plant("boathouse")
    plant.y[at.FLOW_LPM], plant.p[at.METER_NOISE] = 4.0, 2.0
    noise = noise_table(1)
    for _ in range(400):
        pulses(plant.y, plant.p, noise)
        assert plant.y[at.PULSE_LPM] > 0.0


def test_what_the_board_is_told_besides():
    plant = Plant("boathouse")
    plant.pump(on=False)
    plant.run(10)
    sound = read(plant.y, plant.p, 7.0)
    assert (sound.pump_a, sound.time_s, sound.constants_ok) == (0.0, 7.0, 1.0)
    assert [sound.vent_wet == 1.0, sound.smoke == 1.0] == [False, False]
    p = plant.p
    p[at.CURRENT_ADDS_A], p[at.CLOCK_ADDS_S], p[at.CONSTANTS_BAD] = 0.5, 4294967.0, 1.0
    p[at.VENT_WET] = p[at.SMOKE] = p[at.SENSES_DRIP] = p[at.SENSES_SMOKE] = 1.0
    p[at.SENSES_CO], p[at.CO_PPM] = 1.0, 120.0
    told = read(plant.y, plant.p, 7.0)
    assert (told.pump_a, told.time_s, told.constants_ok) == (0.5, 4294974.0, 0.0)
    assert (told.vent_wet, told.smoke, told.co_ppm) == (1.0, 1.0, 120.0)
