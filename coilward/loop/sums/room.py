"""What a room loses through its walls and with the air that leaks."""

from __future__ import annotations

from collections.abc import Iterable

AIR_J_M3_K = 0.34 * 3600
"""Heat of a cubic metre of room air (EN 12831, from memory); thinner on a mountain, not counted."""


def envelope_w_k(
    walls: Iterable[tuple[float, float]], volume_m3: float, changes_per_h: float
) -> float:
    """Loss of a room, W/K: each wall is its area, m2, and its U-value, W/m2/K."""
    through = sum(area_m2 * u_w_m2k for area_m2, u_w_m2k in walls)
    return through + AIR_J_M3_K * volume_m3 * changes_per_h / 3600
