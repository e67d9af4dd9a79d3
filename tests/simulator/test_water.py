"""Coil, lines, radiator and tank against published formulas and the trade's experience."""

from __future__ import annotations

import math

import pytest

from coilward.loop.document import read_loop
from coilward.loop.hydraulics import flow_lpm
from coilward.loop.sums import freeze, settle
from coilward.loop.water import WATER_C_J_KG_K
from coilward.simulator import slots as at
from coilward.simulator.audit import audit, stored_j
from coilward.simulator.flowing import passing
from coilward.simulator.hydraulics import pumped_lpm, valve_square
from coilward.simulator.pipes import BLOCKS, core_cell_w_k, true_c
from coilward.simulator.wood import glowing_bed
from tests.simulator.plants import LOOPS, Plant, lossless

ROOMS = ("boathouse", "greenhouse")


@pytest.mark.parametrize("name", ROOMS)
@pytest.mark.parametrize("heat", ["nominal", "largest"])
def test_settles_where_the_formula_says(name, heat):
    """Effectiveness of a radiator in well mixed air: eps = 1 - exp(-UA/mc) (textbook)."""
    plant = Plant(lossless(read_loop(name)))
    heat_w = 1e3 * getattr(plant.loop.fire, f"{heat}_kw")
    plant.y[at.HOLD_W] = heat_w
    plant.run(40 * 3600, ticks=16)
    stream_w_k = plant.y[at.FLOW_LPM] * plant.derived.water_w_per_lpm_k
    on_w_k = plant.p[at.FANS_ON_W_K]
    said = settle.settled(heat_w, on_w_k, stream_w_k, plant.y[at.ROOM_AIR], 1.0)
    assert plant.y[at.STUB] == pytest.approx(said.outlet_c, abs=0.05)
    assert plant.y[at.TANK_BOTTOM] == pytest.approx(said.tank_c, abs=0.05)


@pytest.mark.parametrize("name", LOOPS)
@pytest.mark.parametrize("peak", [1.0, 1.5])
def test_first_boil_of_standing_water_in_the_lumped_limit(name, peak):
    """C_coil (T_b - T_out) / (peak Q): heating of a stagnant volume (exact)."""
    loop = read_loop(name)
    plant = Plant(loop.model_copy(update={"coil": loop.coil.model_copy(
        update={"peak_to_mean": peak})}))
    for k in range(at.FILM_POINTS):
        plant.p[at.FILM_ + k] = 1e5
    plant.run(1200)
    plant.pump(on=False)
    plant.run(4.0)
    begun_s, hottest_c = plant.time_s, plant.y[at.WATER_ + at.COIL_CELLS - 1]
    plant.run(300.0)
    formula_s = (
        plant.derived.coil_heat_j_k * (plant.derived.coil_boil_c - hottest_c)
        / (peak * 1e3 * loop.fire.nominal_kw)
    )
    assert plant.y[at.BOILED_S] - begun_s == pytest.approx(formula_s, rel=0.05)


@pytest.mark.parametrize("name", LOOPS)
def test_the_wall_film_delays_the_first_boil(name):
    """Metal first climbs from the flowing to the standing film: a few per cent (calc)."""
    plant = Plant(name)
    plant.run(1200)
    plant.pump(on=False)
    begun_s, hottest_c = plant.time_s, plant.y[at.HOTTEST_WATER]
    plant.run(300.0)
    lumped_s = (
        plant.derived.coil_heat_j_k * (plant.derived.coil_boil_c - hottest_c)
        / (plant.loop.coil.peak_to_mean * 1e3 * plant.loop.fire.nominal_kw)
    )
    # The pump runs down for half a second and what then still flows cools a little.
    ratio = (plant.y[at.BOILED_S] - begun_s - 0.5) / lumped_s
    assert ratio == pytest.approx(plant.derived.film_ratio_nominal, abs=0.02)


@pytest.mark.parametrize("name", LOOPS)
def test_after_a_pump_stop_the_outlet_thermometer_does_not_tell(name):
    """It falls by about 1 K in a minute instead of rising (common practice, no source)."""
    plant = Plant(name)
    plant.run(1200)
    outlet_c, hottest_c = plant.y[at.STUB], plant.y[at.HOTTEST_WATER]
    plant.pump(on=False)
    plant.run(60.0)
    assert -1.5 < plant.y[at.STUB] - outlet_c < 0.0
    assert plant.y[at.HOTTEST_WATER] > hottest_c + 25.0


def test_less_flow_gives_a_hotter_outlet_and_nearly_the_same_heat():
    """46 to 80 degC at the outlet lowers the heat by no more than a tenth (common practice, no
    source): the gas is ten times further away than the water moves."""
    plant = Plant("boathouse")
    plant.p[at.LAYER_J_K] = 1e12
    plant.y[at.HOLD_W] = -1.0
    found = []
    for stroke in (1.0, 0.48):
        plant.y[at.TOLD_VALVE] = stroke
        for _ in range(900):
            glowing_bed(plant.y, plant.p)
            plant.run(1.0)
        found.append((plant.y[at.STUB], plant.y[at.FIRE_W]))
    (cool_c, cool_w), (hot_c, hot_w) = found
    assert hot_c > cool_c + 15.0
    assert 0.9 < hot_w / cool_w < 1.0


@pytest.mark.parametrize("name", ROOMS)
def test_stopping_the_fans_warms_the_tank(name):
    """Common practice, no source; the end is the formula's."""
    plant = Plant(lossless(read_loop(name)))
    plant.run(1800)
    tank_c = plant.y[at.TANK_TOP]
    plant.fans(0.0)
    plant.run(600)
    assert plant.y[at.TANK_TOP] > tank_c + 2.0


def test_coil_adds_more_than_the_radiator_takes_and_the_tank_warms():
    """24 F up in the coil and 13 F down in the radiator at equal flow: the tank warms; 47 against
    44 F is within line losses of balance (common practice, no source)."""
    plant = Plant(lossless(read_loop("boathouse")))
    plant.run(5 * 3600, ticks=16)
    plant.p[at.FANS_ON_W_K] *= 0.5
    plant.run(120)
    up_k = plant.y[at.STUB] - plant.y[at.COLD_ + at.LINE_CELLS - 1]
    down_k = plant.y[at.HOT_ + at.LINE_CELLS - 1] - plant.y[at.CORE_ + at.RADIATOR_CELLS - 1]
    before_c = plant.y[at.TANK_TOP] + plant.y[at.TANK_BOTTOM]
    plant.run(600)
    warmed_k = 0.5 * (plant.y[at.TANK_TOP] + plant.y[at.TANK_BOTTOM] - before_c)
    stream_w_k = plant.y[at.FLOW_LPM] * plant.p[at.W_PER_LPM_K]
    assert up_k > down_k + 2.0
    expected_k = stream_w_k * (up_k - down_k) * 600 / plant.derived.tank_heat_j_k
    assert warmed_k == pytest.approx(expected_k, rel=0.15)


@pytest.mark.parametrize(("first", "loss", "capacity"), [
    (at.COLD_, at.COLD_W_K, at.COLD_J_K), (at.HOT_, at.HOT_W_K, at.HOT_J_K),
])
def test_standing_line_follows_newtons_cooling(first, loss, capacity):
    """T = T_air + (T0 - T_air) exp(-t/tau) (exact), down to 0 degC."""
    plant = Plant("boathouse", hot=False, outdoor_c=-10.0)
    plant.y[first : first + at.LINE_CELLS] = [40.0] * at.LINE_CELLS
    plant.run(1200, ticks=16)
    tau_s = plant.p[capacity] / plant.p[loss]
    assert plant.y[first + 3] == pytest.approx(-10.0 + 50.0 * math.exp(-1200 / tau_s), abs=0.02)


def test_standing_line_freezes_when_the_formula_says():
    """tau ln((T0 - Ta)/(0 - Ta)), then share * R m L / (0 - Ta) (exact for a thin pipe)."""
    plant = Plant("boathouse", hot=False, outdoor_c=-10.0)
    line = plant.loop.lines.cold
    plant.y[at.COLD_ : at.COLD_ + at.LINE_CELLS] = [10.0] * at.LINE_CELLS
    resistance = freeze.resistance_mk_w(
        line.inside_diameter_mm, line.outside_diameter_mm, line.wall_w_mk, line.insulation_mm,
        line.insulation_w_mk, line.wind_w_m2k,
    )
    heat = freeze.heat_j_mk(line.inside_diameter_mm, line.wall_kj_mk)
    to_zero_s = freeze.cool_to_zero_s(resistance, heat, 10.0, -10.0)
    water_kg_m = freeze.pipe_water_kg_m(line.inside_diameter_mm)
    ice_s = freeze.ice_s(resistance, water_kg_m, 0.05, -10.0)
    plant.run(to_zero_s - 30, ticks=4)
    assert plant.y[at.COLD_ + 4] > 0.0
    plant.run(30 + ice_s, ticks=4)
    assert plant.y[at.COLD_ + 4] < 0.0
    ice_share = -plant.y[at.COLD_ + 4] / plant.p[at.COLD_ICE_K]
    assert ice_share == pytest.approx(0.05, abs=0.004)
    assert true_c(plant.y[at.COLD_ + 4], plant.p[at.COLD_ICE_K]) == 0.0
    plant.pump(on=True)
    plant.run(10)
    assert plant.y[at.FLOW_LPM] == 0.0, "ice blocks the line"


def test_ice_is_thawed_by_a_warm_day():
    plant = Plant("boathouse", hot=False, outdoor_c=15.0)
    plant.y[at.COLD_ : at.COLD_ + at.LINE_CELLS] = [-plant.p[at.COLD_ICE_K] - 4.0] * at.LINE_CELLS
    plant.y[at.COLD_LEAST] = plant.y[at.COLD_]
    assert true_c(plant.y[at.COLD_], plant.p[at.COLD_ICE_K]) == pytest.approx(-4.0)
    before_j = stored_j(plant.y, plant.p)
    plant.run(24 * 3600, ticks=16)
    plant.pump(on=True)
    plant.run(60)
    assert plant.y[at.FLOW_LPM] > 5.0
    assert audit(plant.y, plant.p, before_j).closure < 1e-9


@pytest.mark.parametrize("stream_w_k", [20.0, 150.0, 400.0, 900.0])
def test_radiator_cells_give_the_exact_effectiveness(stream_w_k):
    """1 - exp(-UA/mc), one side mixed (Kays & London, from memory) where the stream allows it."""
    conductance_w_k = 200.0
    cell_w_k = core_cell_w_k(conductance_w_k, stream_w_k)
    left = (stream_w_k / (stream_w_k + cell_w_k)) ** at.RADIATOR_CELLS
    exact = math.exp(-conductance_w_k / stream_w_k)
    if conductance_w_k / stream_w_k <= at.RADIATOR_CELLS:
        assert left == pytest.approx(exact, rel=1e-12)
    else:
        assert exact < left < 0.06
    assert core_cell_w_k(conductance_w_k, 0.0) == pytest.approx(conductance_w_k / at.RADIATOR_CELLS)


@pytest.mark.parametrize("name", LOOPS)
@pytest.mark.parametrize("stroke", [0.0, 0.04, 0.06, 0.3, 0.55, 1.0])
@pytest.mark.parametrize("speed", [0.0, 0.6, 1.0, 1.07])
def test_flow_is_the_one_of_the_derived_numbers(name, stroke, speed):
    plant = Plant(name)
    said = flow_lpm(plant.derived.system, stroke, speed)
    found = pumped_lpm(plant.p, speed, valve_square(plant.p, stroke))
    assert found == pytest.approx(said, rel=1e-9)


def test_water_in_the_coil_warms_by_heat_over_stream():
    """Enthalpy balance (exact): Q = m c (T_out - T_in) once nothing moves."""
    plant = Plant("greenhouse")
    plant.p[at.LAYER_J_K] = 1e12
    plant.run(1800, ticks=4)
    stream_w_k = plant.y[at.FLOW_LPM] * plant.derived.water_w_per_lpm_k
    rise_k = plant.y[at.WATER_ + 7] - plant.y[at.COLD_ + at.LINE_CELLS - 1]
    assert stream_w_k * rise_k == pytest.approx(12000.0, rel=1e-3)
    assert plant.derived.coil_water_kg * WATER_C_J_KG_K == pytest.approx(
        plant.p[at.WATER_J_K] * at.COIL_CELLS
    )


def test_views_mean_one_and_end_at_the_peak():
    plant = Plant("boathouse")
    views = plant.p[at.VIEW_ : at.VIEW_ + at.COIL_CELLS]
    assert sum(views) == pytest.approx(at.COIL_CELLS, rel=1e-12)
    assert views[-1] == plant.loop.coil.peak_to_mean
    assert views == sorted(views)


def test_after_the_first_boil_water_stays_at_boiling_and_steam_is_counted():
    plant = Plant("boathouse")
    plant.run(600)
    plant.pump(on=False)
    before_j = stored_j(plant.y, plant.p)
    at_start = plant.y[at.FIRE_J] - plant.y[at.STEAM_J]
    plant.run(200)
    assert plant.y[at.BOILED_S] > 0.0
    assert max(plant.y[at.WATER_ : at.WATER_ + at.COIL_CELLS]) <= plant.derived.coil_boil_c
    assert plant.y[at.STEAM_J] > 0.0
    assert plant.y[at.DRY] == 1.0
    assert plant.y[at.HOTTEST_WALL] > plant.derived.coil_boil_c + 50.0, "a dry coil is not cooled"
    assert plant.y[at.PEAK_WALL] < plant.derived.coil_boil_c + 20.0, "peaks freeze at first boil"
    assert plant.y[at.FIRE_J] - plant.y[at.STEAM_J] > at_start
    assert stored_j(plant.y, plant.p) > before_j
    plant.pump(on=True)
    plant.run(5)
    assert plant.y[at.DRY] == 0.0
    assert plant.y[at.FLOW_LPM] > 1.0


def test_a_little_ice_narrows_the_line():
    """Evenly, down to nothing at a few per cent of ice (common practice, no source)."""
    plant = Plant("boathouse", hot=False, outdoor_c=0.0)
    plant.pump(on=True)
    plant.run(10)
    open_lpm = plant.y[at.FLOW_LPM]
    for share, passes in ((0.5, 0.5), (1.1, 0.0)):
        plant.y[at.COLD_LEAST] = -share * BLOCKS * plant.p[at.COLD_ICE_K]
        assert passing(plant.y, plant.p) == pytest.approx(passes)
    plant.y[at.COLD_ : at.COLD_ + at.LINE_CELLS] = [-0.5 * BLOCKS * plant.p[at.COLD_ICE_K]] * 8
    plant.y[at.COLD_LEAST] = plant.y[at.COLD_]
    plant.run(0.25)
    assert 0.4 < plant.y[at.FLOW_LPM] / open_lpm < 0.6
