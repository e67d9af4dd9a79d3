"""The worst that the loop's own tolerances make of its robustness."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from coilward.controller.constants import Constants
from coilward.loop.model import Throttle
from coilward.simulator.tolerances import TOLERANCES
from coilward.tuning.stand import Place
from coilward.tuning.working import Answer, robustness

TOUCHES: Final = (
    "pump head", "loop's resistance", "film in the coil", "pulses a litre", "valve's travel time",
    "valve's backlash", "supply at rest", "coil_outlet_a reading", "coil_outlet_b reading",
    "tank reading", "coil_outlet_a lag", "coil_outlet_b lag",
)  # fmt: skip
"""Tolerances that the answer of the outlet to the valve can depend on."""


Answering = Callable[[Place, tuple[float, ...]], Answer]
"""The answer at a place with each tolerance so far off, -1 to 1."""


def worst_corner(
    answering: Answering, constants: Constants, settings: Throttle, place: Place
) -> tuple[float, ...]:
    """A deviation of -1, 0 or 1 for each tolerance: each on the side that costs robustness.

    Each is tried alone, on both sides, at one place.
    """
    names = [row.name for row in TOLERANCES]
    corner = [0.0] * len(names)

    def sensitivity(deviations: list[float]) -> float:
        found = answering(place, tuple(deviations))
        return robustness(found, settings, constants).sensitivity

    sound = sensitivity(corner)
    for name in TOUCHES:
        row = names.index(name)
        tried = {}
        for side in (-1.0, 1.0):
            alone = [0.0] * len(names)
            alone[row] = side
            tried[side] = sensitivity(alone)
        side = max(tried, key=lambda each: tried[each])
        if tried[side] > sound:
            corner[row] = side
    return tuple(corner)
