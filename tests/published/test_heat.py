"""Heat transfer, boiling, cooling and freezing against published values and second methods."""

from __future__ import annotations

import math

import ht
import pytest
from scipy.integrate import solve_ivp

from coilward.loop.derived import derive
from coilward.loop.sums import boil, film, freeze, settle
from coilward.loop.units import BTU_J, US_GALLON_L
from coilward.loop.water import (
    WATER_C_J_KG_K,
    WATER_KG_M3,
    density_kg_m3,
    enthalpy_kj_kg,
    heat_per_lpm_k,
    latent_heat_kj_kg,
)
from tests.loop.examples import TODAY, shipped

# Incropera, worked examples: the answers as in a textbook companion's recomputation, the inputs
# from memory.


def test_incropera_8_3_film_from_the_log_mean():
    """0.25 kg/s from 15 to 57 degC in 6 m of 50 mm tube at 100 degC: 754 W/m2/K."""
    heat = settle.heat_w(0.25 * 4178, 15, 57)
    mean = settle.log_mean_k(100 - 15, 100 - 57)
    h = heat / (film.inner_area_m2(6, 0.05) * mean)
    assert h == pytest.approx(754, rel=0.003)


def test_incropera_11_1_counter_flow_length():
    """Oil 100 to 60 degC against water 30 to 40.2, U 38.1, 25 mm: 65.7 m."""
    heat = settle.heat_w(0.1 * 2131, 60, 100)
    mean = settle.log_mean_k(100 - 40.2, 60 - 30)
    length = heat / (38.1 * math.pi * 0.025 * mean)
    assert length == pytest.approx(65.7, rel=0.005)


def test_incropera_9_4_horizontal_cylinder():
    """The Churchill-Chu correlation that our standing film calls: 763 W/m with radiation."""
    rayleigh = 9.81 * 2.725e-3 * 142 / 32.8e-6 * 0.1**3 / 22.8e-6
    nusselt = ht.Nu_horizontal_cylinder_Churchill_Chu(Pr=0.697, Gr=rayleigh / 0.697)
    free = nusselt * 0.0313 / 0.1 * math.pi * 0.1 * 142
    radiated = 0.85 * math.pi * 0.1 * 5.67e-8 * (438**4 - 296**4)
    assert free + radiated == pytest.approx(763, abs=1)


def test_laminar_even_flux():
    """48/11 = 4.364, exact (Incropera prints 4.36)."""
    assert film.nusselt_in_tube(1000, 3.0) == pytest.approx(4.364, abs=5e-4)


def test_turbulent_film_against_dittus_boelter():
    """Two correlations of one thing; Incropera gives either up to 25 %."""
    for reynolds in (1e4, 3e4, 1e5):
        other = 0.023 * reynolds**0.8 * 3.0**0.4
        assert film.nusselt_in_tube(reynolds, 3.0) == pytest.approx(other, rel=0.25)


def test_film_has_no_jump_between_laminar_and_turbulent():
    for edge in (film.LAMINAR_RE, 4000.0):
        below, above = (film.nusselt_in_tube(edge + step, 3.0) for step in (-1e-6, 1e-6))
        assert below == pytest.approx(above, rel=1e-6)


@pytest.mark.parametrize(("ntu", "exact"), [(0.3, 0.2592), (1.0, 0.6321), (2.0, 0.8647)])
def test_effectiveness_is_the_limit_of_every_exchanger(ntu, exact):
    """Well-mixed air: 1 - exp(-NTU); the exact cross-flow series gives the same at Cr -> 0."""
    assert settle.effectiveness(ntu * 300, 300) == pytest.approx(exact, abs=6e-5)
    cross = ht.effectiveness_from_NTU(NTU=ntu, Cr=1e-6, subtype="crossflow")
    assert settle.effectiveness(ntu * 300, 300) == pytest.approx(cross, abs=1e-5)


@pytest.mark.parametrize(
    ("ntu", "ratio", "exact"),
    [(1, 0.25, 0.588), (1, 0.5, 0.5475), (1, 0.75, 0.510), (1, 1.0, 0.476), (2, 0.5, 0.732)],
)
def test_real_air_makes_an_apparent_conductance(ntu, ratio, exact):
    """Cross-flow, both unmixed (calculated; Kays and London from memory).

    A radiator measured with real air has an apparent conductance below its true one; ours is the
    apparent one, and gives back the same heat.
    """
    cross = ht.effectiveness_from_NTU(NTU=ntu, Cr=ratio, subtype="crossflow")
    assert cross == pytest.approx(exact, abs=6e-4)
    stream = 200.0  # the water is the smaller stream
    outlet = 70 - cross * (70 - 15)
    apparent = settle.radiator_conductance_w_k(70, outlet, 15, stream)
    assert apparent < ntu * stream
    assert settle.effectiveness(apparent, stream) == pytest.approx(cross, rel=1e-12)


@pytest.mark.parametrize(
    ("air_m3_s", "rough", "exact"), [(0.2, 167, 162), (0.3, 147, 144), (0.5, 134, 132.5)]
)
def test_true_conductance_behind_119(air_m3_s, rough, exact):
    """Loop A's radiator, apparent 119 W/K, at three air flows (calculated).

    167, 147 and 134 W/K come from the common approximation; the exact series gives less.
    """
    stream = 3 * heat_per_lpm_k(density_kg_m3(45.8))
    air = air_m3_s * 1.19 * 1006
    small, large = min(stream, air), max(stream, air)
    share = settle.effectiveness(119.0, stream) * stream / small
    for subtype, expected in (("crossflow approximate", rough), ("crossflow", exact)):
        ntu = ht.NTU_from_effectiveness(effectiveness=share, Cr=small / large, subtype=subtype)
        assert ntu * small == pytest.approx(expected, rel=0.007)


# Analytic -----------------------------------------------------------------------------------------


def test_stagnant_water_boils():
    """0.5 kg from 60 to 100 degC at 5 kW: 16.8 s, then 226 s to boil dry (calculated)."""
    by_enthalpy = 0.5 * (enthalpy_kj_kg(99.97) - enthalpy_kj_kg(60)) / 5
    assert by_enthalpy == pytest.approx(16.8, abs=0.05)
    ours = boil.time_to_boil_s(0.5 * WATER_C_J_KG_K, 99.974, 60, 5e3)
    assert ours == pytest.approx(by_enthalpy, rel=0.005)
    assert boil.boil_dry_s(0.5, latent_heat_kj_kg(101.325), 5e3) == pytest.approx(226, abs=0.5)


def test_newton_cooling():
    """exp(-t/tau), exact."""
    for share in (0.5, 1.0, 3.0):
        left = settle.tank_after_c(10, 60, 500, share * 500)
        assert (left - 10) / 50 == pytest.approx(math.exp(-share), rel=1e-12)
    # ... and with no heat coming, the peak sum is nothing but Newton's cooling: it never rises.
    assert settle.peak_after_damper(60, 10, 0.0, 1200, 50, 400, 4e5).tank_c == 60


# The shipped loops by second methods --------------------------------------------------------------


@pytest.mark.parametrize("name", ["boathouse", "greenhouse"])
def test_settling_of_a_shipped_loop_by_scipy(name):
    loop, d = shipped(name), derive(shipped(name), TODAY)
    for state, heat_kw in ((d.settled.nominal, loop.fire.nominal_kw),
                           (d.settled.largest, loop.fire.largest_kw),
                           (d.settled.throttled, loop.fire.nominal_kw)):  # fmt: skip
        stream = state.flow_lpm * d.water_w_per_lpm_k

        def slope(_, tank, stream=stream, heat_kw=heat_kw):
            # The radiator in 200 slices, each losing to the room: no effectiveness in here.
            hot = water = tank[0] + 1e3 * heat_kw / stream
            for _ in range(200):
                water -= loop.radiator.fans_on_w_k / 200 * (water - loop.room.air_c) / stream
            back = tank[0] + (hot - tank[0]) - (hot - water)
            return [stream * (back - tank[0]) / d.tank_heat_j_k]

        run = solve_ivp(slope, (0, 12 * state.tau_s), [10.0], rtol=1e-7, atol=1e-7)
        assert run.y[0, -1] == pytest.approx(state.tank_c, abs=0.15)


@pytest.mark.parametrize("name", ["boathouse", "greenhouse", "hot-tub"])
def test_minimum_flow_of_a_shipped_loop_by_enthalpy(name):
    loop, d = shipped(name), derive(shipped(name), TODAY)
    rows = (
        (d.flow_min_nominal_lpm, loop.fire.nominal_kw, d.settled.nominal.tank_c),
        (d.flow_min_largest_lpm, loop.fire.largest_kw, d.settled.largest.tank_c),
    )
    for lpm, heat_kw, tank_c in rows:
        kg_s = lpm * density_kg_m3(tank_c) / 60000
        rise_kj_kg = 1.25 * heat_kw / kg_s
        outlet_kj_kg = enthalpy_kj_kg(tank_c) + rise_kj_kg
        # Our one density is for warm water; a colder tank's heavier water leaves a little more.
        assert outlet_kj_kg <= enthalpy_kj_kg(d.allow_c)
        assert outlet_kj_kg == pytest.approx(enthalpy_kj_kg(d.allow_c), abs=0.015 * rise_kj_kg)


def test_freeze_time_of_a_shipped_line_by_layers():
    """Wall and insulation in 40 rings each, marched in time; our sum lumps the pipe."""
    loop = shipped("greenhouse")
    line, d = loop.lines.cold, derive(shipped("greenhouse"), TODAY)
    air = loop.site.outdoor_c
    (cold,) = [each for each in d.freeze_s if each.line == "cold"]
    radius, edges = line.inside_diameter_mm / 2e3, []
    for thick_m, k in (
        ((line.outside_diameter_mm - line.inside_diameter_mm) / 2e3, line.wall_w_mk),
        (line.insulation_mm / 1e3, line.insulation_w_mk),
    ):
        for _ in range(40):
            edges.append(math.log((radius + thick_m / 40) / radius) / (2 * math.pi * k))
            radius += thick_m / 40
    outward = sum(edges) + 1 / (2 * math.pi * radius * line.wind_w_m2k)
    heat = freeze.heat_j_mk(line.inside_diameter_mm, line.wall_kj_mk)
    temperature, time, step = 10.0, 0.0, 0.5
    while temperature > 0:
        temperature -= (temperature - air) / (outward * heat) * step
        time += step
    assert time == pytest.approx(cold.cool_s, rel=0.002)


# Common practice, no source -----------------------------------------------------------------------


def test_tank_warms_where_the_coil_adds_more_than_the_radiator_takes():
    """Common practice, no source: coil +24 degF, radiator -13 degF at equal flow."""
    stream = 3 * heat_per_lpm_k()
    coil, radiator = (settle.heat_w(stream, 0, fahrenheit / 1.8) for fahrenheit in (24, 13))
    tank_k_h = 3600 * (coil - radiator) / (150 * WATER_KG_M3 / 1e3 * WATER_C_J_KG_K)
    assert tank_k_h > 5


def test_forty_seven_against_forty_four_is_balance_within_line_losses():
    """Common practice, no source: +47 and -44 degF at 15 US gal/h leave what 10 m of pipe lose.

    The pipe is 15 mm copper with 13 mm of foam at 45 degC in -7 degC air.
    """
    lpm = 15 * US_GALLON_L / 60
    left_w = settle.heat_w(lpm * heat_per_lpm_k(), 44 / 1.8, 47 / 1.8)
    pipe_w_m = (45 + 7) / freeze.resistance_mk_w(13.6, 15, 390, 13, 0.038, 15)
    assert 5 < left_w / pipe_w_m < 15


def test_fifteen_gallons_an_hour_through_47_degf_is_1_7_kw():
    """Common practice, no source; and by the trade's 500 x gpm x degF."""
    watts = settle.heat_w(15 * US_GALLON_L / 60 * heat_per_lpm_k(), 0, 47 / 1.8)
    assert watts == pytest.approx(1700, abs=50)
    by_rule = 500 * 15 / 60 * 47 * BTU_J / 3600
    assert by_rule == pytest.approx(watts, rel=0.02)
