"""Standing water in a pipe outdoors: cooling to 0 degC, then ice."""

from __future__ import annotations

import math

ICE_KJ_KG = 334.0
LINE_WATER_C_J_KG_K = 4190.0
LINE_WATER_KG_M3 = 998.0


def resistance_mk_w(
    inside_mm: float,
    outside_mm: float,
    wall_w_mk: float,
    insulation_mm: float,
    insulation_w_mk: float,
    wind_w_m2k: float,
) -> float:
    """Thermal resistance of one metre of pipe from water to wind, m K/W."""
    covered_mm = outside_mm + 2 * insulation_mm
    wall = math.log(outside_mm / inside_mm) / (2 * math.pi * wall_w_mk)
    insulation = math.log(covered_mm / outside_mm) / (2 * math.pi * insulation_w_mk)
    surface = 1 / (wind_w_m2k * math.pi * covered_mm / 1e3)
    return wall + insulation + surface


def pipe_water_kg_m(inside_mm: float) -> float:
    """Water in one metre of cold pipe, kg/m."""
    return LINE_WATER_KG_M3 * math.pi / 4 * (inside_mm / 1e3) ** 2


def heat_j_mk(inside_mm: float, wall_kj_mk: float) -> float:
    """Heat capacity of one metre of pipe with its water, J/(m K)."""
    return pipe_water_kg_m(inside_mm) * LINE_WATER_C_J_KG_K + 1e3 * wall_kj_mk


def cool_to_zero_s(resistance: float, heat: float, start_c: float, air_c: float) -> float:
    """Time to 0 degC, s: the only time for which an open pipe can be promised."""
    if start_c <= 0:
        return 0.0
    if air_c >= 0:
        return math.inf
    return resistance * heat * math.log((start_c - air_c) / -air_c)


def ice_s(resistance: float, water_kg_m: float, share: float, air_c: float) -> float:
    """Time at 0 degC in which ``share`` of the water freezes, s. Not a promise of open pipe."""
    if air_c >= 0:
        return math.inf
    return share * resistance * water_kg_m * ICE_KJ_KG * 1e3 / -air_c
