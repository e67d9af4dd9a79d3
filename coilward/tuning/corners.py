"""The worst that the loop's own tolerances make of its robustness."""

from __future__ import annotations

from typing import Final

from coilward.controller.constants import Constants
from coilward.loop.derived import Derived
from coilward.loop.model import Loop, Throttle
from coilward.simulator.tolerances import TOLERANCES
from coilward.tuning.stand import Place
from coilward.tuning.working import Answer, answer, robustness

TOUCHES: Final = (
    "pump head", "loop's resistance", "film in the coil", "pulses a litre", "valve's travel time",
    "valve's backlash", "supply at rest", "coil_outlet_a reading", "coil_outlet_b reading",
    "tank reading", "coil_outlet_a lag", "coil_outlet_b lag",
)  # fmt: skip
"""Tolerances that the answer of the outlet to the valve can depend on."""


def worst_corner(
    loop: Loop, derived: Derived, constants: Constants, settings: Throttle, place: Place
) -> tuple[float, ...]:
    """A deviation of -1, 0 or 1 for each tolerance: each on the side that costs robustness.

    Each is tried alone, on both sides, at one place.
    """
    names = [row.name for row in TOLERANCES]
    corner = [0.0] * len(names)

    def sensitivity(deviations: list[float]) -> float:
        found = answer(loop, derived, constants, place, deviations)
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


def answers_at(
    loop: Loop, derived: Derived, constants: Constants, places: list[Place],
    corner: tuple[float, ...],
) -> list[Answer]:  # fmt: skip
    """The answer at every place with the loop in that corner."""
    return [answer(loop, derived, constants, place, corner) for place in places]
