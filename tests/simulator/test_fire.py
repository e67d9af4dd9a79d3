"""The fire: wood in, heat out."""

from __future__ import annotations

import math

import pytest

from coilward.simulator import slots as at
from coilward.simulator.fire import DRY_WOOD_J_KG, EVAPORATION_J_KG
from coilward.simulator.night import Moment
from coilward.simulator.wood import charge_dry_kg, light, reload
from tests.simulator.plants import LOOPS, Plant


def wood(mass, lively=1.0, moisture=0.2):
    return Moment.model_validate(
        {"at": "0 s", "do": "reload", "mass": mass, "lively": lively, "moisture": moisture}
    )


def burning(name):
    """A plant that was just let go at its nominal heat."""
    plant = Plant(name)
    plant.y[at.HOLD_W] = -1.0
    return plant


@pytest.mark.parametrize(("moisture", "net_mj_kg"), [(0.2, 14.3), (0.5, 8.0)])
def test_net_calorific_value(moisture, net_mj_kg):
    """NCV of wet wood, 20 % 14.3 and 50 % 8.0 MJ/kg (wood-fuel handbook)."""
    net = DRY_WOOD_J_KG * (1 - moisture) - EVAPORATION_J_KG * moisture
    assert net / 1e6 == pytest.approx(net_mj_kg, abs=0.15)


@pytest.mark.parametrize("name", LOOPS)
def test_one_charge_holds_the_energy_of_its_interval(name):
    plant = Plant(name)
    fire = plant.loop.fire
    dry_kg = charge_dry_kg(plant.p, 60 * fire.charge_interval_min, 0.2)
    wet_kg = dry_kg / 0.8
    net_j = wet_kg * (0.8 * DRY_WOOD_J_KG - 0.2 * EVAPORATION_J_KG)
    wanted_j = 1e3 * fire.nominal_kw * 60 * fire.charge_interval_min / fire.caught
    assert net_j == pytest.approx(wanted_j)


@pytest.mark.parametrize("name", LOOPS)
def test_a_steady_feed_gives_the_nominal_heat(name):
    """One charge an interval, in small loads, is the nominal heat on the average."""
    plant = burning(name)
    plant.p[at.LAYER_J_K] *= 1e6
    interval_s = 60 * plant.loop.fire.charge_interval_min
    for _ in range(60):
        reload(plant.y, plant.p, plant.loop, wood("0.1 charge"))
        plant.run(interval_s / 10, ticks=4)
    before_j, before_s = plant.y[at.FIRE_J], plant.time_s
    for _ in range(20):
        reload(plant.y, plant.p, plant.loop, wood("0.1 charge"))
        plant.run(interval_s / 10, ticks=4)
    mean_w = (plant.y[at.FIRE_J] - before_j) / (plant.time_s - before_s)
    assert mean_w == pytest.approx(1e3 * plant.loop.fire.nominal_kw, rel=0.05)


@pytest.mark.parametrize("name", LOOPS)
def test_a_full_lively_load_reaches_the_largest_heat(name):
    """The largest fire of the loop file is what a full lively load makes, and little more."""
    plant = burning(name)
    plant.p[at.LAYER_J_K] *= 1e6
    reload(plant.y, plant.p, plant.loop, wood("2 charge", lively=3.0, moisture=0.15))
    most_w = 0.0
    for _ in range(1800):
        plant.run(1.0, ticks=4)
        most_w = max(most_w, plant.y[at.FIRE_W])
    assert most_w == pytest.approx(1e3 * plant.loop.fire.largest_kw, rel=0.03)


def test_wet_wood_first_cools_the_fire_and_then_it_surges():
    plant = burning("boathouse")
    start_w = plant.p[at.NOMINAL_W]
    reload(plant.y, plant.p, plant.loop, wood("1 charge", lively=2.0, moisture=0.35))
    plant.run(120.0)
    early_w = plant.y[at.FIRE_W]
    plant.run(600.0)
    assert early_w < start_w < plant.y[at.FIRE_W]


@pytest.mark.parametrize("name", LOOPS)
def test_a_held_fire_decays_with_its_time_constant_after_the_damper_shuts(name):
    plant = Plant(name)
    plant.run(60)
    plant.y[at.TOLD_DAMPER] = 0.0
    tau_s = 60 * plant.loop.fire.decay_min
    plant.run(tau_s, ticks=4)
    leak = plant.loop.fire.damper_leak
    expected = plant.p[at.NOMINAL_W] * (leak + (1 - leak) * math.exp(-1))
    assert plant.y[at.FIRE_W] == pytest.approx(expected, rel=2e-3)


def test_an_open_damper_gives_air_in_ten_seconds():
    plant = Plant("boathouse")
    plant.y[at.AIR] = plant.p[at.GAS_LEAK]
    plant.run(10)
    assert plant.y[at.AIR] > 0.9


@pytest.mark.parametrize("name", LOOPS)
def test_lit_wood_burns_up_and_wood_on_a_dead_fire_does_not(name):
    plant = Plant(name, hot=False)
    plant.y[at.TOLD_DAMPER] = 1.0
    reload(plant.y, plant.p, plant.loop, wood("0.5 charge"))
    plant.run(1800, ticks=4)
    assert plant.y[at.FIRE_W] < 0.01 * plant.p[at.NOMINAL_W]
    light(plant.y, plant.p, plant.loop, wood("0.5 charge"))
    plant.pump(on=True)
    plant.run(1800, ticks=4)
    assert plant.y[at.FIRE_W] > 0.5 * plant.p[at.NOMINAL_W]
    plant.run(6 * 3600, ticks=16)
    assert plant.y[at.FIRE_W] < 0.02 * plant.p[at.NOMINAL_W]


def test_release_is_limited_by_air():
    plant = burning("boathouse")
    for _ in range(4):
        reload(plant.y, plant.p, plant.loop, wood("5 charge", lively=3.0, moisture=0.0))
    plant.run(1200)
    ceiling_w = plant.p[at.CEILING_W] * plant.loop.fire.caught
    assert plant.y[at.FIRE_W] < 1.05 * ceiling_w
