"""Welded contact, poor wire, reversed valve, gusts, scale; and the audit with all of it at once."""

from __future__ import annotations

import numpy as np
import pytest

from coilward.simulator import engine
from coilward.simulator import slots as at
from coilward.simulator.audit import audit, stored_j
from coilward.simulator.fire import GUST_S, gust
from coilward.simulator.parameters import judge_afresh, noise_table
from coilward.simulator.sensors import lags, pulses, read
from coilward.simulator.step import step
from tests.simulator.plants import LOOPS, Plant
from tests.simulator.test_passive import device, fitted


def test_a_welded_contact_keeps_the_pump_running_and_tells():
    plant = Plant("boathouse")
    plant.p[at.CONTACT_WELDED] = 1.0
    plant.pump(on=False)
    plant.run(10)
    assert plant.y[at.FLOW_LPM] > 5.0
    assert plant.y[at.WELDED_S] == pytest.approx(10.0)
    assert read(plant.y, plant.p, 0.0).pump_contact == 1.0
    assert read(plant.y, plant.p, 0.0).pump_a > 1.0
    plant.p[at.SUPPLY_OPEN_V] = plant.p[at.PUMP_BATTERY] = 0.0
    plant.run(10)
    assert plant.y[at.FLOW_LPM] < 0.01
    plant.p[at.SUPPLY_OPEN_V] = 12.8
    plant.run(10)
    assert plant.y[at.FLOW_LPM] > 5.0, "it starts by itself into whatever the coil has become"


@pytest.mark.parametrize("ohm", [0.2, 0.475, 3.0])
def test_a_poor_wire_takes_volts_by_ohm_s_law(ohm):
    """The pump as a resistor of its rating: I = V / (R_pump + R_wire)."""
    plant = Plant("greenhouse")
    plant.p[at.PUMP_WIRE_OHM] = ohm
    plant.run(20)
    pump_ohm = plant.p[at.RATED_V] / plant.p[at.PUMP_A]
    drawn_a = plant.y[at.SUPPLY_V] / (pump_ohm + ohm)
    assert plant.p[at.PUMP_A] * plant.y[at.SPEED] == pytest.approx(drawn_a, rel=1e-3)
    lost_v = plant.y[at.SUPPLY_V] - plant.y[at.SPEED] * plant.p[at.RATED_V]
    assert lost_v == pytest.approx(ohm * drawn_a, rel=1e-3)


def test_a_reversed_valve_goes_the_other_way_to_its_stop():
    plant = Plant("boathouse")
    plant.run(10)
    open_lpm = plant.y[at.FLOW_LPM]
    plant.p[at.VALVE_REVERSED] = 1.0
    plant.run(10)
    assert plant.y[at.TOLD_VALVE] == 1.0
    assert plant.y[at.STROKE] == max(plant.loop.valve.stop, plant.loop.valve.backlash)
    assert 0.0 < plant.y[at.FLOW_LPM] < 0.5 * open_lpm
    assert plant.y[at.VALVE_ASKED_S] > 5.0
    plant.y[at.TOLD_VALVE] = 0.2
    plant.run(10)
    assert plant.y[at.STROKE] == pytest.approx(0.8)


@pytest.mark.parametrize("share", [0.3, 1.0])
def test_a_gust_has_the_mean_of_still_air_and_its_stated_size(share):
    plant = Plant("boathouse")
    plant.p[at.GUST] = share
    factors = np.array([gust(plant.p, k * GUST_S / 1000 - 40.0) for k in range(4000)])
    assert factors.mean() == pytest.approx(1.0, abs=1e-12)
    assert factors.max() == pytest.approx(1.0 + share, abs=1e-6)
    assert factors.min() == pytest.approx(1.0 - share, abs=1e-6)
    assert np.abs(np.diff(factors)).max() < share * 8 / 1000 * 1.001, "and no jump"


def test_a_gusty_fire_ripples_about_the_same_heat():
    plant = Plant("boathouse")
    plant.run(60)
    plant.p[at.GUST] = 0.3
    heats = []
    for _ in range(4 * 200):
        plant.run(0.25)
        heats.append(plant.y[at.FIRE_W])
    nominal_w = plant.p[at.NOMINAL_W]
    assert np.mean(heats) == pytest.approx(nominal_w, rel=1e-6)
    assert max(heats) == pytest.approx(1.3 * nominal_w, rel=1e-3)
    assert min(heats) == pytest.approx(0.7 * nominal_w, rel=1e-3)


def test_scale_in_the_coil_widens_the_step_from_metal_to_water():
    """q = h (T_wall - T_water): half the film, twice the step (exact)."""
    steps_k = []
    for share in (1.0, 0.5):
        plant = Plant("boathouse")
        plant.p[at.FILM_SHARE], plant.p[at.LAYER_J_K] = share, 1e12
        plant.run(1200)
        last = at.COIL_CELLS - 1
        steps_k.append(plant.y[at.WALL_ + last] - plant.y[at.WATER_ + last])
    assert steps_k[1] / steps_k[0] == pytest.approx(2.0, rel=1e-3)


def test_the_flue_s_thermometer_sees_what_is_added():
    plant = Plant("boathouse")
    plant.run(1)
    sound_c = plant.y[at.FLUE_GAS]
    plant.p[at.FLUE_ADDS_K] = 200.0
    plant.run(0.25)
    assert plant.y[at.FLUE_GAS] == pytest.approx(sound_c + 200.0, abs=0.5)


def test_a_told_horn_is_counted():
    plant = Plant("boathouse")
    plant.y[at.HORN] = 3.0
    plant.run(5)
    assert plant.y[at.HORN_ASKED_S] == pytest.approx(5.0)


EVERYTHING = {
    "PUMP_AIR": 0.1, "AIR_LOCK": 0.1, "CLOG": 0.5, "KINK_1_K": 0.02, "CAVITATES_C": 30.0,
    "LEAK_LPM": 2.0, "FILM_SHARE": 0.8, "GUST": 0.3, "FLUE_ADDS_K": 50.0, "PUMP_WIRE_OHM": 0.2,
    "VALVE_REVERSED": 1.0, "METER_ADDS_LPM": 0.5, "CURRENT_ADDS_A": 0.2, "CLOCK_ADDS_S": 5.0,
}


def upset(name):
    """A plant with everything wrong that can be at once, and a small quench coil."""
    plant = Plant(fitted(name, quench_coil=device(3.0)))
    for slot, value in EVERYTHING.items():
        plant.p[getattr(at, slot)] = value
    plant.p[at.SCALE_ : at.SCALE_ + 3] = [1.03, 0.97, 1.01]
    plant.p[at.EXTRA_LAG_S_ : at.EXTRA_LAG_S_ + 3] = [30.0, 0.0, 20.0]
    plant.y[at.TOLD_VALVE] = 0.7
    return plant


@pytest.mark.parametrize("ticks", [1, 4, 16])
@pytest.mark.parametrize("name", LOOPS)
def test_the_audit_closes_with_everything_wrong_at_once(name, ticks):
    plant = upset(name)
    judge_afresh(plant.y)
    before_j = stored_j(plant.y, plant.p)
    plant.run(1800, ticks)
    plant.p[at.HOSE_OFF] = 1.0
    plant.run(1800, ticks)
    found = audit(plant.y, plant.p, before_j)
    assert found.closure < 1e-11
    assert found.held > 0.0
    assert found.leak > 0.0
    assert plant.y[at.LEVEL_NOW] < 0.9


def turned(y, p, noise, tick, until):
    """Steps, lags and pulses without a board."""
    while tick < until:
        step(y, p, 4, 4 * p[at.TICK_S], (tick + 4) * p[at.TICK_S])
        lags(y, p, 4)
        pulses(y, p, noise)
        tick += 4
    return tick


@pytest.mark.skipif(not engine.can_compile(), reason="numba is not installed")
@pytest.mark.parametrize("name", LOOPS)
def test_both_engines_give_the_same_bits_with_everything_wrong(name):
    noise, states = noise_table(3), []
    for run, made in ((turned, list), (engine.compiled(turned), np.array)):
        plant = upset(name)
        y, p = made(plant.y), made(plant.p)
        tick = run(y, p, made(noise), 0, 4000)
        p[at.HOSE_OFF], p[at.CONTACT_WELDED] = 1.0, 1.0
        y[at.CONTACT] = 0.0
        tick = run(y, p, made(noise), tick, tick + 2000)
        p[at.SUPPLY_OPEN_V] = 0.0
        run(y, p, made(noise), tick, tick + 2000)
        states.append(np.array(y))
    assert states[0].tobytes() == states[1].tobytes()
    assert states[0][at.LEAKED_L] > 10.0
    assert states[0][at.HELD_J] > 0.0
