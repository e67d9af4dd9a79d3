"""Water and boiling against the published tables."""

from __future__ import annotations

import pytest
import seuif97
from CoolProp.CoolProp import PropsSI
from scipy import constants

from coilward.loop import units, water

# IAPWS R7-97(2012), table 36: saturation temperature, MPa and K.
SATURATION = [(0.1, 372.755919), (1.0, 453.035632), (10.0, 584.149488)]
# The same, table 35: saturation pressure, K and MPa.
PRESSURE = [(300.0, 0.00353658941), (500.0, 2.63889776), (600.0, 12.3443146)]
# The same, table 5: K, MPa, v m3/kg, h kJ/kg, cp kJ/kg/K.
REGION_1 = [
    (300.0, 3.0, 0.00100215168, 115.331273, 4.17301218),
    (300.0, 80.0, 0.000971180894, 184.142828, 4.01008987),
    (500.0, 3.0, 0.00120241800, 975.542239, 4.65580682),
]


@pytest.mark.parametrize(("mpa", "kelvin"), SATURATION)
def test_saturation_temperature(mpa, kelvin):
    assert water.saturation_c(1e3 * mpa) + 273.15 == pytest.approx(kelvin, abs=6e-7)


@pytest.mark.parametrize(("kelvin", "mpa"), PRESSURE)
def test_saturation_pressure(kelvin, mpa):
    assert water.saturation_kpa(kelvin - 273.15) / 1e3 == pytest.approx(mpa, rel=5e-9)


@pytest.mark.parametrize(("kelvin", "mpa", "volume", "enthalpy", "cp"), REGION_1)
def test_region_1(kelvin, mpa, volume, enthalpy, cp):
    """Our property numbers are the library's density, enthalpy and specific heat."""
    state = (mpa, kelvin - 273.15)
    assert 1 / seuif97.pt(*state, water._DENSITY) == pytest.approx(volume, rel=1e-8)
    assert seuif97.pt(*state, water._ENTHALPY) == pytest.approx(enthalpy, rel=1e-8)
    assert seuif97.pt(*state, water._CP) == pytest.approx(cp, rel=1e-8)


def test_viscosity_and_conductivity():
    """IAPWS R12-08 and R15-11, table 4: 298.15 K and 998 kg/m3."""
    assert 1e6 * seuif97.tv(25.0, 1 / 998, water._VISCOSITY) == pytest.approx(889.735100, abs=5e-6)
    assert 1e3 * seuif97.tv(25.0, 1 / 998, water._CONDUCTIVITY) == pytest.approx(
        607.712868, abs=5e-4
    )


@pytest.mark.parametrize("celsius", [1.0, 20.0, 50.0, 70.0, 95.0])
def test_liquid_properties_against_coolprop(celsius):
    """CoolProp's own equation (IAPWS-95) is a second opinion, not a source."""

    def oracle(name):
        return PropsSI(name, "T", celsius + 273.15, "P", 101325, "Water")

    assert water.density_kg_m3(celsius) == pytest.approx(oracle("D"), rel=2e-5)
    assert water.cp_j_kg_k(celsius) == pytest.approx(oracle("C"), rel=5e-4)
    assert 1e3 * water.enthalpy_kj_kg(celsius) == pytest.approx(oracle("H"), rel=5e-4)
    assert water.viscosity_pa_s(celsius) == pytest.approx(oracle("V"), rel=1e-4)
    assert water.conductivity_w_m_k(celsius) == pytest.approx(oracle("L"), rel=1e-3)
    assert water.prandtl(celsius) == pytest.approx(oracle("PRANDTL"), rel=2e-3)
    expansion = oracle("isobaric_expansion_coefficient")
    assert water.expansion_per_k(celsius) == pytest.approx(expansion, abs=2e-6)


def test_one_specific_heat_is_enough():
    """WATER_C_J_KG_K is said to hold within 0.6 % from 10 to 95 degC."""
    for celsius in range(10, 96, 5):
        assert water.cp_j_kg_k(celsius) == pytest.approx(water.WATER_C_J_KG_K, rel=0.006)
    assert water.density_kg_m3(56.0) == pytest.approx(water.WATER_KG_M3, abs=0.3)


def test_liquid_ends_at_the_triple_point():
    assert water.density_kg_m3(-10) == water.density_kg_m3(0.01)
    assert water.saturation_c(0.1) == pytest.approx(0.01, abs=0.01)


# Calculated from IF97 and the standard atmosphere, to two figures; a second opinion.
@pytest.mark.parametrize(
    ("altitude", "boils"),
    [(0, 99.97), (300, 98.98), (500, 98.31), (1000, 96.65), (1500, 94.98), (2000, 93.32),
     (2500, 91.64), (3000, 89.97), (5000 * 0.3048, 94.90), (10000 * 0.3048, 89.82)],
)  # fmt: skip
def test_boiling_by_altitude(altitude, boils):
    assert water.boiling_c(altitude) == pytest.approx(boils, abs=0.01)


@pytest.mark.parametrize(
    ("kpa", "boils", "within"),
    [(10, 102.6, 0.06), (50, 111.6, 0.06), (103, 121, 0.5), (207, 134.5, 0.06)]
    + [(psi * 6.894757, boils, 0.006)
       for psi, boils in ((5, 108.39), (12, 117.61), (15, 120.95), (30, 134.44))],
)  # fmt: skip
def test_boiling_under_gauge_pressure(kpa, boils, within):
    assert water.boiling_c(0, kpa) == pytest.approx(boils, abs=within)


def test_standard_atmosphere():
    """1 atm by definition; 84.307 kPa at 5,000 ft (calculated)."""
    assert water.standard_pressure_kpa(0) == constants.atm / 1e3
    assert water.standard_pressure_kpa(1524) == pytest.approx(84.307, abs=0.002)


def test_latent_heat_at_one_atmosphere():
    """2256.5 kJ/kg (calculated from IF97)."""
    assert water.latent_heat_kj_kg(101.325) == pytest.approx(2256.5, abs=0.05)


@pytest.mark.parametrize(("fahrenheit", "factor"), [(60, 500.4), (140, 491.8), (180, 487.1)])
def test_five_hundred_rule_of_the_trade(fahrenheit, factor):
    """BTU/h = 500 x gpm x degF, calculated at three temperatures."""
    celsius = (fahrenheit - 32) / 1.8
    joule_per_litre_k = water.density_kg_m3(celsius) / 1e3 * water.cp_j_kg_k(celsius)
    btu_h = joule_per_litre_k * units.US_GALLON_L / 60 / 1.8 / (units.BTU_J / 3600)
    assert btu_h == pytest.approx(factor, abs=0.15)


def test_units():
    """Exact sizes, NIST SP 811 as carried by scipy.constants."""
    for ours, theirs in (
        (units.BTU_J, constants.Btu),
        (units.US_GALLON_L, constants.gallon * 1e3),
        (units.POUND_KG, constants.lb),
        (units.PSI_KPA, constants.psi / 1e3),
        (units.FOOT_M, constants.foot),
    ):
        assert ours == pytest.approx(theirs, rel=1e-11)
    # IEC 60534-2-1: Kv = 0.86498 Cv, from the gallon and the psi.
    kv = 60 * constants.gallon / (constants.psi / 1e5) ** 0.5
    assert kv == pytest.approx(units.KV_PER_CV, abs=2e-4)
