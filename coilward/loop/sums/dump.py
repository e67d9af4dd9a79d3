"""Where the heat can go when the radiator is dead."""

from __future__ import annotations

import math

from coilward.loop.sums.settle import effectiveness
from coilward.loop.water import WATER_C_J_KG_K

FINNED_W_MK = 8.0
"""Finned pipe in still air, a metre (common practice, no source)."""
MAINS_C, DRAIN_C = 10.0, 60.0
"""Quench water as it comes from the mains, and as it may go to a drain."""


def dump_needed_w_k(heat_w: float, stream_w_k: float, outlet_c: float, air_c: float) -> float:
    """Conductance that takes the whole heat at that outlet, W/K; infinite if none can."""
    if outlet_c <= air_c:
        return math.inf
    share = heat_w / (stream_w_k * (outlet_c - air_c))
    return -stream_w_k * math.log1p(-share) if share < 1 else math.inf


def dump_heat_w(conductance_w_k: float, stream_w_k: float, outlet_c: float, air_c: float) -> float:
    """Heat that a dump takes, W; none from an outlet that is no hotter than the air."""
    share = effectiveness(conductance_w_k, stream_w_k)
    return share * stream_w_k * max(0.0, outlet_c - air_c)


def quench_lpm(heat_w: float, rise_k: float) -> float:
    """Cold water that carries the heat to the drain, L/min."""
    return 60 * heat_w / (WATER_C_J_KG_K * rise_k)


def steam_kg_h(heat_w: float, latent_kj_kg: float) -> float:
    """Steam that a vent must pass, kg/h."""
    return 3.6 * heat_w / latent_kj_kg


def steam_m3_h(steam_kg_h: float, density_kg_m3: float) -> float:
    """The room that this steam takes, m3/h."""
    return steam_kg_h / density_kg_m3


def sink_s(tank_j_k: float, rise_k: float, heat_w: float) -> float:
    """Time for which the tank alone takes the heat, s."""
    return tank_j_k * rise_k / heat_w


def still_dump_w_k(heat_w: float, boil_c: float, air_c: float) -> float:
    """Conductance that carries the heat from a coil that only gravity moves water through, W/K.

    Water goes in 5 K under boiling and comes back 20 K cooler, so it is 15 K under boiling in
    the mean (common practice, no source; a lazier loop needs more). Infinite where the air is
    no cooler than that.
    """
    over_k = boil_c - 15.0 - air_c
    return heat_w / over_k if over_k > 0 else math.inf
