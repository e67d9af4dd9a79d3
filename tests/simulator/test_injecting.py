"""Faults are set in the plant, cleared without a trace, and tell whether they acted."""

from __future__ import annotations

import pytest

from coilward.simulator import slots as at
from coilward.simulator.faults import FAULTS
from coilward.simulator.faults.injecting import Injector
from tests.simulator.plants import Plant


@pytest.mark.parametrize("name", [row.name for row in FAULTS.values() if row.effects])
def test_a_fault_changes_the_plant_and_clears_without_a_trace(name):
    plant = Plant("boathouse")
    plant.p[at.THERMOSTAT] = 1.0
    sound = list(plant.p)
    faults = Injector(plant.y, plant.p, 2)
    key = faults.begin(name, None)
    assert plant.p != sound
    faults.clear(key)
    assert plant.p == sound


def test_two_faults_of_one_part_leave_in_any_order():
    plant = Plant("boathouse")
    faults = Injector(plant.y, plant.p, 2)
    dead, weak = faults.begin("pump-dies", None), faults.begin("pump-weak", 0.5)
    assert plant.p[at.PUMP_SHARE] == 0.5
    faults.clear(weak)
    assert plant.p[at.PUMP_SHARE] == 0.0
    faults.clear(dead)
    assert plant.p[at.PUMP_SHARE] == 1.0


@pytest.mark.parametrize(("name", "loop", "acts"), [
    ("pump-dies", "boathouse", True), ("fans-fail", "boathouse", True),
    ("fans-fail", "hot-tub", False), ("dump-stuck", "hot-tub", False),
    ("radiator-outlet-open", "hot-tub", False), ("damper-stuck", "boathouse", False),
    ("valve-jams", "boathouse", False), ("meter-dead", "boathouse", True),
    ("outlet-b-open", "boathouse", True), ("fire-larger", "boathouse", True),
    ("supply-low", "boathouse", True), ("board-reboots", "boathouse", True),
])
def test_a_fault_tells_whether_it_took_effect(name, loop, acts):
    plant = Plant(loop)
    faults = Injector(plant.y, plant.p, 2)
    faults.begin(name, None)
    plant.run(5)
    faults.finish()
    assert faults.fired == {name: acts}


def test_a_stuck_part_took_effect_once_it_was_asked_to_move():
    plant = Plant("boathouse")
    faults = Injector(plant.y, plant.p, 2)
    for name in ("damper-stuck", "dump-stuck", "valve-jams"):
        faults.begin(name, None)
    plant.y[at.TOLD_DAMPER], plant.y[at.TOLD_DUMP], plant.y[at.TOLD_VALVE] = 0.0, 1.0, 0.6
    plant.run(5)
    faults.finish()
    assert all(faults.fired.values())
    assert plant.y[at.AIR] == 1.0
    assert plant.y[at.DUMP_OPENING] == 0.0
    assert plant.y[at.STROKE] == 1.0


def test_fire_larger_multiplies_the_share_caught():
    plant = Plant("boathouse")
    plant.y[at.HOLD_W] = -1.0
    plant.p[at.FLAMING_1_S] = plant.p[at.CHAR_1_S] = 1e-12
    Injector(plant.y, plant.p, 2).begin("fire-larger", 1.5)
    share = plant.loop.fire.caught
    conductance = plant.p[at.CAUGHT_FACTOR] * share / (1 - share)
    assert conductance / (1 + conductance) == pytest.approx(1.5 * share)


def test_a_battery_without_its_charger_runs_down_by_what_is_drawn():
    """Ampere hours are amperes times hours; the sag at rest is common practice, no source."""
    plant = Plant("greenhouse")
    plant.run(60)
    full_v = plant.y[at.SUPPLY_V]
    plant.p[at.CHARGER] = 0.0
    plant.p[at.BATTERY_AH] = 15.0
    plant.run(3600)
    load_a = plant.p[at.BOARD_A] + plant.p[at.PUMP_A] * plant.y[at.SPEED] + plant.p[at.FAN_A] * (
        plant.y[at.FAN_SPEED]
    )
    assert plant.y[at.DRAWN_AH] == pytest.approx(load_a, rel=0.05)
    assert plant.y[at.SUPPLY_V] < full_v - 0.3
    plant.run(3600)
    assert plant.y[at.SUPPLY_V] == 0.0
    assert plant.y[at.SPEED] == pytest.approx(0.0, abs=1e-3)
