"""How much room warm water wants."""

from __future__ import annotations

from coilward.loop.water import density_kg_m3


def expansion_share(cold_c: float, hot_c: float) -> float:
    """Growth of water's volume between two temperatures, as a share of the cold volume."""
    return density_kg_m3(cold_c) / density_kg_m3(hot_c) - 1
