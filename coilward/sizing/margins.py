"""The margins that decide, of one loop: what sensitivity, remedies and comparison are told in."""

from __future__ import annotations

from typing import Final, NamedTuple

from coilward.loop.derived import Derived
from coilward.loop.model import Loop
from coilward.loop.trips import is_tub


class Margins(NamedTuple):
    """What is left, each the more the better; infinite where the loop can't come there."""

    outlet_k: float
    """The largest fire's outlet under the allowed."""
    still_s: float
    """Loss of flow to boiling at the largest fire, hottest turn."""
    tank_k: float
    """The tank under its trip at the nominal fire; a tub's start under its finish."""
    stuck_s: float
    """Boiling with the fans off and the damper stuck, the dump open where there is one."""


WORDS: Final[dict[str, tuple[str, str]]] = {
    "outlet_k": ("outlet under allowed, largest fire", "k"),
    "still_s": ("time to boil without flow", "s"),
    "tank_k": ("tank under its trip, nominal fire", "k"),
    "stuck_s": ("fans off, damper stuck: boils after", "min"),
}
"""How each margin is called, and the unit word in which it is shown."""
TUB_WORDS: Final = {"tank_k": ("tub's start under its finish", "k")}


def margins(loop: Loop, derived: Derived) -> Margins:
    """The margins of a derived loop."""
    tank_k = (
        derived.tank_finish_c - loop.tank.start_c
        if is_tub(loop)
        else derived.tank_trip_c - derived.settled.nominal.tank_c
    )
    return Margins(
        derived.allow_c - derived.settled.largest.outlet_c,
        derived.boil_s.largest.peaked,
        tank_k,
        derived.fans_off_stuck_boil_s,
    )


def names(loop: Loop) -> dict[str, tuple[str, str]]:
    """The margins that this loop has: words and unit word by field name."""
    every = WORDS | TUB_WORDS if is_tub(loop) else WORDS
    return {key: told for key, told in every.items() if key != "stuck_s" or loop.radiator}


def value(of: Margins, key: str) -> float:
    """One margin in the unit in which it is shown."""
    number = float(getattr(of, key))
    return number / 60 if key == "stuck_s" else number
