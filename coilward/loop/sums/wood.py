"""Wood to bring in: what a kilogram gives, and how much a fire takes."""

from __future__ import annotations

DRY_WOOD_J_KG = 18.6e6
"""Net calorific value of oven-dry wood (18.5 to 19 MJ/kg in wood-fuel handbooks)."""
EVAPORATION_J_KG = 2.443e6
"""Water at 25 degC."""


def net_j_kg(moisture: float, dry_j_kg: float = DRY_WOOD_J_KG) -> float:
    """Net calorific value of wood as weighed, J/kg; ``moisture`` is water over the whole mass."""
    return dry_j_kg * (1 - moisture) - EVAPORATION_J_KG * moisture


def wood_kg_h(heat_w: float, caught: float, net: float) -> float:
    """Wood that brings a heat into the water, kg/h; ``net`` in J/kg."""
    return 3600 * heat_w / (caught * net)
