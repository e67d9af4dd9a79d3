"""The fire: wood in three pools, an air damper, hot gas, and the heat that the coil catches.

Fresh wood dries and turns into flaming wood, flaming wood burns up and leaves char. What the
pools would like to release is limited by the air: with a release D asked for, the damper's
air lets P = air D / (1 + D / ceiling) happen, and the pools shrink in the same share.
"""

from __future__ import annotations

import math

from coilward.loop.sums.wood import DRY_WOOD_J_KG, EVAPORATION_J_KG
from coilward.simulator.slots import (
    AIR_FACTOR,
    BOIL_C,
    CAUGHT_FACTOR,
    CEILING_W,
    CHAR_1_S,
    CHAR_KG,
    COIL_CELLS,
    DRY,
    DRYING_1_S,
    FLAMING_1_S,
    FLAMING_KG,
    FRESH_KG,
    GAS,
    GAS_J_K,
    GAS_W_K,
    GUST,
    HOLD_W,
    LIT,
    LIVELY,
    MOISTURE_KG,
    NOMINAL_W,
    OUTDOOR_C,
    RELEASE_W,
    STACK_W_K,
)

HOT_GAS_K = 50.0
Floats = list[float]

CHAR_J_KG = 30.0e6
CHAR_SHARE = 0.25
"""Of the dry wood's mass (common practice, no source)."""
FLAME_J_KG = DRY_WOOD_J_KG - CHAR_SHARE * CHAR_J_KG
DRIES_FROM_C = 100.0
DRIES_FULLY_K = 300.0
GUST_S = 20.0
"""Period of a gusty wind (common practice, no source)."""


def draught(air: float, share: float) -> float:
    """Gas stream past coil and up the stack, 1 at the nominal fire with the damper open."""
    return 0.15 + 0.35 * air + 0.5 * share


def gust(p: Floats, time_s: float) -> float:
    """Factor on the air in a gusty wind: parabolas up and down, of mean one."""
    phase = time_s / GUST_S
    phase -= math.floor(phase)
    wave = phase * (0.5 - phase) if phase < 0.5 else (phase - 0.5) * (phase - 1.0)
    return 1.0 + 16.0 * p[GUST] * wave


def demand_w(p: Floats, lively: float, flaming_kg: float, char_kg: float) -> float:
    """Release that the burning wood would make with air without end, W."""
    return (
        FLAME_J_KG * lively * p[FLAMING_1_S] * flaming_kg + CHAR_J_KG * p[CHAR_1_S] * char_kg
    )


def slopes(
    p: Floats, air: float, lively: float, wall_c: float, moisture_kg: float, fresh_kg: float,
    flaming_kg: float, char_kg: float, gas_c: float,
) -> tuple[float, float, float, float, float, float]:
    """Rates of the four pools, kg/s, of the gas, K/s, and the conductance into the coil, W/K."""
    asked_w = demand_w(p, lively, flaming_kg, char_kg)
    share = air / (1.0 + asked_w / (p[CEILING_W] * p[AIR_FACTOR]))
    drying = (gas_c - DRIES_FROM_C) * (p[DRYING_1_S] / DRIES_FULLY_K)
    if drying < 0.0:
        drying = 0.0
    elif drying > p[DRYING_1_S]:
        drying = p[DRYING_1_S]
    flamed = share * lively * p[FLAMING_1_S] * flaming_kg
    charred = share * p[CHAR_1_S] * char_kg
    release_w = share * asked_w
    stream = draught(air, release_w / p[RELEASE_W])
    coil_w_k = stream * p[GAS_W_K] * p[CAUGHT_FACTOR]
    gas_w = (
        release_w
        - EVAPORATION_J_KG * drying * moisture_kg
        - coil_w_k * (gas_c - wall_c)
        - stream * p[STACK_W_K] * (gas_c - p[OUTDOOR_C])
    )
    return (
        -drying * moisture_kg,
        -drying * fresh_kg,
        drying * fresh_kg - flamed,
        CHAR_SHARE * flamed - charred,
        gas_w / p[GAS_J_K],
        coil_w_k,
    )


def held(
    y: Floats, p: Floats, h_s: float, wall_c: float, air_mid: float, air_end: float
) -> tuple[float, float]:
    """A fire that is held: its heat reaches the coil whatever the walls' temperature.

    A dry coil, which is only ever a story after the first boil, gets no hotter than the gas.
    """
    heat_w = y[HOLD_W] * p[AIR_FACTOR] * air_mid
    over_boil_k = y[GAS] - p[BOIL_C]
    if y[DRY] > 0.0 and over_boil_k > HOT_GAS_K:
        cell_w_k = heat_w / (COIL_CELLS * over_boil_k)
        return cell_w_k * y[GAS], cell_w_k
    stream = draught(air_end, heat_w / p[NOMINAL_W])
    target_c = wall_c + heat_w / (stream * p[GAS_W_K] * p[CAUGHT_FACTOR])
    pace = 0.5 * h_s * stream * (p[GAS_W_K] + p[STACK_W_K]) / p[GAS_J_K]
    y[GAS] = y[GAS] + 2.0 * pace / (1.0 + pace) * (target_c - y[GAS])
    return heat_w / COIL_CELLS, 0.0


def fire(
    y: Floats, p: Floats, h_s: float, wall_c: float, air: float, air_mid: float, air_end: float
) -> tuple[float, float]:
    """One step. The heat into a cell with view v and wall T is ``v (first - second T)``, W."""
    if y[HOLD_W] >= 0.0:
        return held(y, p, h_s, wall_c, air_mid, air_end)
    burning = y[LIT]
    lively = y[LIVELY]
    moisture_kg, fresh_kg = y[MOISTURE_KG], y[FRESH_KG]
    flaming_kg, char_kg, gas_c = y[FLAMING_KG], y[CHAR_KG], y[GAS]
    half_s = 0.5 * h_s
    k_moisture, k_fresh, k_flaming, k_char, k_gas, _ = slopes(
        p, burning * air, lively, wall_c, moisture_kg, fresh_kg, flaming_kg, char_kg, gas_c
    )
    gas_mid_c = gas_c + half_s * k_gas
    k_moisture, k_fresh, k_flaming, k_char, k_gas, coil_w_k = slopes(
        p, burning * air_mid, lively, wall_c,
        moisture_kg + half_s * k_moisture, fresh_kg + half_s * k_fresh,
        flaming_kg + half_s * k_flaming, char_kg + half_s * k_char, gas_mid_c,
    )
    y[MOISTURE_KG] = moisture_kg + h_s * k_moisture
    y[FRESH_KG] = fresh_kg + h_s * k_fresh
    y[FLAMING_KG] = flaming_kg + h_s * k_flaming
    y[CHAR_KG] = char_kg + h_s * k_char
    y[GAS] = gas_c + h_s * k_gas
    cell_w_k = coil_w_k / COIL_CELLS
    return cell_w_k * gas_mid_c, cell_w_k
