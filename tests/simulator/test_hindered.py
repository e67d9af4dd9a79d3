"""What hinders the water, or lets it out: clogs, kinks, air, hot suction, leaks, a hose off."""

from __future__ import annotations

import math

import pytest

from coilward.simulator import slots as at
from coilward.simulator.actuators import AIR_SPARES, pump_current_a
from coilward.simulator.audit import audit, stored_j
from coilward.simulator.hydraulics import HOSE_LEFT, SUCTION_SHARE
from coilward.simulator.parameters import noise_table
from coilward.simulator.sensors import NOISE_POINTS, pulses, read
from tests.simulator.plants import LOOPS, Plant


def root_lpm(plant, head_left=1.0, resists=1.0):
    """Where head meets loss, by halving; none of the production code's formula."""
    p, speed = plant.p, plant.y[at.SPEED]

    def surplus(q):
        head = p[at.HEAD0_KPA] * speed**2 + p[at.HEAD1] * speed * q + p[at.HEAD2] * q * q
        loss = resists * (p[at.LOOP1] * q + p[at.LOOP2] * q * q)
        return head_left * head - loss - plant.y[at.VALVE_SQUARE] * q * q

    low, high = 0.0, 200.0
    for _ in range(200):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if surplus(middle) > 0.0 else (low, middle)
    return low


def litres(plant):
    """Water in the tank, from its level."""
    return plant.y[at.LEVEL_NOW] * plant.loop.tank.water_l


@pytest.mark.parametrize("name", LOOPS)
def test_a_clog_leaves_the_flow_at_the_root_of_head_and_loss(name):
    plant = Plant(name)
    plant.run(10)
    assert plant.y[at.FLOW_LPM] == pytest.approx(root_lpm(plant), rel=1e-6)
    plant.p[at.CLOG] = 3.0
    plant.run(10)
    assert plant.y[at.FLOW_LPM] == pytest.approx(root_lpm(plant, resists=4.0), rel=1e-6)
    plant.p[at.CLOG] = 0.0
    plant.run(10)
    assert plant.y[at.FLOW_LPM] == pytest.approx(root_lpm(plant), rel=1e-6)


def test_a_hose_kinks_only_when_it_is_hot():
    """1 + k (T - 60) times the loop's resistance."""
    plant = Plant("boathouse")
    plant.p[at.KINK_1_K] = 0.2
    plant.y[at.HOT_ : at.HOT_ + at.LINE_CELLS] = [50.0] * at.LINE_CELLS
    plant.run(0.25)
    cool_lpm = plant.y[at.FLOW_LPM]
    assert cool_lpm == pytest.approx(root_lpm(plant), rel=1e-6)
    for first in (at.HOT_, at.WATER_, at.WALL_):
        plant.y[first : first + 8] = [70.0] * 8
    plant.y[at.STUB] = hot_c = 70.0
    plant.run(0.25)
    assert plant.y[at.FLOW_LPM] == pytest.approx(
        root_lpm(plant, resists=1.0 + 0.2 * (hot_c - 60.0)), rel=1e-3
    )
    assert plant.y[at.FLOW_LPM] < 0.8 * cool_lpm


def test_air_in_the_pump_takes_head_and_current():
    plant = Plant("greenhouse")
    plant.run(10)
    share = plant.y[at.FLOW_LPM] / plant.derived.flow_open_lpm
    sound_a = pump_current_a(plant.y, plant.p, share)
    plant.p[at.PUMP_AIR] = 0.5
    plant.run(10)
    assert plant.y[at.FLOW_LPM] == pytest.approx(root_lpm(plant, head_left=0.5), rel=1e-6)
    assert pump_current_a(plant.y, plant.p, share) == pytest.approx(
        sound_a * (1 - 0.5 * AIR_SPARES), rel=1e-3
    )
    plant.p[at.PUMP_AIR] = 1.0
    plant.run(10)
    assert plant.y[at.FLOW_LPM] == 0.0
    assert pump_current_a(plant.y, plant.p, 0.0) < 0.6 * sound_a, (
        "under 60 % of its current (common practice, no source)"
    )


def test_an_air_lock_takes_its_share_and_the_pulses_flutter():
    plant = Plant("greenhouse")
    plant.run(10)
    sound_lpm = plant.y[at.FLOW_LPM]
    plant.p[at.AIR_LOCK] = 0.4
    plant.run(10)
    assert plant.y[at.FLOW_LPM] == pytest.approx(0.6 * sound_lpm, rel=1e-6)
    noise, seen = noise_table(1), []
    for _ in range(2000):
        pulses(plant.y, plant.p, noise)
        seen.append(plant.y[at.PULSE_LPM])
    mean = sum(seen) / len(seen)
    spread = math.sqrt(sum((x - mean) ** 2 for x in seen) / len(seen)) / mean
    assert mean == pytest.approx(plant.y[at.FLOW_LPM], rel=0.02)
    assert 0.09 < spread < 0.16


@pytest.mark.parametrize(("over_k", "left"), [(-1.0, 1.0), (3.0, 0.7), (12.0, 0.0)])
def test_a_hot_suction_costs_a_tenth_of_the_head_a_kelvin(over_k, left):
    plant = Plant("boathouse")
    plant.p[at.CAVITATES_C] = plant.y[at.COLD_] - over_k
    plant.run(0.25)
    plant.y[at.SPEED] = 1.0
    plant.p[at.CAVITATES_C] = plant.y[at.COLD_] - over_k
    plant.run(0.25)
    assert plant.y[at.FLOW_LPM] == pytest.approx(root_lpm(plant, head_left=left), abs=0.02)


@pytest.mark.parametrize("name", LOOPS)
def test_a_leak_empties_the_tank_by_plain_arithmetic(name):
    """Litres over litres a minute, down to where the pump sucks air."""
    plant = Plant(name)
    leaks_lpm = 0.005 * plant.loop.tank.water_l
    before_j = stored_j(plant.y, plant.p)
    plant.p[at.LEAK_LPM] = leaks_lpm
    plant.run(60.0 * 0.5 * (1.0 - SUCTION_SHARE) / 0.005, ticks=4)
    assert litres(plant) == pytest.approx((0.5 + 0.5 * SUCTION_SHARE) * plant.loop.tank.water_l)
    flow_lpm = plant.y[at.FLOW_LPM]
    plant.run(60.0 * 0.5 * (1.0 - SUCTION_SHARE) / 0.005, ticks=4)
    assert plant.y[at.LEVEL_NOW] == pytest.approx(SUCTION_SHARE, abs=1e-9)
    assert plant.y[at.FLOW_LPM] == pytest.approx(flow_lpm, rel=1e-3), "up to here it is full"
    assert plant.y[at.LEAKED_L] == pytest.approx(0.85 * plant.loop.tank.water_l)
    plant.run(60.0 * 0.04 / 0.005, ticks=4)
    assert plant.y[at.FLOW_LPM] == 0.0, "it sucks nothing but air"
    assert audit(plant.y, plant.p, before_j).closure < 1e-11


def test_half_a_litre_a_minute_takes_eight_hours_and_a_half_from_300_litres():
    plant = Plant("greenhouse", hot=False)
    assert plant.loop.tank.water_l == 300.0
    plant.p[at.LEAK_LPM] = 0.5
    plant.run(510 * 60, ticks=16)
    assert plant.y[at.LEVEL_NOW] == pytest.approx(SUCTION_SHARE, abs=1e-6)


def test_a_tank_that_is_half_empty_warms_twice_as_fast():
    """Q = M c dT/dt (exact), stirred, without losses and with nothing drawn."""
    rates = []
    for level in (1.0, 0.5):
        plant = Plant("hot-tub")
        plant.p[at.TANK_W_K] = 0.0
        plant.y[at.LEVEL_NOW] = level
        plant.run(300)
        before = plant.y[at.TANK_TOP] + plant.y[at.TANK_BOTTOM]
        plant.run(600)
        rates.append(plant.y[at.TANK_TOP] + plant.y[at.TANK_BOTTOM] - before)
    assert rates[1] / rates[0] == pytest.approx(2.0, rel=0.02)


def test_a_hose_that_is_off_starves_the_coil_while_the_meter_turns():
    plant = Plant("boathouse")
    plant.run(60)
    before_j = stored_j(plant.y, plant.p)
    begun = audit(plant.y, plant.p, 0.0)
    sound_lpm = plant.y[at.FLOW_LPM]
    plant.p[at.HOSE_OFF] = 1.0
    plant.run(60)
    assert plant.y[at.FLOW_LPM] == 0.0
    spilt_lpm = plant.y[at.SPILT_LPM]
    assert spilt_lpm == pytest.approx(root_lpm(plant, resists=HOSE_LEFT), rel=1e-6)
    assert spilt_lpm > sound_lpm
    for _ in range(20):
        pulses(plant.y, plant.p, [0.0] * NOISE_POINTS)
    assert plant.y[at.PULSE_LPM] == pytest.approx(spilt_lpm, rel=1e-6)
    assert plant.y[at.LEAKED_L] == pytest.approx(spilt_lpm, rel=0.02), "a minute of it"
    plant.run(180)
    assert plant.y[at.BOILED_S] > 0.0
    ended = audit(plant.y, plant.p, before_j)
    gained_j = ended.fire - begun.fire
    lost_j = sum(
        getattr(ended, name) - getattr(begun, name)
        for name in ("room", "dump", "lines", "tank", "steam", "held", "leak")
    )
    assert gained_j - lost_j == pytest.approx(ended.stored, rel=1e-9)
    plant.run(3600, ticks=4)
    assert 0.1 < plant.y[at.LEVEL_NOW] < SUCTION_SHARE
    assert plant.y[at.SPILT_LPM] < 0.5, "with no more to suck, the rest stays"


@pytest.mark.parametrize(("level", "mark", "stuck", "low"), [
    (0.5, 1.0, -1.0, 1.0), (1.0, 0.5, -1.0, 1.0), (1.0, 1.0, -1.0, 0.0), (0.2, 1.0, 1.0, 0.0),
    (1.0, 1.0, 0.1, 1.0),
])
def test_the_float_shows_the_lower_of_level_and_mark_unless_it_sticks(level, mark, stuck, low):
    plant = Plant("boathouse")
    plant.y[at.LEVEL_NOW], plant.p[at.LEVEL], plant.p[at.FLOAT_STUCK] = level, mark, stuck
    assert read(plant.y, plant.p, 0.0).level_low == low
