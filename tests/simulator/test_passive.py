"""Hardware that works without the board: quench coil, battery, contactor, thermostat, damper."""

from __future__ import annotations

import math
from datetime import date

import pytest

from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.loop.model import Device
from coilward.simulator import slots as at
from coilward.simulator.audit import audit, stored_j
from coilward.simulator.coil import HOLDS_FULLY_K
from coilward.simulator.night import Night
from coilward.simulator.parameters import parameters
from coilward.simulator.power import EMPTY_SAG_SHARE, SOURCE_OHM, board_away, supply_away
from coilward.simulator.rehearsal import rehearse
from tests.simulator.plants import LOOPS, TODAY, Plant

PROVEN, LONG_AGO = date(2026, 10, 3), date(2020, 10, 3)


def fitted(name, **devices):
    """A shipped loop with these passive devices; None takes one out."""
    loop = read_loop(name)
    return loop.model_copy(update={"passive": loop.passive.model_copy(update=devices)})


def device(carries_kw=None, proven=PROVEN):
    return Device(proven=proven, carries=None if carries_kw is None else f"{carries_kw} kW")


def standing(loop, **slots):
    """A plant at its largest fire whose pump has just stopped for good."""
    plant = Plant(loop)
    plant.y[at.HOLD_W] = 1e3 * plant.loop.fire.largest_kw
    plant.run(600)
    plant.pump(on=False)
    plant.run(4.0)
    for name, value in slots.items():
        plant.p[getattr(at, name)] = value
    return plant


@pytest.mark.parametrize("name", LOOPS)
@pytest.mark.parametrize("kind", ["quench_coil", "gravity_dump"])
def test_a_device_that_carries_the_fire_holds_standing_water(name, kind):
    """Each cell takes Q v / n, and gives that at the share Q / carried of the span to full."""
    largest_kw = read_loop(name).fire.largest_kw
    plant = standing(fitted(name, **{kind: device(1.25 * largest_kw)}))
    before_j = stored_j(plant.y, plant.p)
    begun_j = audit(plant.y, plant.p, before_j)
    plant.run(3600, ticks=4)
    assert plant.y[at.BOILED_S] < 0.0
    over_k = plant.p[at.HELD_FROM_C] + HOLDS_FULLY_K / 1.25
    assert plant.y[at.WATER_ : at.WATER_ + at.COIL_CELLS] == pytest.approx(
        [over_k] * at.COIL_CELLS, abs=0.01
    )
    assert plant.y[at.HELD_W] == pytest.approx(1e3 * largest_kw, rel=1e-3)
    ended = audit(plant.y, plant.p, before_j)
    assert ended.held - begun_j.held == pytest.approx(1e3 * largest_kw * 3600, rel=0.05)


@pytest.mark.parametrize("name", LOOPS)
def test_without_a_device_the_same_coil_boils(name):
    """C_coil (T_b - T_out) / (peak Q), heating of a stagnant volume (exact, without films)."""
    plant = standing(name)
    assert plant.p[at.HELD_CAP_W] == 0.0
    begun_s, hottest_c = plant.time_s, plant.y[at.HOTTEST_WATER]
    plant.run(200.0)
    lumped_s = plant.derived.coil_heat_j_k * (plant.derived.coil_boil_c - hottest_c) / (
        plant.loop.coil.peak_to_mean * plant.y[at.HOLD_W]
    )
    assert plant.y[at.BOILED_S] - begun_s == pytest.approx(lumped_s, rel=0.08)
    assert plant.y[at.HELD_J] == 0.0


def test_a_device_too_small_for_the_fire_lets_the_coil_boil_later():
    plain, small = standing("boathouse"), standing(fitted("boathouse", quench_coil=device(4.0)))
    for plant in (plain, small):
        plant.run(1200.0)
    assert small.y[at.BOILED_S] > plain.y[at.BOILED_S] > 0.0
    assert small.y[at.HELD_W] <= 4000.0 + 1e-9


@pytest.mark.parametrize("carries", [1.05, None])
def test_a_night_without_its_pump_boils_only_without_the_device(carries):
    """With the board, the largest fire, and nobody there."""
    night = Night.model_validate({
        "coilward": 1, "name": "made", "duration": "40 min", "start": "running",
        "moment": [{"at": "1 min", "do": "hold", "heat": "largest"},
                   {"at": "10 min", "do": "fault", "fault": "pump-dies"}],
    })  # fmt: skip
    largest_kw = read_loop("boathouse").fire.largest_kw
    quench = None if carries is None else device(carries * largest_kw)
    made = rehearse(fitted("boathouse", quench_coil=quench), night, today=TODAY)
    assert made.faults_fired == {"pump-dies": True}
    assert made.energy_closure < 1e-9
    assert (made.first_boil_s is None) == (carries is not None)
    if carries is not None:
        assert made.margins.boil_k > 5.0


@pytest.mark.parametrize("name", LOOPS)
def test_no_device_acts_in_a_normal_run(name):
    """The board dumps before the outlet is where either opens."""
    loop = fitted(name, quench_coil=device(50.0), gravity_dump=device(50.0))
    plant = Plant(loop)
    plant.y[at.HOLD_W] = 1e3 * loop.fire.largest_kw
    plant.run(2400, ticks=4)
    assert plant.y[at.HELD_J] == 0.0
    assert plant.p[at.HELD_FROM_C] > plant.derived.outlet_dump_c + 2.0
    assert plant.p[at.HELD_FROM_C] + HOLDS_FULLY_K < plant.derived.coil_boil_c - 5.0


def test_only_what_is_proven_counts():
    names = (
        ("quench_coil", "HELD_CAP_W"), ("pump_battery", "PUMP_BATTERY"),
        ("no_volt_release", "SEALS_IN"), ("fan_thermostat", "THERMOSTAT"),
        ("gravity_damper", "DAMPER_FALLS"),
    )
    for name, slot in names:
        for day, counts in ((PROVEN, True), (LONG_AGO, False)):
            loop = fitted("boathouse", **{name: device(9.0, day)})
            p = parameters(loop, derive(loop, TODAY), -10.0)
            assert (p[getattr(at, slot)] > 0.0) == counts, (name, day)


def test_the_pump_goes_on_from_its_battery_for_its_ampere_hours():
    """Current goes with a voltage that sags evenly with the charge: t = C ln(I0/I1) / (I0 - I1)."""
    plant = Plant("greenhouse")
    plant.run(60)
    plant.p[at.SUPPLY_OPEN_V], plant.p[at.BATTERY_AH] = 0.0, 2.0
    ohms = plant.p[at.RATED_V] / plant.p[at.PUMP_A] + SOURCE_OHM
    full_a = plant.loop.power.resting_v / ohms
    empty_a = (plant.loop.power.resting_v - EMPTY_SAG_SHARE * plant.p[at.RATED_V]) / ohms
    lasts_s = 3600 * 2.0 * math.log(full_a / empty_a) / (full_a - empty_a)
    supply_away(plant.y, plant.p)
    plant.run(60)
    assert plant.y[at.SUPPLY_V] == 0.0
    assert plant.y[at.FLOW_LPM] > 5.0
    plant.run(lasts_s - 60 - 3)
    assert plant.y[at.CONTACT] == 1.0
    plant.run(6)
    assert plant.y[at.CONTACT] == 0.0, "no volts, the contactor drops"
    assert plant.y[at.FLOW_LPM] < 0.01
    plant.p[at.SUPPLY_OPEN_V] = 12.8
    plant.run(60)
    assert plant.y[at.FLOW_LPM] < 0.01, "and stays off when the volts come back"


@pytest.mark.parametrize("without", ["pump_battery", "no_volt_release"])
def test_a_pump_without_battery_or_release_stops_with_the_board_s_supply(without):
    plant = Plant(fitted("greenhouse", **{without: None}))
    plant.run(60)
    plant.p[at.SUPPLY_OPEN_V] = 0.0
    supply_away(plant.y, plant.p)
    plant.run(10)
    assert plant.y[at.FLOW_LPM] < 0.01


@pytest.mark.parametrize(("release", "holds"), [(device(), 1.0), (None, 0.0)])
def test_a_board_that_is_away_drops_a_plain_relay_only(release, holds):
    plant = Plant(fitted("boathouse", no_volt_release=release))
    plant.run(10)
    board_away(plant.y, plant.p)
    plant.run(10)
    assert plant.y[at.CONTACT] == holds
    assert plant.y[at.TOLD_DAMPER] == 0.0


def test_a_damper_with_no_weight_stays_open_when_the_supply_dies():
    for falls, air in ((device(), 0.0), (None, 1.0)):
        plant = Plant(fitted("boathouse", gravity_damper=falls))
        plant.run(60)
        plant.p[at.SUPPLY_OPEN_V] = 0.0
        supply_away(plant.y, plant.p)
        plant.run(10)
        assert plant.y[at.DAMPER] == air


def test_parts_without_volts_go_where_weight_and_spring_take_them():
    """A board that is still told to hold them can't: there is nothing to hold with."""
    plant = Plant("boathouse")
    plant.run(60)
    plant.p[at.SUPPLY_OPEN_V] = plant.p[at.PUMP_BATTERY] = 0.0
    plant.run(30)
    assert plant.y[at.TOLD_DAMPER] == plant.y[at.TOLD_FANS] == 1.0
    assert plant.y[at.DAMPER] == 0.0
    assert plant.y[at.FAN_SPEED] < 0.01
    assert plant.y[at.DUMP_OPENING] > 0.99
    assert plant.y[at.CONTACT] == 0.0


@pytest.mark.parametrize("disc", [True, False])
def test_the_thermostat_runs_the_fans_by_the_heat_of_the_pipe(disc):
    plant = Plant("boathouse" if disc else fitted("boathouse", fan_thermostat=None))
    plant.fans(0.0)
    plant.run(30)
    assert plant.y[at.FAN_SPEED] < 0.01
    plant.y[at.TANK_TOP] = plant.y[at.TANK_BOTTOM] = 70.0
    plant.run(240)
    assert (plant.y[at.FAN_SPEED] > 0.9) == disc
    plant.y[at.TANK_TOP] = plant.y[at.TANK_BOTTOM] = 50.0
    plant.y[at.HOLD_W] = 0.0
    plant.run(240)
    assert plant.y[at.HOT_ + at.LINE_CELLS - 1] < 55.0
    assert plant.y[at.FAN_SPEED] < 0.01
