"""Flow from the pump's speed and the valve's stroke, with the coefficients of the loop.

No flow by gravity is credited: with the pump at rest the water stands, which errs to the
side of the earlier boil.

What hinders the water takes head from the pump (air, steam in a hot suction), adds resistance
to the loop (a clogged strainer, a hose that kinks) or takes a share of the flow (an air lock).
"""

from __future__ import annotations

import math

from coilward.loop.water import WATER_KG_M3
from coilward.simulator.slots import (
    AIR_LOCK,
    BYPASS_KV,
    CAVITATES_C,
    CLOG,
    COLD_,
    CRACK_OPEN,
    HEAD0_KPA,
    HEAD1,
    HEAD2,
    HOSE_OFF,
    HOT_,
    KINK_1_K,
    KVS,
    LEVEL_NOW,
    LOG_RANGE,
    LOOP1,
    LOOP2,
    PUMP_AIR,
)

Floats = list[float]

SQUARE_KPA = 100.0 * WATER_KG_M3 / 1000.0 * 0.06 * 0.06
"""kPa per (L/min)^2 through a Kv of 1 m3/h (IEC 60534-2-1)."""
SHUT = -1.0
"""Stands for the endless resistance of a valve that is shut."""
SUCTION_SHARE, SUCKS_BAND = 0.15, 0.03
"""Level under which the pump begins to suck air, and how much lower it sucks nothing else
(common practice, no source)."""
KINKS_FROM_C = 60.0
"""A hose softens above this (common practice, no source)."""
CAVITATES_1_K = 0.1
"""Share of the head lost for each kelvin of suction over its limit (common practice, no source)."""
HOSE_LEFT = 0.3
"""Of the loop's resistance, up to a hose that is off at the coil (common practice, no source)."""


def valve_square(p: Floats, stroke: float) -> float:
    """Resistance of valve and bypass, kPa per (L/min)^2, or SHUT."""
    kv = p[BYPASS_KV]
    if stroke >= p[CRACK_OPEN] and stroke > 0.0:
        kv += p[KVS] * math.exp(p[LOG_RANGE] * (stroke - 1.0))
    if kv <= 0.0:
        return SHUT
    return SQUARE_KPA / (kv * kv)


def pumped_lpm(
    p: Floats, speed: float, square: float, head_left: float = 1.0, resists: float = 1.0
) -> float:
    """Flow at a pump speed (1 at the rated voltage) and a valve resistance, L/min.

    ``head_left`` is the share of the head that air leaves, ``resists`` a factor on the loop.
    """
    if square < 0.0 or speed <= 0.0 or head_left <= 0.0:
        return 0.0
    head = p[HEAD0_KPA] * speed * speed * head_left
    linear = p[LOOP1] * resists - p[HEAD1] * speed * head_left
    square += p[LOOP2] * resists - p[HEAD2] * head_left
    return 2.0 * head / (linear + math.sqrt(linear * linear + 4.0 * square * head))


def hindered(y: Floats, p: Floats) -> bool:
    """Whether anything keeps the pump from its sound flow."""
    return (
        y[LEVEL_NOW] < SUCTION_SHARE
        or y[COLD_] > p[CAVITATES_C]
        or p[PUMP_AIR] > 0.0
        or p[AIR_LOCK] > 0.0
        or p[CLOG] > 0.0
        or p[KINK_1_K] > 0.0
        or p[HOSE_OFF] > 0.0
    )


def head_left(y: Floats, p: Floats) -> float:
    """Share of the pump's head that air and steam in it leave."""
    left = 1.0 - p[PUMP_AIR]
    if y[LEVEL_NOW] < SUCTION_SHARE:
        drawn = 1.0 - (SUCTION_SHARE - y[LEVEL_NOW]) / SUCKS_BAND
        left *= drawn if drawn > 0.0 else 0.0
    if y[COLD_] > p[CAVITATES_C]:
        kept = 1.0 - CAVITATES_1_K * (y[COLD_] - p[CAVITATES_C])
        left *= kept if kept > 0.0 else 0.0
    return left


def resists(y: Floats, p: Floats) -> float:
    """Resistance of the loop without its valve, over that of a sound one."""
    times = 1.0 + p[CLOG]
    if y[HOT_] > KINKS_FROM_C:
        times *= 1.0 + p[KINK_1_K] * (y[HOT_] - KINKS_FROM_C)
    if p[HOSE_OFF] > 0.0:
        times *= HOSE_LEFT
    return times
