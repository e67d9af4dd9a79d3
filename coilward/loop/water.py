"""Water and steam at the pressures of an open loop.

Properties come from seuif97 (IAPWS-IF97 and the IAPWS formulations for viscosity, R12-08, and
conductivity, R15-11). Liquid is taken at one atmosphere up to boiling; above it, on the
saturation line, so that a sum for a loop below sea level or a hot wall stays on the liquid side.
"""

from __future__ import annotations

import seuif97

ATMOSPHERE_KPA = 101.325
GRAVITY_M_S2 = 9.80665

WATER_C_J_KG_K = 4186.0
"""Specific heat used in every sum; IF97 stays within 0.6 % of it from 10 to 95 degC."""
WATER_KG_M3 = 985.0
"""Density at the meter used in every derived number: water at 56 degC, near the tank's trip.

Colder water at the meter is up to 1.5 % heavier and carries more heat than reckoned, which errs
to the safe side; at 65 degC it is 0.5 % lighter, less than 0.1 K of a 20 K rise."""
COIL_MEAN_C = 70.0
"""Water in a working coil near its limits; fixes its mass and its viscosity in the sums."""

_CP, _ENTHALPY, _DENSITY, _VISCOSITY, _CONDUCTIVITY = 8, 4, 2, 24, 26
_TRIPLE_KPA, _TRIPLE_C = 0.6117, 0.01


def _liquid(wanted_c: float, property_id: int) -> float:
    # Below the triple point there is no liquid: sums there end at it, freezing is another sum.
    temperature_c = max(wanted_c, _TRIPLE_C)
    saturation_mpa = seuif97.tx(temperature_c, 0.0, 0)
    # A hair above saturation, so that rounding cannot put the state on the steam side.
    pressure_mpa = max(ATMOSPHERE_KPA / 1e3, saturation_mpa * (1 + 1e-6))
    return float(seuif97.pt(pressure_mpa, temperature_c, property_id))


def density_kg_m3(temperature_c: float) -> float:
    """Density of liquid water, kg/m3 (IAPWS-IF97), 0.01 to 300 degC."""
    return _liquid(temperature_c, _DENSITY)


def cp_j_kg_k(temperature_c: float) -> float:
    """Specific heat of liquid water, J/(kg K) (IAPWS-IF97)."""
    return 1e3 * _liquid(temperature_c, _CP)


def enthalpy_kj_kg(temperature_c: float) -> float:
    """Enthalpy of liquid water, kJ/kg (IAPWS-IF97)."""
    return _liquid(temperature_c, _ENTHALPY)


def viscosity_pa_s(temperature_c: float) -> float:
    """Dynamic viscosity of liquid water, Pa s (IAPWS R12-08)."""
    return _liquid(temperature_c, _VISCOSITY)


def kinematic_viscosity_m2_s(temperature_c: float) -> float:
    """Kinematic viscosity of liquid water, m2/s."""
    return viscosity_pa_s(temperature_c) / density_kg_m3(temperature_c)


def conductivity_w_m_k(temperature_c: float) -> float:
    """Thermal conductivity of liquid water, W/(m K) (IAPWS R15-11)."""
    return _liquid(temperature_c, _CONDUCTIVITY)


def prandtl(temperature_c: float) -> float:
    """Prandtl number of liquid water."""
    return (
        viscosity_pa_s(temperature_c) * cp_j_kg_k(temperature_c) / conductivity_w_m_k(temperature_c)
    )


def expansion_per_k(temperature_c: float) -> float:
    """Thermal expansion of liquid water, 1/K, by central difference of the density."""
    rise = density_kg_m3(temperature_c + 0.5) - density_kg_m3(temperature_c - 0.5)
    return -rise / density_kg_m3(temperature_c)


def saturation_c(pressure_kpa: float) -> float:
    """Boiling point, degC, at an absolute pressure (IAPWS-IF97).

    Below the triple point the water column has parted; 0.01 degC is returned.
    """
    return float(seuif97.px2t(max(pressure_kpa, _TRIPLE_KPA) / 1e3, 0.0))


def saturation_kpa(temperature_c: float) -> float:
    """Vapour pressure, kPa, at a temperature (IAPWS-IF97)."""
    return 1e3 * float(seuif97.tx(temperature_c, 0.0, 0))


def latent_heat_kj_kg(pressure_kpa: float) -> float:
    """Heat of evaporation, kJ/kg, at an absolute pressure (IAPWS-IF97)."""
    mpa = pressure_kpa / 1e3
    return float(seuif97.px2h(mpa, 1.0) - seuif97.px2h(mpa, 0.0))


def steam_density_kg_m3(pressure_kpa: float) -> float:
    """Density of dry saturated steam, kg/m3, at an absolute pressure (IAPWS-IF97)."""
    return 1 / float(seuif97.px2v(pressure_kpa / 1e3, 1.0))


def standard_pressure_kpa(altitude_m: float) -> float:
    """Pressure of the standard atmosphere (ISO 2533), kPa, up to 11 km."""
    return float(ATMOSPHERE_KPA * (1 - 0.0065 * altitude_m / 288.15) ** 5.255876)


def boiling_c(altitude_m: float, gauge_kpa: float = 0.0) -> float:
    """Boiling point, degC, in the standard atmosphere, with a pressure above (or below) it."""
    return saturation_c(standard_pressure_kpa(altitude_m) + gauge_kpa)


def lifted_boiling_c(altitude_m: float, lift_m: float) -> float:
    """Boiling point, degC, of standing water ``lift_m`` above the open tank's surface.

    With the pump off such water hangs from the tank and is below atmospheric pressure. Water
    below the surface boils later, but that gain is not counted.
    """
    lift_kpa = max(lift_m, 0.0) * GRAVITY_M_S2 * WATER_KG_M3 / 1e3
    return boiling_c(altitude_m, -lift_kpa)


def heat_per_lpm_k(density: float = WATER_KG_M3) -> float:
    """Heat carried by a flow of 1 L/min with a rise of 1 K, W."""
    return density * WATER_C_J_KG_K / 60000
