"""Wire and battery behind the pump."""

from __future__ import annotations

import math

COPPER_OHM_MM2_M = 0.0175
"""Copper at about 24 degC: 0.01724 at 20 degC (IEC 60028, from memory), 0.39 % more a kelvin.

A finished wire of fine strands may have up to 13 % more (IEC 60228 class 5, from memory)."""


def wire_drop_v(current_a: float, one_way_m: float, area_mm2: float) -> float:
    """Voltage lost in both wires, V."""
    return current_a * 2 * one_way_m * COPPER_OHM_MM2_M / area_mm2


def awg_mm2(gauge: int) -> float:
    """Cross-section of an American wire gauge, mm2 (ASTM B258)."""
    diameter_mm = 0.127 * math.pow(92, (36 - gauge) / 39)
    return math.pi / 4 * diameter_mm**2


def charge_ah(current_a: float, time_h: float) -> float:
    """Charge that is taken out, Ah."""
    return current_a * time_h


def lead_acid_ah(used_ah: float) -> float:
    """Lead-acid battery that gives so much of which half is usable (common practice), Ah."""
    return 2 * used_ah
