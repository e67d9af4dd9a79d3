"""Sums that a builder asks for before buying: suction, growth, wire, battery, steam, wood, room.

Rounded worked figures are held within their rounding, each by a second method beside them.
"""

from __future__ import annotations

import math

import pytest
from CoolProp.CoolProp import PropsSI

from coilward.loop.sums import dump, expansion, room, suction, supply, wood
from coilward.loop.units import convert
from coilward.loop.water import latent_heat_kj_kg, standard_pressure_kpa, steam_density_kg_m3

ATMOSPHERE_PA = 101325.0


def liquid(wanted, celsius, fluid="Water"):
    return PropsSI(wanted, "T", celsius + 273.15, "P", ATMOSPHERE_PA, fluid)


# Suction ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("celsius", "sea_m", "high_m"), [(65, 7.9, 6.2), (80, 5.6, 3.9), (90, 3.3, 1.5)]
)
def test_suction_head_by_altitude(celsius, sea_m, high_m):
    """0.3 m flooded and 0.3 m lost, at the sea and at 1500 m; vapour and density by CoolProp."""
    for altitude_m, expected in ((0, sea_m), (1500, high_m)):
        air_kpa = standard_pressure_kpa(altitude_m)
        found = suction.suction_head_m(air_kpa, celsius, 0.3, 0.3)
        assert found == pytest.approx(expected, abs=0.06)
        vapour_pa = PropsSI("P", "T", celsius + 273.15, "Q", 0, "Water")
        second = (1e3 * air_kpa - vapour_pa) / (liquid("D", celsius) * 9.80665)
        assert found == pytest.approx(second, abs=0.005)


def test_suction_lift_on_a_mountain_leaves_next_to_nothing():
    """1 m of lift at 1500 m and 90 degC, 0.3 m lost: 0.2 m."""
    air_kpa = standard_pressure_kpa(1500)
    lifted = suction.suction_head_m(air_kpa, 90, -1.0, 0.3)
    assert lifted == pytest.approx(0.2, abs=0.06)
    assert suction.suction_head_m(air_kpa, 90, 0.3, 0.3) - lifted == pytest.approx(1.3)


# Growth -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("hot", "share", "litres"), [(60, 0.017, 3.4), (80, 0.029, 5.7), (95, 0.039, 7.9)]
)
def test_growth_of_warm_water(hot, share, litres):
    found = expansion.expansion_share(10, hot)
    assert found == pytest.approx(share, abs=0.0006)
    assert 200 * found == pytest.approx(litres, abs=0.06)
    assert found == pytest.approx(liquid("D", 10) / liquid("D", hot) - 1, abs=2e-5)


# Wire and battery ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("area", "drop"), [(0.75, 1.87), (2.5, 0.56)])
def test_drop_in_a_wire(area, drop):
    """4 A over 10 m. Second way: 0.017241 at 20 degC (IEC 60028) and 0.393 %/K, from memory."""
    found = supply.wire_drop_v(4, 10, area)
    assert found == pytest.approx(drop, abs=0.006)
    at_24 = 0.017241 * (1 + 0.00393 * 4)
    assert found == pytest.approx(4 * 20 * at_24 / area, rel=0.002)


@pytest.mark.parametrize(
    ("gauge", "area", "inch"), [(18, 0.823, 0.0403), (16, 1.31, 0.0508), (14, 2.08, 0.0641),
                                (12, 3.31, 0.0808)]
)  # fmt: skip
def test_american_gauges(gauge, area, inch):
    """Diameters and areas of ASTM B258 tables, from memory."""
    found = supply.awg_mm2(gauge)
    assert found == pytest.approx(area, rel=0.003)
    assert math.sqrt(4 * found / math.pi) / 25.4 == pytest.approx(inch, abs=6e-5)


@pytest.mark.parametrize(("amperes", "used", "battery"), [(5.3, 21, 42), (3.3, 13, 26)])
def test_battery_for_a_burn_out_of_four_hours(amperes, used, battery):
    found = supply.charge_ah(amperes, 4)
    assert found == pytest.approx(used, abs=0.5)
    # Lead-acid: half is usable (common practice, no source).
    assert supply.lead_acid_ah(found) == pytest.approx(battery, abs=0.5)


# Steam and sinks ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kw", "kg_h", "m3_h"), [(5, 8.0, 13), (8, 12.8, 21), (10, 16.0, 27), (18, 28.7, 48)]
)
def test_steam_to_be_vented(kw, kg_h, m3_h):
    mass = dump.steam_kg_h(1e3 * kw, latent_heat_kj_kg(101.325))
    room_m3 = dump.steam_m3_h(mass, steam_density_kg_m3(101.325))
    assert mass == pytest.approx(kg_h, abs=0.06)
    assert room_m3 == pytest.approx(m3_h, abs=0.6)
    gas = PropsSI("D", "P", ATMOSPHERE_PA, "Q", 1, "Water")
    latent = PropsSI("H", "P", ATMOSPHERE_PA, "Q", 1, "Water") - PropsSI(
        "H", "P", ATMOSPHERE_PA, "Q", 0, "Water"
    )
    assert room_m3 == pytest.approx(3600 * 1e3 * kw / latent / gas, rel=5e-4)


@pytest.mark.parametrize(
    ("kw", "litres", "quench", "minutes"), [(8, 100, 2.29, 12.9), (18, 200, 5.16, 11.5),
                                            (14, 1500, 4.01, 110)]
)  # fmt: skip
def test_quench_water_and_tank_as_a_sink(kw, litres, quench, minutes):
    """10 to 60 degC, and 50 to 65 degC in the tank; heat by CoolProp's enthalpy."""
    lpm = dump.quench_lpm(1e3 * kw, dump.DRAIN_C - dump.MAINS_C)
    assert lpm == pytest.approx(quench, abs=0.006)
    rise = liquid("H", 60) - liquid("H", 10)
    assert lpm / 60 * rise == pytest.approx(1e3 * kw, rel=0.003)
    seconds = dump.sink_s(litres * 0.985 * 4186, 15, 1e3 * kw)
    assert seconds / 60 == pytest.approx(minutes, rel=0.01)
    heat_j = litres * liquid("D", 57.5) / 1e3 * (liquid("H", 65) - liquid("H", 50))
    assert seconds == pytest.approx(heat_j / (1e3 * kw), rel=0.003)


# Wood ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("moisture", "mj_kg"), [(0.2, 14.3), (0.5, 8.0)])
def test_net_calorific_value_of_the_wood_fuel_handbooks(moisture, mj_kg):
    """NCV = [NCV0 (100 - M) - 2.44 M] / 100 with 18.5 MJ/kg oven-dry (EN ISO 17225 handbooks)."""
    assert wood.net_j_kg(moisture, 18.5e6) / 1e6 == pytest.approx(mj_kg, abs=0.05)


@pytest.mark.parametrize(
    ("moisture", "mj_kg"), [(0.15, 15.4), (0.20, 14.4), (0.25, 13.3), (0.35, 11.2)]
)
def test_net_calorific_value_with_our_dry_wood(moisture, mj_kg):
    found = wood.net_j_kg(moisture)
    assert found / 1e6 == pytest.approx(mj_kg, abs=0.06)
    # Second way: dry wood's heat less that which boils off its water at 25 degC (CoolProp).
    latent = PropsSI("H", "T", 298.15, "Q", 1, "Water") - PropsSI(
        "H", "T", 298.15, "Q", 0, "Water"
    )
    assert found == pytest.approx(18.6e6 * (1 - moisture) - moisture * latent, rel=1e-3)


@pytest.mark.parametrize(
    ("kw", "moisture", "caught", "kg_h", "fire_kw", "night_kg"),
    [(5, 0.20, 0.25, 5.00, 20, 40), (12, 0.25, 0.40, 8.10, 30, 65), (9, 0.35, 0.30, 9.61, 30, 77)],
)
def test_wood_for_a_night(kw, moisture, caught, kg_h, fire_kw, night_kg):
    net = wood.net_j_kg(moisture)
    rate = wood.wood_kg_h(1e3 * kw, caught, net)
    assert rate == pytest.approx(kg_h, abs=0.015)
    assert 8 * rate == pytest.approx(night_kg, abs=0.6)
    assert rate * net / 3600 == pytest.approx(1e3 * fire_kw, rel=1e-9)
    assert 8 * rate * net * caught == pytest.approx(1e3 * kw * 8 * 3600, rel=1e-9)


# Room and glycol ----------------------------------------------------------------------------------


def test_loss_of_a_room():
    """A 4 by 8 m house of twin-wall sheet, and the heat of leaking air by CoolProp."""
    walls = [(64.0, 3.0), (44.0, 3.0), (32.0, 0.5)]
    assert room.envelope_w_k(walls, 0.0, 1.0) == pytest.approx(340.0)
    air = room.envelope_w_k([], 100.0, 2.0)
    heat = liquid("D", 20, "Air") * liquid("C", 20, "Air")
    assert air == pytest.approx(100 * 2 * heat / 3600, rel=0.02)


def test_five_hundred_rule_with_glycol():
    """BTU/h = 461.8 x gpm x degF with 40 mass % propylene glycol at 160 degF (calculated)."""
    celsius = (160 - 32) / 1.8
    mixed = "INCOMP::MPG[0.4]"
    w_per_lpm_k = liquid("D", celsius, mixed) * liquid("C", celsius, mixed) / 60000
    assert convert(w_per_lpm_k, "w_per_lpm_k", "us")[0] == pytest.approx(461.8, abs=0.5)
