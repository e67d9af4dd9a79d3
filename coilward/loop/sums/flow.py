"""Least flows: by heat, and by turbulence."""

from __future__ import annotations

import math

import fluids

from coilward.loop.water import WATER_KG_M3, heat_per_lpm_k

TURBULENT_RE = 4000.0


def least_flow_lpm(
    heat_w: float, allowed_c: float, tank_c: float, density: float = WATER_KG_M3
) -> float:
    """Flow that keeps the outlet at the allowed temperature, L/min.

    Infinite where less than 3 K are left: no flow helps there, only cooling.
    """
    if not allowed_c - tank_c >= 3.0:
        return math.inf
    return heat_w / (heat_per_lpm_k(density) * (allowed_c - tank_c))


def flow_at_reynolds_lpm(reynolds: float, inside_m: float, viscosity_m2_s: float) -> float:
    """Flow in a round tube at a Reynolds number, L/min."""
    return 60000 * reynolds * math.pi * inside_m * viscosity_m2_s / 4


def reynolds(flow_lpm: float, inside_m: float, viscosity_m2_s: float) -> float:
    """Reynolds number of a flow in a round tube."""
    return flow_lpm / 60000 * 4 / (math.pi * inside_m * viscosity_m2_s)


def helix_transition_re(inside_m: float, turn_m: float) -> float:
    """Reynolds number at which flow in a helix turns turbulent (Schmidt 1967)."""
    return float(fluids.helical_transition_Re_Schmidt(inside_m, turn_m))
