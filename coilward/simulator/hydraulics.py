"""Flow from the pump's speed and the valve's stroke, with the coefficients of the loop.

No flow by gravity is credited: with the pump at rest the water stands, which errs to the
side of the earlier boil.
"""

from __future__ import annotations

import math

from coilward.loop.water import WATER_KG_M3
from coilward.simulator.slots import (
    BYPASS_KV,
    CRACK_OPEN,
    HEAD0_KPA,
    HEAD1,
    HEAD2,
    KVS,
    LOG_RANGE,
    LOOP1,
    LOOP2,
)

Floats = list[float]

SQUARE_KPA = 100.0 * WATER_KG_M3 / 1000.0 * 0.06 * 0.06
"""kPa per (L/min)^2 through a Kv of 1 m3/h (IEC 60534-2-1)."""
SHUT = -1.0
"""Stands for the endless resistance of a valve that is shut."""


def valve_square(p: Floats, stroke: float) -> float:
    """Resistance of valve and bypass, kPa per (L/min)^2, or SHUT."""
    kv = p[BYPASS_KV]
    if stroke >= p[CRACK_OPEN] and stroke > 0.0:
        kv += p[KVS] * math.exp(p[LOG_RANGE] * (stroke - 1.0))
    if kv <= 0.0:
        return SHUT
    return SQUARE_KPA / (kv * kv)


def pumped_lpm(p: Floats, speed: float, square: float) -> float:
    """Flow at a pump speed (1 at the rated voltage) and a valve resistance, L/min."""
    if square < 0.0 or speed <= 0.0:
        return 0.0
    head = p[HEAD0_KPA] * speed * speed
    linear = p[LOOP1] - p[HEAD1] * speed
    square += p[LOOP2] - p[HEAD2]
    return 2.0 * head / (linear + math.sqrt(linear * linear + 4.0 * square * head))
